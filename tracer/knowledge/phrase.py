"""How people say in plain sentences what the sheet asks for."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, model_validator

from tracer.knowledge.strength import Entry, Id

Level = Literal[
    "cups", "beans", "bags", "layers", "stores", "containers", "tanks", "day_lots", "farms", "stations", "districts",
    "crops", "roast_batches", "grinders", "rooms", "tasters", "table",
]  # fmt: skip
"""What may share a note, from the cup up; `table` is the other lots of one table."""
Share = Literal["one", "some", "most", "all", "none", "outer", "inner", "bottom", "top", "first", "last"]
Unit = Literal[
    "bean", "cup", "bag", "layer", "store", "container", "tank", "drying_batch", "day_lot", "farm", "station", "district", "mill_run",
    "lot", "roast_batch", "roaster", "pack", "grinder", "taster", "sample", "bench_day",
]  # fmt: skip
"""What a fault strikes at a time: all of one unit, none of the next."""
Other = Literal[
    "sister_lot", "other_container", "other_store", "other_tank", "other_day", "other_farm", "other_crop", "other_bag",
    "kept_elsewhere", "roasted_elsewhere", "ground_elsewhere", "brewed_elsewhere", "retained_sample", "parchment_sample",
    "earlier_sample", "control", "table_lots", "cleaned_part", "other_room", "other_week",
]  # fmt: skip
"""What the lot is compared with."""
Shows = Literal["clean", "same", "other_note"]
SampleKind = Literal[
    "origin",
    "type",
    "offer",
    "pre_shipment",
    "shipment",
    "arrival",
    "warehouse",
    "production",
    "retail",
    "unknown",
]
"""Point in the chain where a sample was drawn, in the order of the chain."""


class Pattern(Entry):
    """Which part of a level shows the note."""

    level: Level
    share: Share


class Comparison(Entry):
    """What another coffee, or the same one treated otherwise, shows."""

    with_: Other = Field(alias="with")
    shows: Shows


class Phrase(Entry):
    """A way of saying something about a lot. It proposes an entry of the lot sheet; the user confirms."""

    id: Id
    record: Id | None = Field(None, description="The row of the sheet that it fills in.")
    answer: dict[Id, Id] | None = Field(None, description="The question that it answers, with the answer.")
    pattern: Pattern | None = Field(None, description="Which part of what shows the note.")
    comparison: Comparison | None = Field(None, description="What another coffee shows.")
    sample: SampleKind | None = Field(None, description="Which sample the sentence speaks of.")
    normal: Id | None = Field(None, description="The stage where nothing was unusual, or any.")
    lot: dict[Literal["process", "species", "origin", "declared"], str] | None = Field(
        None, description="What it says of the lot itself: one field and its value."
    )
    value: str | None = Field(
        None, description="What it says of the record: yes, no or a choice; of a count also none, some, many."
    )
    denied: str | None = Field(None, description="What it says with a denial in the clause; none: nothing.")
    takes: str | None = Field(None, description="Unit of the number the sentence must hold, or `date`.")
    ways: dict[str, tuple[str, ...]] = Field(
        description="Language -> ways to say it. A way is slots parted by spaces that must all occur near each other; "
        "a slot is words parted by |, several words of one joined by _, * any ending, ? a slot that only helps."
    )

    @model_validator(mode="before")
    @classmethod
    def _first_edition(cls, data: Any) -> Any:
        """`words:` with groups, as house folders of the first edition have them, are ways."""
        if isinstance(data, dict) and "words" in data:
            rest = {key: value for key, value in data.items() if key not in ("words", "example")}
            ways = {
                language: [" ".join(_slot(group) for group in groups) for groups in found]
                for language, found in data["words"].items()
            }
            return {"ways": ways, **rest}
        return data

    @model_validator(mode="after")
    def _says_one_thing(self) -> Phrase:
        said = [self.record, self.answer, self.pattern, self.comparison, self.sample, self.normal, self.lot]
        if sum(one is not None for one in said) != 1:
            raise ValueError("give one of record, answer, pattern, comparison, sample, normal, lot")
        if self.record is not None and (self.value is None) == (self.takes is None):
            raise ValueError("give value: what it says, or takes: the unit of the number in it")
        if self.lot is not None and len(self.lot) != 1:
            raise ValueError("lot: one field and its value")
        if self.answer is not None and len(self.answer) != 1:
            raise ValueError("answer: one question and its answer")
        return self


def _slot(group: str) -> str:
    return "|".join("_".join(option.split()) for option in group.split("|"))
