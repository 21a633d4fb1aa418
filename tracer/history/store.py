"""The air of a store: how damp, for how long, and where it takes the coffee."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tracer.history.history import Measured
from tracer.history.isotherm import equilibrium
from tracer.history.moisture import as_iso6673, to_dry_basis, to_wet_basis
from tracer.history.mould import growth_index
from tracer.history.readings import moisture_at
from tracer.history.series import Array, durations, even, rolling_mean, runs, whole, windows
from tracer.history.usable import logs_of
from tracer.knowledge.physics import Physics
from tracer.lots.logs.log import Log
from tracer.lots.lot import Lot
from tracer.wording.sentence import say

PREFIX = {"origin_storage": "store", "destination_storage": "warehouse"}
"""Stage -> how its records begin."""


def measures(lot: Lot, physics: Physics) -> Iterator[Measured]:
    """Mean air, damp days, the moisture the coffee is heading for, and mould at the bag, for both stores."""
    for stage, prefix in PREFIX.items():
        for log in logs_of(lot, stage, ("air",), physics, ("temperature", "humidity"))[:1]:
            yield from _air(lot, log, prefix, physics)


def _air(lot: Lot, log: Log, prefix: str, physics: Physics) -> Iterator[Measured]:
    hours, temperature = durations(log), log.channels["temperature"]
    humidity = np.minimum(log.channels["humidity"], 99.9)
    words = say("mean of {file} over {sum:.0f} days", file=log.file, sum=hours.sum() / 24)
    yield Measured(f"{prefix}_humidity", round(_mean(humidity, hours), 1), None, None, words, whole(log))
    yield Measured(
        f"{prefix}_temperature", round(_mean(temperature, hours), 1), None, None, words, whole(log)
    )
    balance = to_wet_basis(equilibrium(humidity / 100, temperature, physics.isotherm))
    heading = _mean(balance, hours)
    dry = to_dry_basis(heading)
    error = physics.isotherm.error * 100**2 / (100 + dry) ** 2  # slope of wet over dry basis
    yield Measured(
        f"{prefix}_balance_moisture",
        round(heading, 2),
        heading - 2 * error,
        heading + 2 * error,
        say("moisture in balance with the air of {file}", file=log.file),
        whole(log),
    )
    known = _moisture_before(lot, log.stage, physics)
    if known is not None:
        yield Measured(
            f"{prefix}_rewetting_points",
            round(heading - known, 2),
            None,
            None,
            say("balance of {heading:.1f} % against {known:.1f} % going in", heading=heading, known=known),
            whole(log),
        )
    times, means = even(log, 1.0)
    follow = round(physics.store.follows_hours)
    bag = rolling_mean(np.minimum(means["humidity"], 99.9) / 100, follow)
    warmth = rolling_mean(means["temperature"], follow)
    day = 24
    daily = rolling_mean(means["humidity"], day)[day - 1 :: day]
    damp = np.repeat(daily > physics.store.damp, day)
    mask = np.zeros(len(log.at), dtype=bool)
    for a, b in runs(damp):
        mask |= (log.at >= times[a]) & (log.at <= times[min(b, len(times) - 1)])
    yield Measured(
        f"{prefix}_damp_days",
        float((daily > physics.store.damp).sum()),
        None,
        None,
        say("days above {damp:g} % mean humidity in {file}", damp=physics.store.damp, file=log.file),
        windows(log, mask),
    )
    low, high = physics.mould_window.store_aw
    slow = (bag >= low) & (bag < high)
    yield Measured(
        f"{prefix}_slow_mould_days",
        round(float(slow.sum()) / 24, 1),
        None,
        None,
        say(
            "days with bags in balance with air of {low:.0%} to {high:.0%} in {file}",
            low=low,
            high=high,
            file=log.file,
        ),
        windows(log, mask),
    )
    error = physics.water_activity_error.green
    cases = np.clip(np.column_stack([bag, bag - error, bag + error]), 0, 0.99)
    growth = growth_index(warmth, cases, 1.0, physics.mould_growth)[-1]
    yield Measured(
        f"{prefix}_mould_growth",
        round(float(growth[0]), 2),
        float(growth.min()),
        float(growth.max()),
        say("mould at bags that follow the air of {file} over {follow} h", file=log.file, follow=follow),
        windows(log, mask),
    )


def _mean(values: Array, hours: Array) -> float:
    return float((values * hours).sum() / hours.sum())


def _moisture_before(lot: Lot, stage: str, physics: Physics) -> float | None:
    """Moisture (% wet basis) of the coffee as it went into the store, from readings or the sheet."""
    order = {
        "origin_storage": (("origin_storage", "start"), ("drying", "end")),
        "destination_storage": (
            ("destination_storage", "start"),
            ("transport", "end"),
            ("transport", "start"),
        ),
    }[stage]
    for where, end in order:
        reading = moisture_at(lot, where, end)
        if reading is not None and reading.moisture is not None:
            return as_iso6673(reading.moisture, reading.method, physics.moisture_methods)
    names = {"drying": "moisture_leaving_drying", "transport": "moisture_on_arrival"}
    for where, _ in order:
        for record in lot.records:
            if record.record == names.get(where) and isinstance(record.value, (int, float)):
                return float(record.value)
    return None
