"""A green grading sheet: defects by the names graders use, counted in 300 g, 350 g or any weight."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from tracer.issues import Issue, Place
from tracer.knowledge.entries import Record
from tracer.lots.histories import beside
from tracer.lots.lot import RecordValue
from tracer.lots.node import Node
from tracer.names import did_you_mean, fold, printable
from tracer.quantity import QuantityError, read_quantity
from tracer.spreadsheets.rows import table_file
from tracer.wording.sentence import say

PER = 300.0
"""Records of the knowledge count per this weight in g (ISO 10470; resolutions of the trade count so too)."""


def read_grading(node: Node, folder: Path | None, records: Mapping[str, Record]) -> list[RecordValue]:
    """Counts of a grading sheet under `grading:`, brought to 300 g; several names of one defect add up."""
    if node.data is None or not node.is_map("grading"):
        return []
    node.only(("weight", "counts", "table"), "grading")
    weight = _weight(node.child("weight"))
    names = {
        fold(n): r
        for r in records.values()
        if r.called
        for n in (r.id, r.label, r.id.replace("_", " "), *r.called)
    }
    totals: dict[str, tuple[float, str, Place]] = {}
    for written, count, place in _counts(node, folder):
        record = names.get(fold(written)) or names.get(fold(written).removesuffix("s"))
        if record is None:
            remedy = did_you_mean(fold(written), names, say("It is kept on the sheet but no rule reads it."))
            node.issues.append(
                Issue(
                    place,
                    say("'{written}' is no defect that rules read", written=printable(written)),
                    remedy,
                    "warning",
                )
            )
            continue
        number = _number(count)
        if number is None:
            node.issues.append(
                Issue(
                    place,
                    say("'{count}' is no count", count=printable(count)),
                    say("Write a whole number of beans."),
                )
            )
            continue
        before = totals.get(record.id, (0.0, "", place))
        totals[record.id] = (
            before[0] + number * PER / weight,
            f"{before[1]} {written} {count}".strip(),
            place,
        )
    return [
        RecordValue(name, round(value, 3), say("{words} in {weight:g} g", words=words, weight=weight), place)
        for name, (value, words, place) in totals.items()
    ]


def _weight(node: Node) -> float:
    if node.data is None:
        node.problem(
            say("the grading does not say the weight it was counted in"), say("Add weight: 300 g, or 350 g.")
        )
        return PER
    try:
        grams = read_quantity(str(node.data), "g")
    except QuantityError as error:
        node.problem(error.message, error.remedy)
        return PER
    if not 50 <= grams <= 5000:
        node.problem(
            say("a grading sample of {grams:g} g cannot be", grams=grams), say("It is usually 300 or 350 g.")
        )
        return PER
    return grams


def _number(text: str) -> float | None:
    bare = text.strip().replace(",", ".")
    try:
        number = float(bare)
    except ValueError:
        return None
    return number if 0 <= number <= 30000 else None


def _counts(node: Node, folder: Path | None) -> Iterator[tuple[str, str, Place]]:
    counts = node.child("counts")
    if counts.data is not None and counts.is_map("counts"):
        for name in counts.names():
            child = counts.child(name)
            yield str(name), str(child.data), child.place
    table = node.child("table")
    if table.data is None:
        return
    path = beside(table, folder, say("a grading table"))
    if path is None:
        return
    rows, issues = table_file(path)
    table.issues.extend(issues)
    for number, cells in rows:
        if len(cells) < 2 or (number == rows[0][0] and _number(cells[1]) is None):
            continue
        yield cells[0], cells[1], Place(str(path), number)
