"""A logger file and what the lot sheet says of its columns -> Log, every defect with its rows."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import numpy.typing as npt

from tracer.issues import Place
from tracer.lots.logs.columns import joined_times
from tracer.lots.logs.grid import Grid
from tracer.lots.logs.log import TEMPERATURES, Columns, Defect, Log
from tracer.lots.logs.times import parse_times
from tracer.wording.sentence import say

if TYPE_CHECKING:
    import pandas

Ranges = Mapping[str, tuple[float, float]]
"""Channel -> what it can read at all, in C, %, aw or pH."""

SHOWN = 5
"""Row numbers told for each defect."""
STUCK_HOURS = 72
_EMPTY = ("", "-", "--", "nan", "na", "n/a", "null", "none")


def zone_of(name: str) -> datetime.tzinfo | None:
    """A time zone from a name (Africa/Kigali), an offset (+03:00) or UTC; None if there is none such.

    >>> zone_of("+05:30").utcoffset(None)
    datetime.timedelta(seconds=19800)
    """
    if name.upper() in ("UTC", "Z", "GMT"):
        return datetime.UTC
    if name[:1] in "+-" and name[1:].replace(":", "").isdecimal():
        digits = name[1:].replace(":", "").ljust(4, "0")
        hours, minutes = int(digits[:2]), int(digits[2:4])
        sign = -1 if name[0] == "-" else 1
        return (
            datetime.timezone(sign * datetime.timedelta(hours=hours, minutes=minutes)) if hours < 15 else None
        )
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def read_log(
    grid: Grid, columns: Columns, ranges: Ranges, gap_factor: float, about: tuple[str, str, str], place: Place
) -> Log:
    """The readings of a file as the sheet says its columns are. `about` is (stage, where, file).

    Rows without a time, with a time seen before, or with a value that cannot be, are not used, and told.
    A gap is more than `gap_factor` times the usual step.
    """
    defects: list[Defect] = []
    if grid.torn:
        _note(defects, say("torn: more cells than headings"), np.array(grid.torn), True)
    written = joined_times(grid.frame, grid.headings, columns.time)
    empty = (written == "").to_numpy() & _all_empty(grid, columns)
    times = parse_times(written, columns.dates)
    at = times.to_numpy().astype("datetime64[s]")
    bad = np.isnat(at)
    _note(defects, say("no time that can be read"), grid.rows[bad & ~empty], True)
    if columns.timezone:
        at, lost = _local(times, columns.timezone, columns.place_timezone)
        _note(defects, say("a time the clock change makes doubtful"), grid.rows[lost & ~bad], True)
        bad |= lost
    channels: dict[str, npt.NDArray[np.float64]] = {}
    useless = np.ones(len(at), dtype=bool)
    for name, heading in columns.channels.items():
        values = _numbers(grid, heading, columns, defects, bad, name, ranges)
        channels[name] = values
        useless &= np.isnan(values)
    good = ~bad & ~useless
    rows, at = grid.rows[good], at[good]
    channels = {name: values[good] for name, values in channels.items()}
    if len(at) and (np.diff(at) < np.timedelta64(0, "s")).any():
        back = 1 + np.flatnonzero(np.diff(at) < np.timedelta64(0, "s"))
        _note(defects, say("earlier than the row before; put in order"), rows[back], False)
        order = np.argsort(at, kind="stable")
        rows, at = rows[order], at[order]
        channels = {name: values[order] for name, values in channels.items()}
    if len(at):
        again = np.r_[False, np.diff(at) == np.timedelta64(0, "s")]
        if again.any():
            _note(defects, say("the same time again; the first is kept"), rows[again], True)
            rows, at = rows[~again], at[~again]
            channels = {name: values[~again] for name, values in channels.items()}
    _stuck(defects, rows, at, channels)
    return Log(
        *about,
        columns,
        rows,
        at,
        channels,
        int((~empty).sum()) + len(grid.torn),
        tuple(defects),
        _gaps(rows, at, gap_factor),
        place,
    )


def _note(defects: list[Defect], what: str, rows: npt.NDArray[np.int64], dropped: bool) -> None:
    if len(rows):
        defects.append(Defect(what, len(rows), tuple(int(row) for row in rows[:SHOWN]), dropped))


def _all_empty(grid: Grid, columns: Columns) -> npt.NDArray[np.bool_]:
    empty = np.ones(len(grid.frame), dtype=bool)
    for heading in columns.channels.values():
        empty &= (grid.frame[grid.headings.index(heading)] == "").to_numpy(dtype=bool)
    return empty


def _local(
    times: pandas.Series, zone: str, place: str | None
) -> tuple[npt.NDArray[np.datetime64], npt.NDArray[np.bool_]]:
    """Times by the clock of the place, and which of them the change to or from summer time makes doubtful."""
    logger = times.dt.tz_localize(zone_of(zone), ambiguous="NaT", nonexistent="NaT")
    there = logger.dt.tz_convert(zone_of(place)) if place else logger
    at = there.dt.tz_localize(None).to_numpy().astype("datetime64[s]")
    return at, np.isnat(at)


def _numbers(
    grid: Grid,
    heading: str,
    columns: Columns,
    defects: list[Defect],
    bad: npt.NDArray[np.bool_],
    name: str,
    ranges: Ranges,
) -> npt.NDArray[np.float64]:
    import pandas

    cells = grid.frame[grid.headings.index(heading)]
    if columns.decimal == "comma":
        cells = cells.str.replace(",", ".", regex=False)
    values = pandas.to_numeric(cells, errors="coerce").to_numpy(dtype=float, copy=True)
    failed = np.isnan(values)
    if failed.any():
        text = cells[failed].str.strip().str.lower()
        units = text.str.extract(r"^([-+]?\d+(?:\.\d+)?)\s*(?:°?\s*[cf]|%|%?\s*rh|aw)$")[0]
        values[failed] = pandas.to_numeric(units, errors="coerce").to_numpy(dtype=float)
        blank = np.zeros(len(values), dtype=bool)
        blank[failed] = text.isin(_EMPTY).to_numpy()
        _note(
            defects,
            say("no number under '{heading}'", heading=heading),
            grid.rows[np.isnan(values) & ~blank & ~bad],
            True,
        )
        _note(defects, say("nothing under '{heading}'", heading=heading), grid.rows[blank & ~bad], True)
    if name in TEMPERATURES and columns.degrees == "F":
        values = (values - 32) / 1.8
    low, high = ranges[name]
    with np.errstate(invalid="ignore"):
        outside = (values < low) | (values > high)
        if name == "humidity":
            over = (values > 100) & ~outside
            _note(defects, say("humidity a little above 100 %, taken as 100"), grid.rows[over & ~bad], False)
            values[over] = 100.0
    _note(
        defects,
        say(
            "'{heading}' outside {low:g} to {high:g}, which no sound sensor reads",
            heading=heading,
            low=low,
            high=high,
        ),
        grid.rows[outside & ~bad],
        True,
    )
    values[outside] = np.nan
    return values


def _stuck(
    defects: list[Defect],
    rows: npt.NDArray[np.int64],
    at: npt.NDArray[np.datetime64],
    channels: Mapping[str, npt.NDArray[np.float64]],
) -> None:
    """A sensor that reads the very same for days is told; a sealed bag can be that steady, so it is used."""
    if len(at) < 3:
        return
    same = np.ones(len(at) - 1, dtype=bool)
    for values in channels.values():
        same &= np.diff(values) == 0
    edges = np.flatnonzero(np.diff(np.concatenate(([0], same.astype(np.int8), [0]))))
    first, last = edges[::2], edges[1::2]
    long = at[last] - at[first] >= np.timedelta64(STUCK_HOURS, "h")
    for one, other in zip(first[long], last[long], strict=True):
        _note(
            defects,
            say("the same reading for {STUCK_HOURS} hours or more", STUCK_HOURS=STUCK_HOURS),
            rows[one : other + 1],
            False,
        )


def _gaps(
    rows: npt.NDArray[np.int64], at: npt.NDArray[np.datetime64], factor: float
) -> tuple[tuple[int, int, float], ...]:
    if len(at) < 3:
        return ()
    steps = np.diff(at) / np.timedelta64(1, "h")
    usual = float(np.median(steps))
    wide = np.flatnonzero(steps > factor * usual)
    return tuple((int(rows[i]), int(rows[i + 1]), float(steps[i] - usual)) for i in wide)
