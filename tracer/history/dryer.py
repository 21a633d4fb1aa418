"""Heat in a mechanical dryer: how hot the coffee was, for how long, and how wet it then was."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from tracer.history.history import Measured
from tracer.history.moisture import as_iso6673
from tracer.history.readings import of_stage
from tracer.history.series import durations, lasting_highest, usual_step, windows
from tracer.history.usable import logs_of
from tracer.knowledge.physics import Physics
from tracer.lots.logs.log import Log
from tracer.lots.lot import Lot
from tracer.wording.sentence import say


def measures(lot: Lot, physics: Physics) -> Iterator[Measured]:
    """Highest lasting temperature of the coffee, hours and degree hours above what it bears.

    The limit is `wet_limit` while the coffee is known to be wetter than `wet_moisture`, else `any_limit`.
    """
    for log in logs_of(lot, "drying", ("coffee",), physics, ("temperature",))[:1]:
        limits, temperature, hours = physics.dryer_heat, log.channels["temperature"], durations(log)
        count = round(limits.lasting / 60 / usual_step(log))
        words = say(
            "highest temperature of the coffee that lasted {lasting:g} minutes in {file}",
            lasting=limits.lasting,
            file=log.file,
        )
        highest = lasting_highest(temperature, count)
        yield Measured(
            "dryer_temperature", round(highest, 1), None, None, words, windows(log, temperature >= highest)
        )
        moisture = _moisture(lot, log, physics)
        wet = moisture > limits.wet_moisture
        limit = np.where(wet, limits.wet_limit, limits.any_limit)
        hot = temperature > limit
        words = say(
            "coffee in {file} above {wet_limit:g} C while wetter than {wet_moisture:g} %, else above {any_limit:g} C",
            file=log.file,
            wet_limit=limits.wet_limit,
            wet_moisture=limits.wet_moisture,
            any_limit=limits.any_limit,
        )
        yield Measured(
            "overheated_hours", round(float(hours[hot].sum()), 2), None, None, words, windows(log, hot)
        )
        excess = np.where(hot, temperature - limit, 0.0)
        yield Measured(
            "overheated_degree_hours",
            round(float((excess * hours).sum()), 1),
            None,
            None,
            words,
            windows(log, hot),
        )
    yield from _speed(lot, physics)


def _moisture(lot: Lot, log: Log, physics: Physics) -> npt.NDArray[np.float64]:
    """Moisture (% wet basis) at each reading of the log, straight between readings; 0 where there is none."""
    read = [
        (
            np.datetime64(r.on, "s").astype(np.int64),
            as_iso6673(r.moisture, r.method, physics.moisture_methods),
        )
        for r in of_stage(lot, "drying")
        if r.on is not None and r.moisture is not None
    ]
    if len(read) < 2:
        return np.zeros(len(log.at))
    times, values = zip(*read, strict=True)
    return np.asarray(np.interp(log.at.astype("datetime64[s]").astype(np.int64), times, values))


def _speed(lot: Lot, physics: Physics) -> Iterator[Measured]:
    """Mean loss in a mechanical dryer, points an hour, between the first and the last reading."""
    read = [r for r in of_stage(lot, "drying") if r.on is not None and r.moisture is not None]
    if len(read) < 2 or not logs_of(lot, "drying", ("coffee",), physics, ("temperature",)):
        return
    first, last = read[0], read[-1]
    assert first.on is not None
    assert last.on is not None
    hours = (last.on - first.on).total_seconds() / 3600
    if hours > 0:
        loss = (first.moisture or 0) - (last.moisture or 0)
        words = say(
            "{moisture:g} % to {moisture_2:g} % in {hours:g} h",
            moisture=first.moisture,
            moisture_2=last.moisture,
            hours=hours,
        )
        yield Measured("drying_points_an_hour", round(loss / hours, 2), None, None, words)
