"""Tracing a kept case again: as it was, or with the answers received since, and what moved."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
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


def read_kept(kept: Whole, base: KnowledgeBase) -> tuple[Lot | None, list[Issue]]:
    """The lot of a kept case with every problem of its sheet, read from the sheet and the files kept with it."""
    return read_with_files(kept.sheet, kept.files, base)


def read_with_files(
    sheet: str, files: Mapping[str, bytes], base: KnowledgeBase
) -> tuple[Lot | None, list[Issue]]:
    """Read a sheet as if the files lay beside it. Places name the files alone. Raises InputError for a file outside."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        for file, content in files.items():
            target = (folder / file).resolve()
            if not target.is_relative_to(folder) or target == folder:
                message = "a kept file lies outside its folder"
                raise InputError([Issue(Place(file), message, "The casebook was tampered with.")])
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        path = folder / "lot.yaml"
        path.write_text(sheet, encoding="utf-8")
        lot, issues = read_lot(path, base)
    return lot, [_placed(issue, folder) for issue in issues]


def _placed(issue: Issue, folder: Path) -> Issue:
    return replace(issue, place=replace(issue.place, file=issue.place.file.removeprefix(f"{folder}{os.sep}")))


def lot_of(kept: Whole, base: KnowledgeBase) -> Lot:
    """The lot of a kept case. Raises InputError where its sheet cannot be read any more."""
    lot, issues = read_kept(kept, base)
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
