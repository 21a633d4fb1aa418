"""A container on its way: hours in which walls or roof were below the dew point, damp air, and mould at the bags."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from tracer.history.air import dew_point
from tracer.history.history import Measured, NotAssessed
from tracer.history.isotherm import water_activity_of_wet_basis
from tracer.history.moisture import as_iso6673
from tracer.history.mould import growth_index
from tracer.history.readings import moisture_at
from tracer.history.series import HOUR, durations, even, longest, rolling_mean, usual_step, whole, windows
from tracer.history.usable import logs_of
from tracer.knowledge.physics import Physics
from tracer.lots.logs.log import Log
from tracer.lots.lot import Lot
from tracer.wording.sentence import say

Array = npt.NDArray[np.float64]


def measures(lot: Lot, physics: Physics) -> Iterator[Measured | NotAssessed]:
    """What the loggers of a container show. A logger in a sealed liner reads the coffee, not the hold."""
    for log in _of_the_air(lot, physics)[:1]:
        yield from _condensation(lot, log, physics)
    for log in logs_of(lot, "transport", ("air",), physics, ("temperature", "humidity"))[:1]:
        yield from _damp(log, physics)
    for log in logs_of(lot, "transport", ("sealed",), physics, ("humidity",))[:1]:
        hours, limit = durations(log), physics.mould_window.aw[0]
        wet = log.channels["humidity"] / 100 >= limit
        words = say(
            "a logger in a sealed liner ({file}) reads the coffee: hours at a water activity of {limit:g} or more",
            file=log.file,
            limit=limit,
        )
        yield Measured(
            "sealed_wet_hours", round(float(hours[wet].sum()), 1), None, None, words, windows(log, wet)
        )


def _of_the_air(lot: Lot, physics: Physics) -> list[Log]:
    """Loggers of the hold, the best for a dew point first: one with humidity that ran as long, else the longest that gives one."""
    longest = logs_of(lot, "transport", ("air",), physics, ("temperature",))
    humid = logs_of(lot, "transport", ("air",), physics, ("temperature", "humidity"))
    if humid and (_overlap(longest[0], humid[0]) or _moisture_at_loading(lot, physics) is None):
        return humid
    return longest


def _condensation(lot: Lot, log: Log, physics: Physics) -> Iterator[Measured | NotAssessed]:
    found = _dew(lot, log, physics)
    if found is None:
        yield NotAssessed(
            "transport",
            "condensation",
            say("{file} has no humidity, and the moisture at loading is not known", file=log.file),
        )
        return
    dew, room, how = found
    surface, which, beside = _surface(lot, log, physics)
    hours = durations(log)
    wet, least, most = surface < dew, surface < dew - room, surface < dew + room
    words = say("{which} below the dew point of {how}", which=which, how=how)
    low, high = float(hours[least].sum()), float(hours[most].sum())
    yield Measured(
        "condensation_hours", round(float(hours[wet].sum()), 2), low, high, words, windows(log, wet), beside
    )
    run = longest(wet, hours)
    yield Measured(
        "condensation_longest_run",
        round(run, 2),
        longest(least, hours),
        longest(most, hours),
        words,
        windows(log, wet),
    )
    yield Measured(
        "transit_days_logged",
        round(float(hours.sum()) / 24, 1),
        None,
        None,
        say("days in {file}", file=log.file),
        whole(log),
    )


def _dew(lot: Lot, log: Log, physics: Physics) -> tuple[Array, float, str] | None:
    """Dew point (C) beside the cargo, its error (K), and what it was worked out from.

    From the humidity of the air in the box where that was logged; else from the water activity of the cargo at the
    mean temperature of a day, since the air of a stowed box stands near it.
    """
    temperature = log.channels["temperature"]
    if "humidity" in log.channels:
        humidity = np.minimum(log.channels["humidity"], 99.9) / 100
        return dew_point(temperature, humidity), _room(physics), say("the air in {file}", file=log.file)
    moisture = _moisture_at_loading(lot, physics)
    if moisture is None:
        return None
    cargo = rolling_mean(temperature, max(1, round(physics.condensation.cargo_hours / usual_step(log))))
    grid = np.linspace(cargo.min(), cargo.max() + 0.1, 200)
    aw = np.interp(cargo, grid, water_activity_of_wet_basis(moisture, grid, physics.isotherm))
    how = say(
        "cargo of {moisture:.1f} % at the mean temperature of {cargo_hours:g} h in {file}",
        moisture=moisture,
        cargo_hours=physics.condensation.cargo_hours,
        file=log.file,
    )
    error = dew_point(25.0, 0.65 + physics.water_activity_error.green) - dew_point(25.0, 0.65)
    return dew_point(cargo, aw), float(error), how


def _room(physics: Physics) -> float:
    """Error of a dew point from a logger's humidity, K, at 25 C and 70 %."""
    error = physics.condensation.humidity_error / 100
    return float(dew_point(25.0, 0.70 + error) - dew_point(25.0, 0.70))


def _moisture_at_loading(lot: Lot, physics: Physics) -> float | None:
    reading = moisture_at(lot, "transport", "start") or moisture_at(lot, "drying", "end")
    if reading is not None and reading.moisture is not None:
        return as_iso6673(reading.moisture, reading.method, physics.moisture_methods)
    for name in ("moisture_at_loading", "moisture_leaving_drying"):
        for record in lot.records:
            if record.record == name and isinstance(record.value, (int, float)):
                return float(record.value)
    return None


def _surface(lot: Lot, log: Log, physics: Physics) -> tuple[Array, str, tuple[str, ...]]:
    """Temperature (C) of the coldest wall at the times of the log, what it was taken from, and the other logs among that.

    A probe that ran for a part of the time is read for that part.
    """
    if "surface" in log.channels:
        return log.channels["surface"], say("wall or roof in {file}", file=log.file), ()
    below = physics.condensation.surface_below_air
    probes = _probes(lot, physics)
    for other, values in probes:
        if _overlap(log, other):
            return _at(log, other, values), say("wall or roof in {file}", file=other.file), (other.file,)
    guessed = log.channels["temperature"] - below
    beside: tuple[str, ...] = ()
    which = say(
        "roof, taken {below:g} K below the air of {file} (no probe on it),", below=below, file=log.file
    )
    for other in logs_of(lot, "transport", ("outside",), physics, ("temperature",)):
        if _overlap(log, other):
            guessed, beside = _at(log, other, other.channels["temperature"]) - below, (other.file,)
            which = say(
                "roof, taken {below:g} K below the outside air of {file},", below=below, file=other.file
            )
            break
    for other, values in probes:
        ran = (log.at >= other.at[0]) & (log.at <= other.at[-1])
        if ran.any():
            which = say("wall or roof in {file} while it ran, else {guess}", file=other.file, guess=which)
            return np.where(ran, _at(log, other, values), guessed), which, (*beside, other.file)
    return guessed, which, beside


def _probes(lot: Lot, physics: Physics) -> list[tuple[Log, Array]]:
    """Loggers on a wall or the roof, and those of the air with a probe there."""
    on = logs_of(lot, "transport", ("surface",), physics)
    by = logs_of(lot, "transport", ("air",), physics, ("surface",))
    found = [(one, one.channels.get("surface", one.channels.get("temperature"))) for one in (*on, *by)]
    return [(one, values) for one, values in found if values is not None]


def _at(log: Log, other: Log, values: Array) -> Array:
    """Values of another log at the times of this one."""
    return np.interp(log.at.astype(np.int64), other.at.astype(np.int64), values)


def _overlap(one: Log, other: Log) -> bool:
    return bool(other.at[0] <= one.at[0] + 24 * HOUR and other.at[-1] >= one.at[-1] - 24 * HOUR)


def _damp(log: Log, physics: Physics) -> Iterator[Measured]:
    times, means = even(log, 1.0)
    del times
    bag = rolling_mean(np.minimum(means["humidity"], 99.9) / 100, round(physics.store.follows_hours))
    warmth = rolling_mean(means["temperature"], round(physics.store.follows_hours))
    error = physics.water_activity_error.green
    cases = np.clip(np.column_stack([bag, bag - error, bag + error]), 0, 0.99)
    growth = growth_index(warmth, cases, 1.0, physics.mould_growth)[-1]
    wet = log.channels["humidity"] >= 100 * physics.mould_window.toxin_aw
    hours = durations(log)
    words = say(
        "hours at {toxin_aw:g} % humidity or more in {file}",
        toxin_aw=100 * physics.mould_window.toxin_aw,
        file=log.file,
    )
    yield Measured(
        "transit_damp_hours", round(float(hours[wet].sum()), 1), None, None, words, windows(log, wet)
    )
    words = say(
        "mould at bags that follow the air of {file} over {follows_hours:g} h",
        file=log.file,
        follows_hours=physics.store.follows_hours,
    )
    yield Measured(
        "transit_mould_growth",
        round(float(growth[0]), 2),
        float(growth.min()),
        float(growth.max()),
        words,
        windows(log, wet),
    )
