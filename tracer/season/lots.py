"""A lot of the season in one row: where it went, what was found in the cups, what it was traced to."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from tracer.wording.sentence import Id, Name


@dataclass(frozen=True, slots=True)
class Question:
    """An open question of a lot, with the party it goes to."""

    id: Id
    text: str
    stage: Id
    party: str
    bits: float
    """What an answer would tell about the source stages."""


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample of the lot as it was cupped."""

    kind: Id
    on: datetime.date | None
    found: tuple[tuple[Id, int, int], ...]
    """Off-note, cups that had it, cups of those tasters; 0 cups where it was named without a count."""
    absent: tuple[Id, ...]
    """Looked for, and not found by anybody."""
    score: float | None


@dataclass(frozen=True, slots=True)
class SeasonLot:
    """One lot of the season."""

    lot: Name
    where: Name
    """Its sheet, or its case; all of them where it has several."""
    exporter: Name = ""
    origin: Name = ""
    passed: tuple[tuple[Id, Name], ...] = ()
    """Stage and place, as custody tells them."""
    days: tuple[tuple[Id, datetime.date], ...] = ()
    """Stage and the first day the sheet names of it."""
    tables: tuple[tuple[Name, datetime.date], ...] = ()
    """Bench, empty where it is not named, and day of each cupping."""
    cupped: datetime.date | None = None
    """Day of its last cupping."""
    tasted: bool = False
    """At least one taster's sheet is there."""
    troubled: bool = False
    """It shows an off-note or damage that is not normal for this coffee."""
    verdict: Id = ""
    source: Id = ""
    """What it was traced to; empty where there is not enough to name one."""
    label: str = ""
    stage: Id = ""
    probability: float = 0.0
    stop: tuple[str, ...] = ()
    hold: tuple[str, ...] = ()
    next: str = ""
    claim_day: datetime.date | None = None
    claim: Name = ""
    questions: tuple[Question, ...] = ()
    samples: tuple[Sample, ...] = ()
    moisture: tuple[tuple[Id, float], ...] = ()
    """Kind of sample -> moisture, % wet basis, at that point."""
    sheets: int = 1
    """Sheets or cases that count together."""

    @property
    def month(self) -> str:
        """Month of its last cupping, 2026-03; empty where no day is known."""
        return f"{self.cupped:%Y-%m}" if self.cupped else ""

    def at(self, stage: str) -> tuple[str, ...]:
        """Places of a stage that it went through."""
        return tuple(node for where, node in self.passed if where == stage)


def week_of(day: datetime.date) -> str:
    """Week of the year, numbered as ISO 8601 does.

    >>> week_of(datetime.date(2026, 3, 9))
    '2026-W11'
    """
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"
