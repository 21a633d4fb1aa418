"""History, green and bench: each value is checked against the record it fills in."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from tracer.issues import Issue
from tracer.knowledge.entries import Record
from tracer.lots.histories import NESTED
from tracer.lots.lot import Lot, RecordValue, Value
from tracer.lots.node import UNKNOWN, Node
from tracer.lots.quantity import QuantityError, read_quantity
from tracer.names import did_you_mean, fold


def read_records(sheet: Node, records: Mapping[str, Record]) -> tuple[RecordValue, ...]:
    """Every value under history, green and bench."""
    found: list[RecordValue] = []
    stages = tuple(dict.fromkeys(record.stage for record in records.values() if record.stage))
    history = sheet.child("history")
    if history.data is not None and history.is_map("history"):
        history.only(stages, "history")
        for stage in history.names():
            if stage in stages:
                found += _section(history.child(stage), "history", stage, records)
    for section in ("green", "bench"):
        found += _section(sheet.child(section), section, None, records)
    return tuple(found)


def _section(node: Node, section: str, stage: str | None, records: Mapping[str, Record]) -> list[RecordValue]:
    if node.data is None or not node.is_map(stage or section):
        return []
    found = []
    for name in node.names():
        if name in (NESTED if section == "history" else ("grading",) if section == "green" else ()):
            continue
        child, record = node.child(name), records.get(name)
        if record is None or record.section == "lot":
            fitting = [r.id for r in records.values() if r.section == section and r.stage == stage]
            remedy = did_you_mean(name, fitting, "See the records with: tracer sheet")
            if str(name)[:1].isdigit():
                remedy = "Was this the end of a number with a comma? Between braces write 12.9 %, or put '12,9 %' in quotes."
            child.problem(f"there is no record '{name}'", remedy)
        elif record.section != section or record.stage != stage:
            where = f"history: {record.stage}" if record.section == "history" else record.section
            child.problem(f"'{name}' does not belong under {stage or section}", f"Move it under {where}.")
        else:
            found.append(RecordValue(name, _value(child, record), str(child.data), child.place))
    return found


def _value(node: Node, record: Record) -> Value | None:
    if node.data is None or (isinstance(node.data, str) and fold(node.data) in UNKNOWN):
        return None
    if isinstance(node.data, (dict, list)):
        node.problem("one value was expected here", f"Write {record.explained}")
        return None
    if record.kind == "yes_no":
        return node.yes_no()
    if record.kind == "choice":
        return node.choice(record.choices)
    if record.kind == "date":
        return node.date()
    if record.kind == "text":
        return node.text()
    return _quantity(node, record)


def _quantity(node: Node, record: Record) -> float | None:
    if isinstance(node.data, (bool, datetime.date)):
        node.problem("a number was expected here", f"Write a number with its unit, such as 9 {record.unit}.")
        return None
    try:
        number = read_quantity(node.data, record.unit or "1")
    except QuantityError as error:
        node.problem(str(error), error.remedy)
        return None
    if record.possible and not record.possible[0] <= number <= record.possible[1]:
        low, high = record.possible
        node.problem(
            f"{record.label} {node.data} cannot be; it lies from {low:g} to {high:g} {record.unit}",
            _slip(number, low, high),
        )
        return None
    return number


def _slip(number: float, low: float, high: float) -> str:
    for factor in (10, 100):
        if low <= number / factor <= high:
            return f"Was it {number / factor:g}?"
    return "Check the figure and its unit."


def check_dates(lot: Lot, records: Mapping[str, Record], issues: list[Issue]) -> None:
    """Days must follow the life of the lot; a day after the last cupping is told as a warning."""
    days = {value.record: value for value in lot.records if isinstance(value.value, datetime.date)}
    for value in days.values():
        after = records[value.record].comes_before
        other = days.get(after or "")
        assert isinstance(value.value, datetime.date)
        if other is not None and isinstance(other.value, datetime.date) and value.value > other.value:
            message = f"{records[value.record].label} ({value.value}) is later than {records[other.record].label} ({other.value})"
            issues.append(Issue(value.place, message, "Check the two days, and the order of day and month."))
    cupped = [cupping.on for cupping in lot.cuppings if cupping.on]
    for value in days.values():
        if cupped and isinstance(value.value, datetime.date) and value.value > max(cupped):
            message = (
                f"{records[value.record].label} ({value.value}) is after the last cupping ({max(cupped)})"
            )
            issues.append(Issue(value.place, message, "Check the day; it is used as it stands.", "warning"))
