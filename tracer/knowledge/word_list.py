"""Lists of words of one language, and the kinds of things that cups are likened to."""

from __future__ import annotations

from pydantic import Field, model_validator

from tracer.knowledge.strength import Entry, Id

ALONE = "alone"
"""Of a thing that is named without a state."""


class LikenedThing(Entry):
    """A kind of thing that cups are likened to, and which off-notes tasters mean by it in each state."""

    id: Id
    what: str = Field(description="What belongs to the kind, with a few examples.")
    means: dict[Id, dict[Id, float]] = Field(
        description="State, or `alone` where no state is named -> off-note, or `innocent` -> share of tasters who mean it, by "
        "judgement; sums to 1. Without `alone` the thing by itself says nothing."
    )

    @model_validator(mode="after")
    def _sums_to_one(self) -> LikenedThing:
        for state, readings in self.means.items():
            if abs(sum(readings.values()) - 1) > 0.011 or min(readings.values()) <= 0:
                raise ValueError(f"the shares of '{state}' must each be above 0 and sum to 1")
        return self


class WordList(Entry):
    """Words of one language: likenesses of one off-note, words that are no fault, things of one kind, or of one state."""

    id: Id
    language: Id = Field(description="Language code.")
    note: Id | None = Field(None, description="The off-note they mean.")
    harmless: bool = Field(False, description="Praise, body, likenesses of sound coffee, and everyday talk.")
    thing: Id | None = Field(None, description="The kind of thing they name (things.yaml).")
    state: Id | None = Field(None, description="The state of a thing that they name (things.yaml).")
    words: tuple[str, ...]

    @model_validator(mode="after")
    def _one_of_them(self) -> WordList:
        if sum((self.note is not None, self.harmless, self.thing is not None, self.state is not None)) != 1:
            raise ValueError("give one of them: the note, the thing, the state, or harmless: true")
        return self
