"""Logs, readings, bed days and plain sentences of a lot sheet: what is read before it is worked out."""

from __future__ import annotations

import datetime
from pathlib import Path

from tracer.issues import Issue, Place
from tracer.knowledge.physics import LogLimits
from tracer.lots.form import AT, METHODS, BedForm, LogForm, ReadingForm
from tracer.lots.logs.columns import propose
from tracer.lots.logs.grid import Grid, read_grid
from tracer.lots.logs.log import CHANNELS, TEMPERATURES, WHERE, Columns, Log
from tracer.lots.logs.read import read_log, zone_of
from tracer.lots.logs.times import ORDERS
from tracer.lots.lot import BedDay, Reading
from tracer.lots.node import Node
from tracer.lots.spot import fields_of
from tracer.names import did_you_mean
from tracer.quantity import QuantityError, read_quantity
from tracer.spreadsheets.limits import TableError, what_is_wrong
from tracer.wording.sentence import joined, say, to_type

NESTED = ("logs", "readings", "beds", "timezone")
"""What may stand under a stage of history beside its records."""
MOST_MOISTURE = 75.0


def read_logs(history: Node, stage: str, folder: Path | None, limits: LogLimits) -> list[Log]:
    """Logger files named under a stage; a file whose columns are not confirmed is told and does not count."""
    logs = []
    place_timezone = _zone(history.child("timezone"))
    for item in history.child("logs").items():
        if not item.is_map(say("a log")):
            continue
        item.only(fields_of(LogForm), say("a log"))
        where = item.child("where").choice(WHERE)
        if where is None and item.child("where").data is None:
            item.problem(
                say("the log does not say where the logger was"),
                say("Add where: {WHERE}.", WHERE=to_type(WHERE)),
            )
        path = beside(item.child("file"), folder, say("a log"))
        if path is None or where is None:
            continue
        try:
            grid = read_grid(path)
        except (TableError, OSError) as error:
            told, remedy = what_is_wrong(error)
            item.child("file").problem(
                say("{name} cannot be used: {error}", name=path.name, error=told), remedy
            )
            continue
        columns = _columns(item, grid, path.name, place_timezone)
        if columns is None:
            continue
        log = read_log(
            grid, columns, limits.possible, limits.gap_factor, (stage, where, path.name), item.place
        )
        if len(log.at) < 2:
            item.child("file").problem(
                say(
                    "{name} has {count} usable rows of {total}: ",
                    name=path.name,
                    count=len(log.at),
                    total=log.total,
                )
                + joined(map(str, log.defects), "; "),
                say("Check the columns, the order of day and month, and the decimal mark."),
            )
            continue
        _tell(item, log, path, grid)
        logs.append(log)
    return logs


def _tell(item: Node, log: Log, path: Path, grid: Grid) -> None:
    for defect in log.defects:
        place = Place(str(path), defect.rows[0])
        item.issues.append(Issue(place, str(defect), say("Look at these rows in the file."), "warning"))
    for before, after, hours in log.gaps:
        message = say(
            "a gap: {hours:.1f} h without readings between rows {before:,} and {after:,}",
            hours=hours,
            before=before,
            after=after,
        )
        item.issues.append(
            Issue(Place(str(path), before), message, say("Nothing is assumed of the gap."), "warning")
        )
    if grid.note:
        item.issues.append(Issue(Place(str(path)), grid.note, say("Check that this is right."), "warning"))


def beside(node: Node, folder: Path | None, what: str) -> Path | None:
    """A file named in a sheet: in the folder of the sheet or below it, never above."""
    name = node.text()
    if name is None:
        node.problem(
            say("{what} needs its file", what=what), say("Give the name of a file beside the sheet.")
        )
        return None
    if folder is None or Path(name).is_absolute() or ".." in Path(name).parts:
        node.problem(
            say("{what} is a file beside the sheet", what=what),
            say("Put it in the folder of the sheet and give its name alone."),
        )
        return None
    return folder / name


def _columns(item: Node, grid: Grid, file: str, place_timezone: str | None) -> Columns | None:
    node = item.child("columns")
    if node.data is None:
        proposal = propose(grid.headings, grid.frame)
        asks = "".join(say(" Decide: {question}", question=question) for question in proposal.questions)
        item.child("file").problem(
            say("the columns of {file} are not confirmed, so the log does not count", file=file),
            say("If this is right, put it under the log: {line}{asks}", line=proposal.line(), asks=asks),
            "warning",
        )
        return None
    if not node.is_map("columns"):
        return None
    before = len(item.issues)
    node.only(("time", *CHANNELS), "columns")
    time = tuple(text for part in node.child("time").items() if (text := part.text()))
    channels = {name: text for name in CHANNELS if (text := node.child(name).text())}
    for name, heading in [*(("time", part) for part in time), *channels.items()]:
        if heading not in grid.headings:
            remedy = did_you_mean(
                heading,
                grid.headings,
                say("Columns of {file}: {headings}.", file=file, headings=to_type(grid.headings)),
            )
            node.child(name).problem(
                say("{file} has no column '{heading}'", file=file, heading=heading), remedy
            )
    if not 1 <= len(time) <= 2:
        node.problem(
            say("columns need their time: one column, or two for date and time of day"),
            say("Add time: NAME."),
        )
    if not channels:
        node.problem(
            say("columns name no measurement"), say("Add one of: {CHANNELS}.", CHANNELS=to_type(CHANNELS))
        )
    degrees = item.child("degrees").choice(("C", "F"))
    if (
        degrees is None
        and any(name in channels for name in TEMPERATURES)
        and item.child("degrees").data is None
    ):
        item.problem(say("the log does not say its degrees"), say("Add degrees: C or F."))
    dates = item.child("dates").choice(tuple(ORDERS))
    if dates is None and item.child("dates").data is None:
        item.problem(
            say("the log does not say the order of its dates"),
            say("Add dates: {ORDERS}.", ORDERS=to_type(ORDERS)),
        )
    zone = _zone(item.child("timezone"))
    if zone is not None and place_timezone is None:
        item.child("timezone").problem(
            say("the zone of the logger is named, but not that of the place, so times are taken as written"),
            say("Add timezone: to the stage too, for the clock by which readings and days are told."),
            "warning",
        )
    decimal = item.child("decimal").choice(("point", "comma")) or "point"
    if any(issue.level == "error" for issue in item.issues[before:]):
        return None
    return Columns(time, channels, degrees or "C", dates or "year_first", decimal, zone, place_timezone)


def _zone(node: Node) -> str | None:
    zone = node.text()
    if zone is not None and zone_of(zone) is None:
        node.problem(
            say("'{zone}' is no time zone", zone=zone),
            say("Write UTC, an offset (+03:00) or a name (Africa/Kigali)."),
        )
        return None
    return zone


def moment(node: Node) -> datetime.datetime | None:
    """A day, or a day and time of day, as a time; a day alone is taken at noon."""
    data = node.data
    if data is None:
        return None
    if isinstance(data, datetime.datetime):
        return data.replace(tzinfo=None)
    if isinstance(data, datetime.date):
        return datetime.datetime.combine(data, datetime.time(12))
    try:
        return datetime.datetime.fromisoformat(str(data).strip()).replace(tzinfo=None)
    except ValueError:
        node.problem(
            say("'{data}' is no day or time", data=data), say("Write 2026-03-09, or 2026-03-09 14:30.")
        )
        return None


def read_readings(node: Node, stage: str) -> list[Reading]:
    """Moisture and water activity readings of a stage, each with its method."""
    readings = []
    for item in node.items():
        if not item.is_map(say("a reading")):
            continue
        item.only(fields_of(ReadingForm), say("a reading"))
        moisture = _amount(item.child("moisture"), "%", 0, MOST_MOISTURE, "moisture")
        aw = _amount(item.child("aw"), "aw", 0, 1, say("water activity"))
        method = item.child("method").choice(METHODS)
        if moisture is not None and method is None and item.child("method").data is None:
            item.problem(
                say(
                    "the reading does not name its method, so it counts as unknown: methods differ by about a point"
                ),
                say("Add method: iso6673, iso1446 or meter."),
                "warning",
            )
        if moisture is None and aw is None:
            item.problem(say("a reading needs moisture or aw"), say("Add moisture: 11.8 % or aw: 0.58."))
            continue
        on, at = moment(item.child("on")), item.child("at").choice(AT)
        if on is None and at is None and item.child("on").data is None:
            item.problem(
                say(
                    "the reading has neither a day nor whether it is of the start or the end, so it stands in the order of the sheet"
                ),
                say("Add on: and its day, or at: start or end."),
                "warning",
            )
        readings.append(
            Reading(
                stage,
                on,
                at,
                moisture,
                method or "unknown",
                aw,
                _amount(item.child("temperature"), "C", -20, 80, "temperature"),
                item.place,
            )
        )
    return readings


def _amount(node: Node, unit: str, low: float, high: float, what: str) -> float | None:
    if node.data is None:
        return None
    if isinstance(node.data, (bool, dict, list, datetime.date)):
        node.problem(
            say("a number was expected here"),
            say("Write a number, with its unit if you like: {unit}.", unit=unit),
        )
        return None
    try:
        number = read_quantity(node.data, unit)
    except QuantityError as error:
        node.problem(error.message, error.remedy)
        return None
    if not low <= number <= high:
        node.problem(
            say(
                "{what} {data} cannot be; it lies from {low:g} to {high:g} {unit}",
                what=what,
                data=node.data,
                low=low,
                high=high,
                unit=unit,
            ),
            say("Check the figure and its unit."),
        )
        return None
    return number


def read_beds(node: Node, stage: str) -> list[BedDay]:
    """The log of the drying bed, a line a day: turns, depth of the layer, rain, cover."""
    days = []
    for item in node.items():
        if not item.is_map(say("a day of the bed log")):
            continue
        item.only(fields_of(BedForm), say("a day of the bed log"))
        on = item.child("on").date()
        if on is None:
            item.problem(say("a day of the bed log needs its date"), say("Add on: 2026-01-09."))
            continue
        days.append(
            BedDay(
                stage,
                on,
                item.child("turns").whole(0, 100),
                _amount(item.child("layer"), "cm", 0, 100, "layer"),
                item.child("rain").yes_no(),
                item.child("covered").yes_no(),
                item.place,
            )
        )
    return days
