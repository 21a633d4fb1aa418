"""Moisture and water activity readings: the records they fill in, and whether they go together."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.history.history import Measured
from tracer.history.isotherm import water_activity_of_wet_basis
from tracer.history.moisture import as_iso6673, difference
from tracer.knowledge.physics import Physics
from tracer.lots.lot import Lot, Reading
from tracer.wording.sentence import joined, say

FILLS = {
    ("drying", "end"): "moisture_leaving_drying",
    ("transport", "start"): "moisture_at_loading",
    ("transport", "end"): "moisture_on_arrival",
    ("destination_storage", "end"): "moisture_now",
}
"""Stage and end of it -> the record that a reading there fills in."""
USUAL_TEMPERATURE = 25.0


def of_stage(lot: Lot, stage: str) -> list[Reading]:
    """Moisture readings of a stage, by time; those without a day stand where the sheet has them."""
    found = [reading for reading in lot.readings if reading.stage == stage and reading.moisture is not None]
    if all(reading.on for reading in found):
        found.sort(key=lambda reading: reading.on)  # type: ignore[arg-type, return-value]
    return found


def moisture_at(lot: Lot, stage: str, end: str) -> Reading | None:
    """The reading at the start or end of a stage: the one that says so, else the first or last of several."""
    found = of_stage(lot, stage)
    said = [reading for reading in found if reading.at == end]
    if said:
        return said[0] if end == "start" else said[-1]
    free = [reading for reading in found if reading.at is None]
    if not free or (stage == "transport" and len(found) < 2):
        return None
    return free[0] if end == "start" else free[-1]


def measures(lot: Lot, physics: Physics) -> Iterator[Measured]:
    """Records that readings fill in, as ISO 6673 would have read them."""
    methods = physics.moisture_methods
    for (stage, end), record in FILLS.items():
        reading = moisture_at(lot, stage, end)
        if reading is not None and reading.moisture is not None:
            value = as_iso6673(reading.moisture, reading.method, methods)
            error = methods.certain * methods.error[reading.method]
            yield Measured(record, round(value, 2), value - error, value + error, _words(reading))
    before, after = moisture_at(lot, "transport", "start"), moisture_at(lot, "transport", "end")
    if before is not None and after is not None and before is not after:
        yield from _gain("sea_gain_is_real", before, after, physics)
    before, after = moisture_at(lot, "drying", "end"), moisture_at(lot, "transport", "start")
    if before is not None and after is not None:
        yield from _gain("store_gain_is_real", before, after, physics)


def _gain(record: str, before: Reading, after: Reading, physics: Physics) -> Iterator[Measured]:
    assert before.moisture is not None
    assert after.moisture is not None
    gain, error, real = difference(
        (before.moisture, before.method), (after.moisture, after.method), physics.moisture_methods
    )
    words = say(
        "gain {gain:+.1f} points, error of the two methods {error:.1f}: {before}, then {after}",
        gain=gain,
        error=error,
        before=_words(before),
        after=_words(after),
    )
    yield Measured(record, "yes" if real and gain > 0 else "no", None, None, words)


def _words(reading: Reading) -> str:
    on = say(" on {on:%Y-%m-%d}", on=reading.on) if reading.on else ""
    return say("{moisture:g} % by {method}{on}", moisture=reading.moisture, method=reading.method, on=on)


def doubts(lot: Lot, physics: Physics) -> Iterator[str]:
    """Readings that do not go together: water activity against moisture, one method against another."""
    limits = physics.water_activity_error
    for reading in lot.readings:
        if reading.aw is None or reading.moisture is None:
            continue
        temperature = reading.temperature if reading.temperature is not None else USUAL_TEMPERATURE
        moisture = as_iso6673(reading.moisture, reading.method, physics.moisture_methods)
        computed = float(water_activity_of_wet_basis(moisture, temperature, physics.isotherm))
        error = limits.green + (limits.method_unknown if reading.method == "unknown" else 0)
        if abs(reading.aw - computed) > limits.doubtful * error:
            yield (
                say(
                    "{moisture:g} % moisture goes with a water activity of about {computed:.2f} (within {doubtful:.2f}), but {aw:.2f} was read ({place}): one reading is wrong, or the sample is mixed. Read both again.",
                    moisture=reading.moisture,
                    computed=computed,
                    doubtful=limits.doubtful * error,
                    aw=reading.aw,
                    place=reading.place,
                )
            )
    used = {reading.method for reading in lot.readings if reading.moisture is not None}
    if len(used) > 1:
        yield (
            say(
                "moisture was read by different methods ({names}); they differ by about a point, and are put on the scale of ISO 6673 before they are compared.",
                names=joined(sorted(used)),
            )
        )
