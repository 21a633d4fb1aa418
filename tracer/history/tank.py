"""A fermentation tank's log: hours, warmth and acidity."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tracer.history.history import Measured
from tracer.history.series import HOUR, durations, span, whole
from tracer.history.usable import logs_of
from tracer.knowledge.physics import Physics
from tracer.lots.lot import Lot
from tracer.wording.sentence import say


def measures(lot: Lot, physics: Physics) -> Iterator[Measured]:
    """Hours in the tank, mean and highest temperature, and the pH at the end. Hours alone prove nothing."""
    for log in logs_of(lot, "processing", ("tank",), physics)[:1]:
        yield Measured(
            "tank_hours",
            round(span(log), 1),
            None,
            None,
            say("from first to last reading of {file}", file=log.file),
            whole(log),
        )
    for log in logs_of(lot, "processing", ("tank",), physics, ("temperature",))[:1]:
        temperature, hours = log.channels["temperature"], durations(log)
        mean = float((temperature * hours).sum() / hours.sum())
        yield Measured(
            "tank_temperature",
            round(mean, 1),
            None,
            None,
            say("mean of {file}", file=log.file),
            whole(log),
        )
        highest = float(temperature.max())
        yield Measured(
            "tank_highest_temperature",
            round(highest, 1),
            None,
            None,
            say("highest of {file}", file=log.file),
            whole(log),
        )
    for log in logs_of(lot, "processing", ("tank",), physics, ("ph",))[:1]:
        last = log.channels["ph"][log.at >= log.at[-1] - HOUR]
        yield Measured(
            "ph_at_wash",
            round(float(np.mean(last)), 2),
            None,
            None,
            say("last hour of {file}", file=log.file),
            whole(log),
        )
