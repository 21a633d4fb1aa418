"""Tracing a kept case again: as it was, or with the answers received since, and what moved."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any, TypeVar, cast

from tracer.casebook.answers import still_standing, with_answers
from tracer.casebook.cases import TAKEN_BACK, Received, Whole
from tracer.casebook.entries import answer_before
from tracer.casebook.file import opened
from tracer.issues import InputError, Issue, Place, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.read import read_lot
from tracer.report.document import Report
from tracer.tracing import trace
from tracer.wording.sentence import say

T = TypeVar("T")


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
                message = say("a kept file lies outside its folder")
                raise InputError.of(file, message, say("The casebook was tampered with."))
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        path = folder / "lot.yaml"
        path.write_text(sheet, encoding="utf-8")
        lot, issues = read_lot(path, base)
    return _relative(lot, f"{folder}{os.sep}"), _relative(issues, f"{folder}{os.sep}")


def _relative(value: T, folder: str) -> T:
    """The same with every place in it named as if the folder were the one we are in."""
    found: object = value
    if isinstance(value, Place):
        found = replace(value, file=value.file.removeprefix(folder))
    elif isinstance(value, (tuple, list)):
        found = type(value)(_relative(item, folder) for item in value)
    elif is_dataclass(value) and not isinstance(value, type):
        own = {one.name: getattr(value, one.name) for one in fields(value) if one.init}
        found = replace(value, **{name: _relative(item, folder) for name, item in own.items()})
    return cast(T, found)


def lot_of(kept: Whole, base: KnowledgeBase) -> Lot:
    """The lot of a kept case. Raises InputError where its sheet cannot be read any more."""
    lot, issues = read_kept(kept, base)
    if lot is None or has_errors(issues):
        raise InputError(issues)
    return lot


def trace_again(kept: Whole, base: KnowledgeBase, more: Sequence[Received] = ()) -> Report:
    """The report of a kept case with all answers received and some more."""
    return trace(with_answers(lot_of(kept, base), [*kept.received, *more], base), base)


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer received and what it moved, by the rankings kept with it."""

    received: Received
    moved: tuple[Moved, ...]
    stands: bool
    """False where it was taken back, or answered anew."""
    before: Received | None
    """The answer to the same question that it took the place of."""


def answered(path: Path, kept: Whole) -> tuple[Answered, ...]:
    """Every answer received, in order, with what moved at it."""
    with opened(path) as book:
        rows = book.execute(
            "SELECT report FROM received WHERE lot_case = ? ORDER BY id", (kept.case.id,)
        ).fetchall()
    before, found, standing = _listed(kept.report), [], still_standing(kept.received)
    for place, (one, (packed,)) in enumerate(zip(kept.received, rows, strict=True)):
        after = _listed(json.loads(packed))
        stands = any(one is other for other in standing)
        replaced = answer_before(kept.received[:place], one.enquiry) if one.answer != TAKEN_BACK else None
        found.append(Answered(one, _moved(before, after), stands, replaced))
        before = after
    return tuple(found)


def _listed(report: Mapping[str, Any]) -> dict[str, tuple[str, str, float]]:
    return {s["fault"]: (s["label"], s["stage"], s["probability"]) for s in report["sources"]}


def moved(before: Report, after: Report, least: float = 0.005) -> tuple[Moved, ...]:
    """Sources whose probability moved, those that moved most first; None where one is not listed."""
    old, new = (
        {line.fault: (line.label, line.stage, line.probability) for line in report.sources}
        for report in (before, after)
    )
    return _moved(old, new, least)


def _moved(
    old: Mapping[str, tuple[str, str, float]], new: Mapping[str, tuple[str, str, float]], least: float = 0.005
) -> tuple[Moved, ...]:
    found = []
    for fault in dict.fromkeys((*new, *old)):
        label, stage, _ = new.get(fault) or old[fault]
        one = old[fault][2] if fault in old else None
        other = new[fault][2] if fault in new else None
        if abs((other or 0.0) - (one or 0.0)) >= least:
            found.append(Moved(fault, label, stage, one, other))
    return tuple(sorted(found, key=lambda m: -abs((m.after or 0.0) - (m.before or 0.0))))
