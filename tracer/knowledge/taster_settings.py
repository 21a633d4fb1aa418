"""What is assumed of tasters who were never measured, and of the cups of a bad lot."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, model_validator

from tracer.knowledge.settings_parts import Explained
from tracer.knowledge.strength import Entry, Id


class Band(Entry):
    """A named range; `best` is the value used, `low` and `high` its ends."""

    low: float
    best: float
    high: float

    @model_validator(mode="after")
    def _ordered(self) -> Band:
        if not 0 < self.low <= self.best <= self.high:
            raise ValueError("a band runs 0 < low <= best <= high")
        return self


class BetaPrior(Entry):
    """A rate as Beta(a, b)."""

    a: float = Field(gt=0)
    b: float = Field(gt=0)


class Component(BetaPrior):
    """One part of a mixture of rates."""

    share: float = Field(1.0, gt=0, le=1)


def _parts(value: object) -> object:
    return value if isinstance(value, (list, tuple)) else [value]


Mixture = Annotated[tuple[Component, ...], BeforeValidator(_parts)]
"""A rate as one Beta, or as several with their shares."""


class Striking(Entry):
    """Notes that hardly anybody imagines."""

    false_alarm: BetaPrior = Field(description="Rate of naming one of them in a cup that has it not.")
    notes: tuple[Id, ...] = Field(description="Off-notes that are like nothing else in coffee.")


class Psychometric(Entry):
    """How a hit rate measured at one multiple of the threshold is carried to a fainter or a stronger note."""

    slope: float = Field(gt=0, description="Rise of ln(hits / misses) with each tenfold concentration.")
    multiples: dict[str, float] = Field(
        description="How strong a table calls a note -> the multiple of its threshold that stands for it."
    )


class Tasters(Explained):
    """What is assumed of a taster who was never measured."""

    hit: BetaPrior = Field(description="Rate of naming the note in a cup that has it.")
    hit_by: dict[str, BetaPrior] = Field(
        {}, description="The same where a table calls the note slight or strong."
    )
    psychometric: Psychometric | None = None
    false_alarm: BetaPrior = Field(description="Rate of naming it in a cup that has it not.")
    striking: Striking | None = Field(
        None, description="Notes that are named more rarely where there is none."
    )
    cannot_smell: float = Field(description="Share of tasters blind to one given note.")
    confusion: Band = Field(
        description="Chance that a note is (also) called by the name of one it is confused with."
    )
    own_confusion: float = Field(
        description="From there a taster's measured confusion is weighed as a word of their own."
    )
    intensity: dict[str, float] = Field(description="Intensity -> factor on the false-alarm likelihood.")
    names: float = Field(
        description="Share of finds that a taster names without having been asked for the note."
    )
    doubtful: float = Field(description="Share of a doubtful report's evidence that is kept (0 to 1).")


class Cups(Explained):
    """Share of cups that show a compound in each state."""

    scattered: Mixture
    throughout: Mixture
    usual: int = Field(description="Cups a taster, where a sheet does not say.")
