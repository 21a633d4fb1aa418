"""The log of a drying bed, day by day: layer, turns, rain and cover."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from tracer.history.history import Measured
from tracer.history.series import Window
from tracer.knowledge.physics import Physics
from tracer.lots.lot import BedDay, Lot


def measures(lot: Lot, physics: Physics) -> Iterator[Measured]:
    """Records that the days of a bed fill in. A day that does not speak of rain says nothing of rain."""
    days = [day for day in lot.beds if day.stage == "drying"]
    if not days:
        return
    layers = [day.layer for day in days if day.layer is not None]
    if layers:
        yield Measured(
            "layer", max(layers), min(layers), max(layers), f"deepest of {len(layers)} days of the bed log"
        )
    turns = [day.turns for day in days if day.turns is not None]
    if len(turns) >= len(days) / 2:
        often = median(turns) >= physics.store.turns_a_day
        words = f"{median(turns):g} turns a day, in the middle of {len(turns)} days"
        yield Measured("turned_daily", "yes" if often else "no", None, None, words)
    rained = [day for day in days if day.rain == "yes" and day.covered == "no"]
    if rained:
        yield Measured(
            "rain_on_coffee", "yes", None, None, f"{len(rained)} days of rain without cover", _days(rained)
        )
        yield Measured("covered", "no", None, None, "rain on days without cover", _days(rained))
    elif all(day.rain == "no" or (day.rain == "yes" and day.covered == "yes") for day in days):
        yield Measured(
            "rain_on_coffee",
            "no",
            None,
            None,
            f"{len(days)} days of the bed log, none with rain on the coffee",
        )
    if days and all(day.covered == "yes" for day in days):
        yield Measured("covered", "yes", None, None, f"covered on all {len(days)} days of the bed log")


def _days(days: list[BedDay]) -> tuple[Window, ...]:
    return tuple(
        Window("lot sheet", str(day.on), str(day.on), day.place.line, day.place.line, 24.0) for day in days
    )
