"""Logs thinned out for drawing, with the stretches that make a finding marked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tracer.history.history import Measured
from tracer.history.series import clock, even, span, steps_since_start
from tracer.lots.logs.log import Log
from tracer.wording.sentence import Id, Name, say

POINTS = 240
UNITS = {"temperature": "C", "humidity": "%", "surface": "C", "aw": "aw", "ph": "pH"}
RISKS = {
    "condensation_hours": say("wall or roof below the dew point"),
    "transit_damp_hours": say("very damp air"),
    "drying_mould_hours": say("in the mould window"),
    "drying_stood_still_hours": say("not drying"),
    "overheated_hours": say("too hot"),
    "sealed_wet_hours": say("wet coffee"),
    "store_damp_days": say("damp days"),
    "warehouse_damp_days": say("damp days"),
}
"""Record -> what its windows are called on a chart."""


@dataclass(frozen=True, slots=True)
class Series:
    """One channel of a chart; a value for each time, None where nothing was read."""

    name: str
    unit: str
    values: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Shaded:
    """A stretch of a chart that makes a finding."""

    first: Name
    last: Name
    what: str


@dataclass(frozen=True, slots=True)
class Chart:
    """One log, thinned to at most 240 means, with its risky stretches."""

    stage: Id
    where: str
    file: Name
    times: tuple[Name, ...]
    series: tuple[Series, ...]
    shaded: tuple[Shaded, ...]
    rows: int
    dropped: float
    missing: float


def charts(logs: Iterable[Log], measured: Sequence[Measured]) -> tuple[Chart, ...]:
    """A chart for each log."""
    return tuple(_chart(log, measured) for log in logs)


def _chart(log: Log, measured: Sequence[Measured]) -> Chart:
    step = max(span(log) / (POINTS - 1), 1 / 60)
    times, means = even(log, step)
    index = steps_since_start(log, step)
    read = np.zeros(len(times), dtype=bool)
    read[index] = True
    series = tuple(
        Series(
            name,
            UNITS[name],
            tuple(
                round(float(v), 2) if ok and np.isfinite(v) else None
                for v, ok in zip(values, read, strict=True)
            ),
        )
        for name, values in means.items()
    )
    shaded = tuple(
        Shaded(window.first, window.last, RISKS[one.record])
        for one in measured
        if one.record in RISKS
        for window in one.windows
        if window.file == log.file
    )
    times = np.append(times[:-1], log.at[-1])
    return Chart(
        log.stage,
        log.where,
        log.file,
        tuple(map(clock, times)),
        series,
        shaded,
        log.total,
        log.dropped,
        log.missing,
    )
