"""Where a row stands on the sheet, and what is told of one that stands elsewhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracer.knowledge.entries import Record
from tracer.lots.node import Node
from tracer.names import alike, did_you_mean
from tracer.wording.sentence import Own, Sentence, joined, say, to_type

SECTIONS = ("history", "green", "bench")
"""Parts of the sheet whose rows are records."""
ALIKE = 3
"""Rows called alike that are named."""


def stages_of(records: Mapping[str, Record]) -> tuple[str, ...]:
    """The stages that have rows."""
    return tuple(dict.fromkeys(record.stage for record in records.values() if record.stage))


def placed(record: Record, records: Mapping[str, Record]) -> tuple[str, str | None]:
    """Section and stage where a record stands on the sheet.

    A span between two days may be given directly: it stands with the second day.
    """
    if record.between is not None:
        last = records.get(record.between[1])
        if last is not None and last.section != "lot":
            return last.section, last.stage
        return "bench", None
    return record.section, record.stage


def misplaced(
    node: Node, name: str, under: str, stages: Sequence[str], records: Mapping[str, Record]
) -> bool:
    """True for a row, a stage or a section that does not belong `under` this, or at the top of the sheet; it is told where it does."""
    mend = _mend(name, stages, records)
    if mend is None:
        return False
    message = (
        say("'{name}' does not belong under {value}", name=name, value=Own(under))
        if under
        else say("'{name}' does not stand by itself at the top of the sheet", name=name)
    )
    node.problem(message, mend)
    return True


def _mend(name: str, stages: Sequence[str], records: Mapping[str, Record]) -> Sentence | None:
    if name in records and (place := _place(records[name], records)):
        return say("Move it under {place}.", place=Own(place))
    if name in stages:
        return say("Move it under {place}.", place=Own("history"))
    if name in SECTIONS:
        return say("It stands by itself, with no blanks before it.")
    return None


def _place(record: Record, records: Mapping[str, Record]) -> str:
    """Section and stage as they are written on the sheet; nothing for a row of the lot itself."""
    section, stage = placed(record, records)
    return f"history: {stage}" if section == "history" else section if section in SECTIONS else ""


def no_stage(node: Node, name: str, stages: Sequence[str], records: Mapping[str, Record]) -> None:
    """Tell of what stands under history itself and is none of its stages: where it belongs, or which rows are called alike."""
    if misplaced(node, name, "history", stages, records):
        return
    rows = {one.id: place for one in records.values() if (place := _place(one, records))}
    near = alike(name, rows, ALIKE)
    otherwise = (
        say(
            "Rows called alike: {rows}.",
            rows=joined(say("'{row}' under {place}", row=row, place=Own(rows[row])) for row in near),
        )
        if near
        else say("Under history stand the stages, and the rows under them: {stages}.", stages=to_type(stages))
    )
    message = say("{what} has no field '{name}'", what="history", name=name)
    node.problem(message, did_you_mean(name, stages, otherwise))
