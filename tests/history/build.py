"""Logs, readings and a lot sheet for tests of what a history shows, as short as they can be written."""

from __future__ import annotations

import dataclasses
import datetime

import numpy as np

from tracer.history.history import Measured
from tracer.history.measure import measure
from tracer.issues import Place
from tracer.knowledge.load import load_or_fail
from tracer.lots.logs.log import Columns, Log
from tracer.lots.lot import BedDay, Reading
from tracer.lots.read import parse_lot

BASE = load_or_fail()
PHYSICS = BASE.settings.physics
WRITTEN = Columns(("Time",), {}, "C", "year_first", "point", None, None)
PLACE = Place("lot.yaml", 1)
START = np.datetime64("2026-01-01T00:00:00", "s")
SHEET = """
lot: LOG-1
species: arabica
process: washed
cuppings:
  - {on: 2026-03-09, sample: arrival, cups: 5, tasters: [{taster: first, notes: [{note: musty, cups: 3}]}]}
"""


def log(stage: str, where: str, minutes: int = 60, **channels) -> Log:
    """A log of even steps."""
    count = len(next(iter(channels.values())))
    at = START + (np.arange(count) * minutes * 60).astype("timedelta64[s]")
    values = {name: np.asarray(one, dtype=float) for name, one in channels.items()}
    return Log(
        stage, where, f"{stage}.csv", WRITTEN, np.arange(2, count + 2), at, values, count, (), (), PLACE
    )


def log_at(hours, stage: str = "transport", where: str = "air", file: str = "a.csv", **channels) -> Log:
    """A log of readings at such hours."""
    at = START + (np.asarray(hours) * 3600).astype("timedelta64[s]")
    values = {name: np.asarray(one, dtype=float) for name, one in channels.items()}
    count = len(at)
    return Log(stage, where, file, WRITTEN, np.arange(2, count + 2), at, values, count, (), (), PLACE)


def lot(*logs: Log, readings=(), beds=(), extra: str = "", process: str = "washed"):
    """A lot with logs, readings and bed days."""
    found, issues = parse_lot(SHEET.replace("washed", process) + extra, "lot.yaml", BASE)
    assert found is not None, issues
    return dataclasses.replace(found, logs=logs, readings=tuple(readings), beds=tuple(beds))


def reading(
    stage: str, hours: float, moisture: float, method: str = "meter", at: str | None = None
) -> Reading:
    """A moisture reading so many hours after the logs begin."""
    when = datetime.datetime(2026, 1, 1) + datetime.timedelta(hours=hours)
    return Reading(stage, when, at, moisture, method, None, None, PLACE)


def undated(stage, moisture, at=None, method="meter"):
    """A reading of the stage on no day."""
    return dataclasses.replace(reading(stage, 0, moisture, method, at), on=None)


def bed(on=1, layer=None, turns=None, rain=None, covered=None, stage="drying"):
    """A day of January in the log of a bed."""
    return BedDay(stage, datetime.date(2026, 1, on), turns, layer, rain, covered, PLACE)


def measured(*args, **kwargs) -> dict[str, Measured]:
    """What is measured of such a lot, by record."""
    return {one.record: one for one in measure(lot(*args, **kwargs), BASE).measured}
