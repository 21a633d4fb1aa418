"""The drying curve behind a few readings and the log of the air; what it says of mould, stops and rewetting."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tracer.history.history import Measured, NotAssessed
from tracer.history.isotherm import water_activity
from tracer.history.moisture import as_iso6673, difference, to_wet_basis
from tracer.history.mould import growth_index
from tracer.history.readings import of_stage
from tracer.history.series import HOUR, MOST_WINDOWS, Window, clock, even, longest, runs
from tracer.history.thin_layer import dry_through
from tracer.history.usable import logs_of
from tracer.knowledge.physics import Physics
from tracer.lots.logs.log import Log
from tracer.lots.lot import Lot
from tracer.wording.sentence import say

Array = npt.NDArray[np.float64]
Moment = Any
"""A time of numpy, to the second."""
STEP = 0.5
"""Hours of a step."""
FACTORS = 61
_TAILS = (0.05, 0.5, 0.95)
LEAST_READINGS = 4


@dataclass(frozen=True, eq=False)
class Curve:
    """The likely course of moisture. Columns: low, middle and high factor on the drying rate."""

    log: Log
    times: npt.NDArray[np.datetime64]
    temperature: Array
    humidity: Array
    moisture: Array
    """% wet basis, one column for each factor."""
    factors: tuple[float, float, float]
    readings: tuple[tuple[Moment, float, str], ...]
    rises: tuple[tuple[int, float], ...]
    """Index of a reading that is really wetter than the one before, and by how many points."""


def curve(lot: Lot, physics: Physics) -> Curve | NotAssessed | None:
    """The drying curve of a lot, or why there is none; None where nothing was logged or read.

    One factor on the rate of the thin layer (deep layers, whole fruit and poor turning dry slower) is fitted to the
    readings by least squares with a lognormal prior, on a grid; the curve starts anew at a reading that is really wetter.
    """
    logs = logs_of(lot, "drying", ("air",), physics, ("temperature", "humidity"))
    if not logs:
        return None
    log = logs[0]
    times, means = even(log, STEP)
    read: list[tuple[Moment, float, str]] = [
        (np.datetime64(r.on, "s"), as_iso6673(r.moisture, r.method, physics.moisture_methods), r.method)
        for r in of_stage(lot, "drying")
        if r.on is not None and r.moisture is not None
    ]
    inside = [one for one in read if times[0] - 24 * HOUR <= one[0] <= times[-1] + 24 * HOUR]
    if not inside:
        return NotAssessed(
            "drying",
            say("drying curve"),
            say("{file} has no dated moisture reading beside it", file=log.file),
        )
    layer = physics.thin_layer
    start = layer.start_moisture.get(lot.process or "other", layer.start_moisture["other"])
    first = inside[0]
    if first[0] <= times[0] + 12 * HOUR and first[1] > 25:
        start, inside = first[1], inside[1:] or inside
    usual, spread = layer.rate_factor["cherry" if lot.process == "natural" else "parchment"]
    factors = np.geomspace(usual / spread**3, usual * spread**3, FACTORS)
    rises = _rises(read, physics)
    points = [(int(np.clip((at - times[0]) / HOUR / STEP, 0, len(times))), value) for at, value, _ in inside]
    anew = {int(np.clip((read[i][0] - times[0]) / HOUR / STEP, 0, len(times))): read[i][1] for i, _ in rises}
    humidity = means["humidity"] / 100
    wet = to_wet_basis(_course(means["temperature"], humidity, start, anew, factors, physics))
    score = -0.5 * (np.log(factors / usual) / np.log(spread)) ** 2
    for index, value in points:
        error = layer.reading_error_below_15 if value < 15 else layer.reading_error_above_15
        score = score - 0.5 * ((wet[index] - value) / error) ** 2
    weight = np.exp(score - score.max())
    place = np.cumsum(weight) / weight.sum()
    chosen = [int(np.searchsorted(place, tail)) for tail in _TAILS]
    low, middle, high = (float(factors[i]) for i in chosen)
    return Curve(
        log, times, means["temperature"], humidity, wet[:, chosen], (low, middle, high), tuple(read), rises
    )


def _course(
    temperature: Array,
    humidity: Array,
    start: float,
    anew: dict[int, float],
    factors: Array,
    physics: Physics,
) -> Array:
    parts, begin, wet = [], 0, start
    for index in [*sorted(anew), len(temperature)]:
        if index <= begin:
            wet = anew.get(index, wet)
            continue
        part = dry_through(
            temperature[begin:index],
            humidity[begin:index],
            STEP,
            wet,
            factors,
            physics.isotherm,
            physics.thin_layer,
        )
        parts.append(part[:-1])
        last = part[-1:]
        begin, wet = index, anew.get(index, wet)
    return np.concatenate([*parts, last])


def _rises(read: list[tuple[Moment, float, str]], physics: Physics) -> tuple[tuple[int, float], ...]:
    found = []
    for i in range(1, len(read)):
        gain, _, real = difference(
            (read[i - 1][1], "iso6673"), (read[i][1], "iso6673"), physics.moisture_methods
        )
        if real and gain >= physics.interruption.rise:
            found.append((i, gain))
    return tuple(found)


def measures(lot: Lot, physics: Physics) -> Iterator[Measured | NotAssessed]:
    """What the drying curve says: hours in the mould window, growth, stops, rewetting, the rate against the usual."""
    found = curve(lot, physics)
    if isinstance(found, NotAssessed):
        yield found
    if not isinstance(found, Curve):
        return
    yield from _mould(lot, found, physics)
    yield from _course_measures(found, physics)


def water_activities(lot: Lot, found: Curve, physics: Physics) -> tuple[Array, Array]:
    """Water activity of the middle course, and its low and high: factors on the rate crossed with the isotherm's error."""
    moisture = found.moisture[:-1]
    dry = 100 * moisture / (100 - moisture)
    aw = water_activity(dry, found.temperature[:, None], physics.isotherm)
    error = (
        physics.water_activity_error.cherry
        if lot.process == "natural"
        else physics.water_activity_error.parchment
    )
    soaked = aw >= physics.mould_window.aw[1]
    cases = np.concatenate([np.where(soaked, aw, aw + error * sign) for sign in (-1, 0, 1)], axis=1)
    return aw[:, 1], np.clip(cases, 0, 1)


def _mould(lot: Lot, found: Curve, physics: Physics) -> Iterator[Measured]:
    best, cases = water_activities(lot, found, physics)
    window, temperature = physics.mould_window, found.temperature
    low, high = window.aw
    warm = (temperature >= window.temperature[0]) & (temperature <= window.temperature[1])
    readings = say(
        "1 moisture reading" if len(found.readings) == 1 else "{count} moisture readings",
        count=len(found.readings),
    )
    inputs = say(
        "drying curve from {file} and {readings}; water activity within {lot:.2f}",
        file=found.log.file,
        readings=readings,
        lot=_error(lot, physics),
    )
    for record, least in (("drying_mould_hours", low), ("drying_toxin_hours", window.toxin_aw)):
        inside = (best >= least) & (best < high) & warm
        each = [float((((case >= least) & (case < high) & warm).sum()) * STEP) for case in cases.T]
        yield Measured(
            record, float(inside.sum() * STEP), min(each), max(each), inputs, _windows(found, inside)
        )
    begin = 0 if lot.process == "natural" else int(np.argmax(best < high))
    growth = growth_index(
        temperature[begin:], np.column_stack([best, cases])[begin:], STEP, physics.mould_growth
    )
    last = growth[-1] if len(growth) else np.zeros(1 + cases.shape[1])
    grew = np.zeros(len(best), dtype=bool)
    grew[begin:] = np.diff(growth[:, 0], prepend=0.0) > 0
    yield Measured(
        "drying_mould_growth",
        round(float(last[0]), 2),
        float(last[1:].min()),
        float(last[1:].max()),
        inputs,
        _windows(found, grew),
    )


def _error(lot: Lot, physics: Physics) -> float:
    errors = physics.water_activity_error
    return errors.cherry if lot.process == "natural" else errors.parchment


def _course_measures(found: Curve, physics: Physics) -> Iterator[Measured]:
    low, middle, high = found.factors
    read = [value for _, value, _ in found.readings]
    yield Measured(
        "drying_readings",
        float(len(read)),
        None,
        None,
        say("dated moisture readings while drying: {count}", count=len(read)),
    )
    if len(read) >= 2:
        words = say(
            "rate against a thin layer in the air of {file}, fitted to {count} readings",
            file=found.log.file,
            count=len(read),
        )
        yield Measured("drying_rate_factor", round(middle, 2), low, high, words)
    if len(read) >= LEAST_READINGS:
        rise = max((points for _, points in found.rises), default=0.0)
        days = [
            Window(
                "readings",
                clock(found.readings[i - 1][0]),
                clock(found.readings[i][0]),
                i,
                i + 1,
                float((found.readings[i][0] - found.readings[i - 1][0]) / HOUR),
            )
            for i, _ in found.rises
        ]
        yield Measured(
            "rewetted_points",
            round(rise, 1),
            None,
            None,
            say("largest real rise between readings"),
            tuple(days),
        )
    limits = physics.interruption
    count = round(limits.hours / STEP)
    course = found.moisture[:, 1]
    still = np.zeros(len(found.temperature), dtype=bool)
    for index in range(len(still) - count):
        loss = course[index] - course[index + count]
        warm = found.temperature[index : index + count].mean() > limits.temperature
        if loss < limits.least_loss and course[index + count] > limits.moisture and warm:
            still[index : index + count] = True
    hours = longest(still, np.full(len(still), STEP))
    words = say(
        "no drying by the curve from {file}, while above {moisture:g} % moisture",
        file=found.log.file,
        moisture=limits.moisture,
    )
    yield Measured("drying_stood_still_hours", hours, None, None, words, _windows(found, still))


def _windows(found: Curve, mask: npt.NDArray[np.bool_]) -> tuple[Window, ...]:
    log = found.log
    spans = []
    for a, b in runs(mask):
        first = int(np.clip(np.searchsorted(log.at, found.times[a]), 0, len(log.at) - 1))
        last = int(np.clip(np.searchsorted(log.at, found.times[b]), 0, len(log.at) - 1))
        spans.append(
            Window(
                log.file,
                clock(found.times[a]),
                clock(found.times[b]),
                int(log.rows[first]),
                int(log.rows[last]),
                (b - a + 1) * STEP,
            )
        )
    most = sorted(spans, key=lambda window: -window.hours)[:MOST_WINDOWS]
    return tuple(sorted(most, key=lambda window: window.first))
