"""History, green and bench: each value is checked against the record it fills in."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from tracer.amounts import Amount, AmountReader
from tracer.issues import Issue
from tracer.knowledge.entries import Record
from tracer.knowledge.renamed import now_called
from tracer.lots.fields import UNKNOWN
from tracer.lots.histories import NESTED
from tracer.lots.lot import Lot, RecordValue, Value, Witness
from tracer.lots.node import Node
from tracer.lots.places import misplaced, no_stage, placed, stages_of
from tracer.names import fold
from tracer.quantity import QuantityError
from tracer.wording.sentence import joined, say, to_type

SEEN = {"present": "yes", "seen": "yes", "found": "yes", "some": "yes", "absent": "no", "none": "no"}
"""What people write of a thing that was there or not, where yes or no is meant."""


def read_records(
    sheet: Node, records: Mapping[str, Record], amounts: AmountReader
) -> tuple[RecordValue, ...]:
    """Every value under history, green and bench."""
    found: list[RecordValue] = []
    stages = stages_of(records)
    history = sheet.child("history")
    if history.data is not None and history.is_map("history"):
        for name in history.names():
            if name in stages:
                found += _section(history.child(name), "history", name, records, amounts)
            else:
                no_stage(history.child(name), str(name), stages, records)
    for section in ("green", "bench"):
        found += _section(sheet.child(section), section, None, records, amounts)
    return tuple(found)


def _section(
    node: Node, section: str, stage: str | None, records: Mapping[str, Record], amounts: AmountReader
) -> list[RecordValue]:
    if node.data is None or not node.is_map(stage or section):
        return []
    found, stages = [], stages_of(records)
    fitting = [one.id for one in records.values() if placed(one, records) == (section, stage)]
    for name in node.names():
        child = node.child(name)
        if name in (NESTED if section == "history" else ("grading",) if section == "green" else ()):
            continue
        if name in fitting:
            found.append(read_record(child, records[name], amounts))
        elif not misplaced(child, str(name), stage or section, stages, records):
            remedy = now_called(name, records, fitting, say("See the records with: tracer sheet"))
            if str(name)[:1].isdigit():
                remedy = say(
                    "Was this the end of a number with a comma? Between braces write 12.9 %, or put '12,9 %' in quotes."
                )
            child.problem(say("there is no record '{name}'", name=name), remedy)
    return found


def read_record(node: Node, record: Record, amounts: AmountReader) -> RecordValue:
    """A row of the sheet: one value, or what several witnesses say."""
    if isinstance(node.data, list) and node.data and all(isinstance(one, dict) for one in node.data):
        return _witnessed(node, record, amounts)
    if isinstance(node.data, dict) and set(node.data) <= {"value", "by"} and "value" in node.data:
        inner = node.child("value")
        value, amount = _value(inner, record, amounts)
        by = node.child("by").text() or "somebody"
        return RecordValue(
            record.id, value, str(inner.data), node.place, amount, (Witness(by, str(inner.data)),)
        )
    value, amount = _value(node, record, amounts)
    return RecordValue(record.id, value, str(node.data), node.place, amount)


def _witnessed(node: Node, record: Record, amounts: AmountReader) -> RecordValue:
    """What several people say of one record; where they contradict, nothing counts and both are kept."""
    found: list[tuple[Value | None, Amount | None]] = []
    witnesses = []
    for item in node.items():
        item.only(("value", "by"), say("what a witness says"))
        found.append(_value(item.child("value"), record, amounts))
        witnesses.append(Witness(item.child("by").text() or "somebody", str(item.child("value").data)))
    told = [one for one in found if one != (None, None)]
    alike = bool(told) and all(one == told[0] for one in told)
    written = joined((f"{one.written} ({one.by})" for one in witnesses), " against ")
    value, amount = told[0] if alike else (None, None)
    return RecordValue(record.id, value, written, node.place, amount, tuple(witnesses))


def _value(node: Node, record: Record, amounts: AmountReader) -> tuple[Value | None, Amount | None]:
    if node.data is None or (isinstance(node.data, str) and fold(node.data) in UNKNOWN):
        return None, None
    if isinstance(node.data, (dict, list)):
        remedy = (
            say(
                "Write the one that tells most: {choices}. What else holds goes under remarks.",
                choices=to_type(record.choices),
            )
            if record.kind == "choice"
            else say("Write one value. {explained}", explained=record.explained)
        )
        node.problem(say("one value was expected here"), remedy)
        return None, None
    word = fold(str(node.data)) if isinstance(node.data, (str, bool)) else ""
    if record.kind == "yes_no":
        return SEEN.get(word) or node.yes_no(), None
    if record.kind == "choice":
        denied = word in ("no", "false") and "none" in record.choices and "no" not in record.choices
        return "none" if denied else node.choice(record.choices), None
    if record.kind == "date":
        return node.date(), None
    if record.kind == "text":
        return node.text(), None
    return _quantity(node, record, amounts)


def _quantity(node: Node, record: Record, amounts: AmountReader) -> tuple[float | None, Amount | None]:
    example = f"9 {record.unit}" if record.unit not in (None, "1") else "9"
    if isinstance(node.data, (bool, datetime.date)):
        node.problem(
            say("a number was expected here"),
            say("Write a number with its unit, such as {example}.", example=example),
        )
        return None, None
    counted = record.unit in ("1", "%")
    if isinstance(node.data, str) and counted and fold(node.data) in ("yes", "present"):
        return None, Amount(None, None, record.unit or "1", word="some", text=node.data)
    if isinstance(node.data, str) and counted and fold(node.data) in ("no", "absent"):
        return 0.0, Amount(0.0, 0.0, record.unit or "1", word="none", text=node.data)
    try:
        amount = amounts.read(node.data, record.unit or "1")
    except QuantityError as error:
        node.problem(error.message, error.remedy)
        return None, None
    if amount.word is not None and not counted:
        node.problem(
            say("'{data}' is no number", data=node.data),
            say("Write a number with its unit, such as {example}, or unknown.", example=example),
        )
        return None, None
    for number in (amount.low, amount.high):
        if number is not None and record.possible and not record.possible[0] <= number <= record.possible[1]:
            low, high = record.possible
            unit = "" if record.unit == "1" else f" {record.unit}"
            node.problem(
                say(
                    "{label} {data} cannot be; it lies from {low:g} to {high:g}{unit}",
                    label=record.label,
                    data=node.data,
                    low=low,
                    high=high,
                    unit=unit,
                ),
                _slip(number, low, high),
            )
            return None, None
    if amount.exact:
        return amount.best, None
    return amount.best, amount


def _slip(number: float, low: float, high: float) -> str:
    for factor in (10, 100):
        if low <= number / factor <= high:
            return say("Was it {number:g}?", number=number / factor)
    return say("Check the figure and its unit.")


def check_dates(lot: Lot, records: Mapping[str, Record], issues: list[Issue]) -> None:
    """Days must follow the life of the lot; a day after the last cupping, or still to come, is told as a warning."""
    days = {value.record: value for value in lot.records if isinstance(value.value, datetime.date)}
    for value in days.values():
        after = records[value.record].comes_before
        other = days.get(after or "")
        assert isinstance(value.value, datetime.date)
        if other is not None and isinstance(other.value, datetime.date) and value.value > other.value:
            message = say(
                "{label} ({value}) is later than {label_2} ({value_2})",
                label=records[value.record].label,
                value=value.value,
                label_2=records[other.record].label,
                value_2=other.value,
            )
            issues.append(
                Issue(value.place, message, say("Check the two days, and the order of day and month."))
            )
    cupped = [cupping.on for cupping in lot.cuppings if cupping.on]
    for value in days.values():
        if cupped and isinstance(value.value, datetime.date) and value.value > max(cupped):
            message = say(
                "{label} ({value}) is after the last cupping ({cupped})",
                label=records[value.record].label,
                value=value.value,
                cupped=max(cupped),
            )
            issues.append(
                Issue(value.place, message, say("Check the day; it is used as it stands."), "warning")
            )
    tomorrow = datetime.date.today() + datetime.timedelta(days=1)
    named = [(str(value.value), value.value, value.place) for value in days.values()]
    named += [
        (say("cupped {on}", on=cupping.on), cupping.on, cupping.place)
        for cupping in lot.cuppings
        if cupping.on
    ]
    for text, when, place in named:
        if isinstance(when, datetime.date) and when > tomorrow:
            issues.append(
                Issue(
                    place,
                    say("{text} is still to come", text=text),
                    say("Check the year; it is used as it stands."),
                    "warning",
                )
            )
