"""The log of a drying bed, day by day: layer, turns, rain and cover."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from tracer.history.history import Measured
from tracer.history.series import Window
from tracer.knowledge.physics import Physics
from tracer.lots.lot import BedDay, Lot
from tracer.wording.sentence import say


def measures(lot: Lot, physics: Physics) -> Iterator[Measured]:
    """Records that the days of a bed fill in. A day that does not speak of rain says nothing of rain."""
    days = [day for day in lot.beds if day.stage == "drying"]
    if not days:
        return
    layers = [day.layer for day in days if day.layer is not None]
    if layers:
        yield Measured(
            "layer",
            max(layers),
            min(layers),
            max(layers),
            say("deepest of {count} days of the bed log", count=len(layers)),
        )
    turns = [day.turns for day in days if day.turns is not None]
    if len(turns) >= len(days) / 2:
        often = median(turns) >= physics.store.turns_a_day
        words = say(
            "{turns:g} turns a day, in the middle of {count} days", turns=median(turns), count=len(turns)
        )
        yield Measured("turned_daily", "yes" if often else "no", None, None, words)
    rained = [day for day in days if day.rain == "yes" and day.covered == "no"]
    if rained:
        yield Measured(
            "rain_on_coffee",
            "yes",
            None,
            None,
            say("{count} days of rain without cover", count=len(rained)),
            _days(rained),
        )
        yield Measured("covered", "no", None, None, say("rain on days without cover"), _days(rained))
    elif all(day.rain == "no" or (day.rain == "yes" and day.covered == "yes") for day in days):
        yield Measured(
            "rain_on_coffee",
            "no",
            None,
            None,
            say("{count} days of the bed log, none with rain on the coffee", count=len(days)),
        )
    if days and all(day.covered == "yes" for day in days):
        yield Measured(
            "covered", "yes", None, None, say("covered on all {count} days of the bed log", count=len(days))
        )


def _days(days: list[BedDay]) -> tuple[Window, ...]:
    return tuple(
        Window(say("lot sheet"), str(day.on), str(day.on), day.place.line, day.place.line, 24.0)
        for day in days
    )
