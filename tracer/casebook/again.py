"""Tracing a kept case again: as it was, or with the answers received since, and what moved."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tracer.casebook.cases import Received, Whole, with_answers
from tracer.issues import InputError, Issue, Place, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.read import read_lot
from tracer.report.document import Report
from tracer.tracing import trace


@dataclass(frozen=True, slots=True)
class Moved:
    """A source before and after."""

    fault: str
    label: str
    stage: str
    before: float | None
    after: float | None


def lot_of(kept: Whole, base: KnowledgeBase) -> Lot:
    """The lot of a kept case, read from its sheet and the files kept with it."""
    with tempfile.TemporaryDirectory() as folder:
        for name, content in kept.files.items():
            target = (Path(folder) / name).resolve()
            if not target.is_relative_to(Path(folder).resolve()):
                raise InputError(
                    [
                        Issue(
                            Place(name),
                            "a kept file lies outside its folder",
                            "The casebook was tampered with.",
                        )
                    ]
                )
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        sheet = Path(folder) / "lot.yaml"
        sheet.write_text(kept.sheet, encoding="utf-8")
        lot, issues = read_lot(sheet, base)
    if lot is None or has_errors(issues):
        raise InputError(issues)
    return lot


def trace_again(kept: Whole, base: KnowledgeBase, more: Sequence[Received] = ()) -> Report:
    """The report of a kept case with all answers received and some more."""
    return trace(with_answers(lot_of(kept, base), [*kept.received, *more]), base)


def moved(before: Report, after: Report, least: float = 0.005) -> tuple[Moved, ...]:
    """Sources whose probability moved, those that moved most first; None where one is not listed."""
    found = []
    old = {line.fault: line for line in before.sources}
    new = {line.fault: line for line in after.sources}
    for fault in dict.fromkeys((*new, *old)):
        line = new.get(fault) or old[fault]
        one = old[fault].probability if fault in old else None
        other = new[fault].probability if fault in new else None
        if abs((other or 0.0) - (one or 0.0)) >= least:
            found.append(Moved(fault, line.label, line.stage, one, other))
    return tuple(sorted(found, key=lambda m: -abs((m.after or 0.0) - (m.before or 0.0))))
