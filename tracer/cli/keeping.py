"""`tracer trace LOT --keep`: one lot kept, once, with the answers that a correction takes over."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tracer.casebook import keeping
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.attached import beside
from tracer.lots.lot import Lot
from tracer.names import printable
from tracer.report.document import Report
from tracer.wording.language import tell


def already_told(lot: str, number: int) -> str:
    """That nothing was kept, since this very sheet is kept."""
    return tell(
        "lot {lot}: the same sheet is kept already as case {number}", lot=printable(lot), number=number
    )


@dataclass(frozen=True)
class Wanted:
    """A lot that is to be kept, with what the casebook holds of it so far."""

    book: Path
    sheet: str
    source: Path
    lot: Lot
    carried: keeping.Carried | None


def wanted(
    book: Path, source: Path, lot: Lot, base: KnowledgeBase, replaces: int | None, another: bool
) -> Wanted:
    """What is to be kept. Raises InputError where the case to replace is not there, or it is not said what a changed sheet is."""
    sheet = source.read_text(encoding="utf-8-sig")
    carried = keeping.carried(book, lot, base, replaces) if replaces is not None else None
    before = keeping.earlier(book, lot.lot, sheet, beside(source))
    if before.kept_already(replaces) is None:
        keeping.refuse_changed(lot, before, replaces, another)
    return Wanted(book, sheet, source, lot, carried)


def traced(one: Wanted, trace: Callable[[Lot], Report]) -> tuple[Report, Report | None]:
    """The report of the sheet, and the one after the answers that are carried over, if there are any."""
    report = trace(one.lot)
    return report, trace(one.carried.lot) if one.carried and one.carried.answers else None


def keep(one: Wanted, report: Report, after: Report | None, base: KnowledgeBase, by: str) -> None:
    """Keep it and say under which number, or that this very sheet is kept already."""
    to_keep = keeping.ToKeep(one.sheet, beside(one.source), one.lot, report)
    kept = keeping.keep(one.book, to_keep, base, by, one.carried, after)
    if not kept.new:
        print(already_told(one.lot.lot, kept.case), file=sys.stderr)
        return
    print(tell("kept as case {number} in {book}", number=kept.case, book=one.book), file=sys.stderr)
    if one.carried and one.carried.answers:
        print(tell(one.carried.told()), file=sys.stderr)
