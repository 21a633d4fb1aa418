"""What is said at a cupping table: the table's own facts, each taster's notes cup by cup, and the lot sheet they make."""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Literal

import yaml
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from tracer.knowledge.yamlfile import parse_yaml
from tracer.lots.fields import MOST_CUPS
from tracer.lots.form_cupping import SAMPLES

MOST_NOTES = 100


def _plain(text: str) -> str:
    if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in text):
        raise ValueError("control characters")
    return " ".join(text.split())


Line = Annotated[str, Field(max_length=200), AfterValidator(_plain)]
Name = Annotated[str, Field(min_length=1, max_length=60), AfterValidator(_plain)]


class Strict(BaseModel):
    """A thing that came over the wire: unknown fields and wrong types are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class TableFacts(Strict):
    """What the leader says of a table when it is opened; cups are per taster."""

    lot: Name
    on: datetime.date
    sample: str = "unknown"
    cups: int = Field(ge=1, le=30)
    drawn_by: Line = ""
    species: Line = ""
    process: Line = ""
    origin: Line = ""

    @model_validator(mode="after")
    def _known_sample(self) -> TableFacts:
        if self.sample not in SAMPLES:
            raise ValueError(f"sample must be one of {', '.join(SAMPLES)}")
        return self


class TastedNote(Strict):
    """One note: the taster's words, what they mean where the taster was asked back, and the cups that have it."""

    words: Annotated[Line, Field(min_length=1)]
    means: Annotated[str, Field(max_length=80, pattern=r"^[a-z][a-z0-9_]*$")] | None = None
    cups: tuple[Annotated[int, Field(ge=1, le=MOST_CUPS)], ...] = Field(default=(), max_length=30)
    """Numbers of the cups, from 1; none where the taster did not say."""
    intensity: Literal["slight", "moderate", "strong"] | None = None
    found: bool = True
    """False: looked for and not there."""


class Tasted(Strict):
    """Everything one taster says at one table; sent whole each time."""

    language: Annotated[str, Field(max_length=8, pattern=r"^[a-z]{0,8}$")] = ""
    checked_all: bool = False
    done: bool = False
    notes: tuple[TastedNote, ...] = Field(default=(), max_length=MOST_NOTES)


def sheet_data(facts: TableFacts, tasted: Sequence[tuple[str, Tasted]]) -> dict[str, Any]:
    """The lot sheet of a table as plain data; a field that is not known is left out."""
    lot = {"lot": facts.lot, "species": facts.species, "process": facts.process, "origin": facts.origin}
    return {**_known(lot), "cuppings": [cupping_data(facts, tasted)]}


def cupping_data(facts: TableFacts, tasted: Sequence[tuple[str, Tasted]]) -> dict[str, Any]:
    """The table as one entry under `cuppings` of a lot sheet."""
    head = _known({"on": facts.on, "sample": facts.sample, "drawn_by": facts.drawn_by, "cups": facts.cups})
    return {**head, "tasters": [_taster(name, one, facts.cups) for name, one in tasted]}


def sheet_text(data: Mapping[str, Any]) -> str:
    """A lot sheet as YAML, in the order of its fields."""
    return yaml.dump(dict(data), Dumper=_Writer, sort_keys=False, allow_unicode=True, width=110)


class _Writer(yaml.SafeDumper):
    """Writes what the sheet's own reader reads back the same: no aliases, and quotes round text that begins as a number."""

    def ignore_aliases(self, data: Any) -> bool:
        return True

    def represent_str(self, data: str) -> yaml.ScalarNode:
        style = "'" if data[:1] in "+-.0123456789" else None
        return self.represent_scalar("tag:yaml.org,2002:str", data, style=style)


_Writer.add_representer(str, _Writer.represent_str)


def sheet_values(text: str) -> dict[str, Any]:
    """A sheet's plain data, as its own reader has it; remarks are not part of it.

    >>> sheet_values("lot: A\\ncuppings: [{on: 2026-03-09}]")["cuppings"][0]["on"].year
    2026
    """
    data = parse_yaml(text, "lot.yaml").data
    return dict(data) if isinstance(data, dict) else {}


def appended(before: Any, item: Any) -> list[Any]:
    """A list of the sheet with one more item; a single value counts as a list of one, as the sheet's reader has it.

    >>> appended(None, 1), appended(1, 2), appended([1, 2], 3)
    ([1], [1, 2], [1, 2, 3])
    """
    return [*(before if isinstance(before, list) else [] if before is None else [before]), item]


def with_meaning(text: str, place: str, means: str) -> str | None:
    """The sheet with `means` beside the note that stands at a place (file:line:column); None where no note stands there."""
    document = parse_yaml(text, "lot.yaml")
    at = place.rsplit(":", 2)[-2:]
    paths = [path for path, one in document.places.items() if [str(one.line), str(one.column)] == at]
    noted = [path for path in paths if len(path) >= 2 and path[-2] in ("notes", "not_found")]
    if not place.startswith("lot.yaml:") or not noted or not isinstance(document.data, dict):
        return None
    holder: Any = document.data
    for step in noted[0][:-1]:
        holder = holder[step]
    note = holder[noted[0][-1]]
    holder[noted[0][-1]] = {**(note if isinstance(note, dict) else {"note": note}), "means": means}
    return sheet_text(document.data)


def _taster(name: str, tasted: Tasted, cups: int) -> dict[str, Any]:
    found = [_note(note, cups) for note in tasted.notes if note.found]
    absent = [_note(note, cups) for note in tasted.notes if not note.found]
    row = {"taster": name, "language": tasted.language, "notes": found, "not_found": absent}
    return {**_known(row), "checked_all": True} if tasted.checked_all else _known(row)


def _note(note: TastedNote, cups: int) -> str | dict[str, Any]:
    number = len({cup for cup in note.cups if cup <= cups})
    counted = {"cups": "all" if number == cups else number} if number and note.found else {}
    fields = _known({"note": note.words, "means": note.means, **counted, "intensity": note.intensity})
    return note.words if len(fields) == 1 else fields


def _known(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value not in (None, "", [], ())}
