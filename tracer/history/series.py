"""A log as a series in time: what each reading stands for, even steps, and the windows a finding rests on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tracer.lots.logs.log import Log
from tracer.wording.sentence import Own, say

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
HOUR = np.timedelta64(3600, "s")
MOST_WINDOWS = 60


@dataclass(frozen=True, slots=True)
class Window:
    """Part of a log that makes a finding: times as in the log, rows of the file, hours that count in it."""

    file: str
    first: str
    last: str
    first_row: int
    last_row: int
    hours: float

    @property
    def told(self) -> str:
        """Where it stands in its file."""
        if self.first_row == self.last_row:
            return say(
                "{file} row {first_row:,} ({first})",
                file=Own(self.file),
                first_row=self.first_row,
                first=self.first,
            )
        return say(
            "{file} rows {first_row:,} to {last_row:,} ({first} to {last})",
            file=Own(self.file),
            first_row=self.first_row,
            last_row=self.last_row,
            first=self.first,
            last=self.last,
        )


def clock(time: np.datetime64) -> str:
    """A time as people read it.

    >>> clock(np.datetime64("2026-03-09T14:30:00"))
    '2026-03-09 14:30'
    """
    return str(time.astype("datetime64[m]")).replace("T", " ")


def usual_step(log: Log) -> float:
    """Hours between readings, in the middle of all steps."""
    return float(np.median(np.diff(log.at) / HOUR))


def durations(log: Log) -> Array:
    """Hours that each reading stands for: up to the next one, but never more than the usual step, so that
    nothing is assumed of a gap."""
    steps = np.diff(log.at) / HOUR
    usual = float(np.median(steps))
    return np.append(np.minimum(steps, usual), usual)


def span(log: Log) -> float:
    """Hours from the first reading to the last."""
    return float((log.at[-1] - log.at[0]) / HOUR)


def _seconds(hours: float) -> int:
    return max(1, round(hours * 3600))


def steps_since_start(log: Log, hours: float) -> npt.NDArray[np.int64]:
    """Which step of so many hours each reading falls in, from 0; in whole seconds, so that none slips."""
    return np.asarray((log.at - log.at[0]).astype("timedelta64[s]").astype(np.int64) // _seconds(hours))


def even(log: Log, hours: float) -> tuple[npt.NDArray[np.datetime64], dict[str, Array]]:
    """Means over even steps; an empty step keeps the reading before it."""
    index = steps_since_start(log, hours)
    count = int(index[-1]) + 1
    means = {}
    for name, values in log.channels.items():
        known = ~np.isnan(values)
        number = np.bincount(index[known], minlength=count)
        total = np.bincount(index[known], weights=values[known], minlength=count)
        mean = np.divide(total, number, out=np.full(count, np.nan), where=number > 0)
        at = np.maximum.accumulate(np.where(number > 0, np.arange(count), 0))
        means[name] = mean[at]
    times = log.at[0] + (np.arange(count) * _seconds(hours)).astype("timedelta64[s]")
    return times, means


def rolling_mean(values: Array, count: int) -> Array:
    """Mean of each value with the `count` - 1 before it, as far as they reach."""
    total = np.cumsum(np.insert(values, 0, 0.0))
    ends = np.arange(1, len(values) + 1)
    starts = np.maximum(ends - count, 0)
    return (total[ends] - total[starts]) / (ends - starts)


def lasting_highest(values: Array, count: int) -> float:
    """The highest value that lasted for `count` readings in a row."""
    count = max(1, min(count, len(values)))
    views = np.lib.stride_tricks.sliding_window_view(values, count)
    return float(np.nanmax(views.min(axis=1)))


def runs(mask: Mask) -> list[tuple[int, int]]:
    """First and last index of each stretch that holds."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def longest(mask: Mask, hours: Array) -> float:
    """Hours of the longest stretch that holds."""
    return max((float(hours[a : b + 1].sum()) for a, b in runs(mask)), default=0.0)


def windows(log: Log, mask: Mask, hours: Array | None = None) -> tuple[Window, ...]:
    """The longest stretches of a log that hold, in order of time."""
    each = durations(log) if hours is None else hours
    found = [
        Window(
            log.file,
            clock(log.at[a]),
            clock(log.at[b]),
            int(log.rows[a]),
            int(log.rows[b]),
            float(each[a : b + 1].sum()),
        )
        for a, b in runs(mask)
    ]
    most = sorted(found, key=lambda window: -window.hours)[:MOST_WINDOWS]
    return tuple(sorted(most, key=lambda window: window.first))


def whole(log: Log) -> tuple[Window, ...]:
    """The whole log as one window."""
    return windows(log, np.ones(len(log.at), dtype=bool))
