"""A logger file that has been read: times, channels, and what was wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from tracer.issues import Place
from tracer.wording.sentence import joined, say

Numbers = npt.NDArray[np.float64]
Times = npt.NDArray[np.datetime64]

CHANNELS = ("temperature", "humidity", "surface", "aw", "ph")
"""What a column may hold: air, coffee or tank temperature (C), relative humidity (%), temperature of the
coldest wall or roof (C), water activity, pH."""
WHERE = ("air", "coffee", "surface", "sealed", "tank", "outside")
"""Where the logger was: in the air beside the coffee, in the coffee, on wall or roof, inside a sealed liner,
in the fermentation tank, or out of doors."""
TEMPERATURES = ("temperature", "surface")


@dataclass(frozen=True, slots=True)
class Columns:
    """Which column of a file is what, and how it is written: confirmed by the user in the lot sheet."""

    time: tuple[str, ...]
    """One heading, or two where date and time of day stand apart."""
    channels: Mapping[str, str]
    """Channel -> heading."""
    degrees: str
    """C or F."""
    dates: str
    """year_first, day_first or month_first."""
    decimal: str
    """point or comma."""
    timezone: str | None
    """Zone of the logger's clock; None takes times as written."""
    place_timezone: str | None
    """Zone of the place, in which readings and days of the sheet are told."""


@dataclass(frozen=True, slots=True)
class Defect:
    """Something wrong with rows of a file. `rows` are row numbers of the file, the first few."""

    what: str
    count: int
    rows: tuple[int, ...]
    dropped: bool
    """True if these rows are not used."""

    def __str__(self) -> str:
        shown = joined(f"{row:,}" for row in self.rows)
        more = (
            ""
            if self.count <= len(self.rows)
            else say(" and {count:,} more", count=self.count - len(self.rows))
        )
        used = say("not used") if self.dropped else "used"
        return say(
            "{what}: 1 row ({shown}{more}), {used}"
            if self.count == 1
            else "{what}: {count:,} rows ({shown}{more}), {used}",
            what=self.what,
            count=self.count,
            shown=shown,
            more=more,
            used=used,
        )


@dataclass(frozen=True, eq=False, slots=True)
class Log:
    """Readings of one logger, sorted by time, without the rows that cannot be used."""

    stage: str
    where: str
    file: str
    columns: Columns
    rows: npt.NDArray[np.int64]
    """Row of the file for each reading."""
    at: Times
    """Times, to the second, by the clock of the place where both zones are named, else as written."""
    channels: Mapping[str, Numbers]
    total: int
    """Rows of data in the file."""
    defects: tuple[Defect, ...]
    gaps: tuple[tuple[int, int, float], ...]
    """Row before, row after, hours missing between them."""
    place: Place
    extra: Mapping[str, Any] = field(default_factory=dict)

    @property
    def dropped(self) -> float:
        """Share of the rows that could not be used."""
        return 1 - len(self.at) / self.total if self.total else 0.0

    @property
    def missing(self) -> float:
        """Share of the time between the first and the last row that no usable row covers."""
        if len(self.at) < 2:
            return 1.0
        span = (self.at[-1] - self.at[0]) / np.timedelta64(1, "h")
        return float(sum(hours for *_, hours in self.gaps) / span) if span else 1.0
