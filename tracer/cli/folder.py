"""`tracer trace FOLDER`: one readable table of many lots, and all of them kept, or none."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.text import Text

from tracer.batch.many import Brief, Ranked
from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.names import printable
from tracer.render.columns import columns
from tracer.report.verdict import INSUFFICIENT_EVIDENCE, NAMED, NO_DEFECT_SUPPORTED, in_a_table
from tracer.wording.language import tell

if TYPE_CHECKING:
    from tracer.batch.archive import Piece
    from tracer.casebook.keeping import KeptOf, ToKeep
    from tracer.lots.lot import Lot
    from tracer.report.document import Report

ROWS = 200
"""Rows of the table; the lots that need nothing are counted and not listed."""


def table(briefs: Sequence[Brief], unread: int) -> RenderableType:
    """Lots to stop first, then those to hold, then those that need something; the others in one line."""
    told = sorted(briefs, key=_order)
    listed = [one for one in told if one.stop or one.hold or one.next or one.open_words]
    parts: list[RenderableType] = []
    if listed:
        made = columns("", "lot", "exporter", "first source", "", "next", "claim day")
        for one in listed[:ROWS]:
            made.add_row(*_cells(tell(one)))
        parts.append(made)
    if len(listed) > ROWS:
        parts.append(
            Text(tell("and {count} more: see --out FILE.csv", count=len(listed) - ROWS), style="dim")
        )
    rest = len(told) - len(listed)
    lines = [
        tell("1 lot" if len(told) == 1 else "{lots} lots", lots=len(told)),
        tell("{count} to stop", count=sum(bool(one.stop) for one in told)),
        tell("{count} to hold", count=sum(bool(one.hold) for one in told)),
        tell("{count} with nothing to trace", count=rest),
        *([tell("{count} could not be read, see above", count=unread)] if unread else []),
    ]
    parts.append(Text("; ".join(lines), style="bold"))
    return Group(*parts)


def _order(one: Brief) -> tuple[bool, bool, bool, str, str]:
    clear = one.verdict not in (NO_DEFECT_SUPPORTED, INSUFFICIENT_EVIDENCE)
    return not one.stop, not one.hold, not clear, one.claim_day or "9", one.lot


def _cells(one: Brief) -> tuple[Text, ...]:
    mark, style = ("STOP", "bold red") if one.stop else ("HOLD", "yellow") if one.hold else ("", "")
    first = one.sources[0] if one.sources else None
    cells = (
        one.lot,
        one.exporter or "",
        tell(in_a_table(one.verdict, first.label if first else None)),
        f"{first.probability:.2f}" if first and one.verdict in NAMED else "",
        one.next,
        one.claim_day or "",
    )
    return Text(tell(mark), style=style), *(Text(printable(cell)) for cell in cells)


def keep_folder(
    path: Path,
    base: KnowledgeBase,
    houses: tuple[Path, ...],
    jobs: int,
    without: tuple[str, ...],
    casebook: Path | None,
    by: str,
    another: bool,
) -> tuple[list[Brief], int]:
    """Trace every lot in full and keep what is new; the lots in brief, and how many were passed over because another sheet of
    them is kept. Raises InputError, with nothing kept, where one cannot be read.
    """
    from tracer.casebook.keeping import keep_all
    from tracer.cli import archive, inputs

    found: list[ToKeep] = []
    bad: list[Issue] = []
    for _, (some, issues) in archive.in_full(
        path, base, houses, jobs, without, partial(_to_keep, casebook=casebook)
    ):
        found += some
        bad += issues
    if bad:
        message = tell(
            "none of the lots is kept: {bad} of {of} cannot be read",
            bad=len({one.place.file for one in bad}),
            of=len(found) + len({(one.place.file, one.place.line) for one in bad}),
        )
        mend = tell("Mend the sheets named here, or move them out, and run it again.")
        raise InputError([*bad, Issue(Place(str(path)), message, mend)])
    book = inputs.book_path(casebook)
    passed_over = new_ones = 0
    for one, kept in zip(found, keep_all(book, found, base, by, another), strict=True):
        passed_over += kept.changed
        new_ones += kept.new
        print(_became(one.lot, kept), file=sys.stderr)
    print(tell("{count} lots kept in {book}", count=new_ones, book=book), file=sys.stderr)
    return [_brief(one.lot, one.report, base) for one in found], passed_over


def _became(lot: Lot, kept: KeptOf) -> str | Issue:
    from tracer.casebook.keeping import changed_told
    from tracer.cli.keeping import already_told

    if kept.changed:
        return Issue(Place(lot.file), *changed_told(lot, kept.case))
    if not kept.new:
        return already_told(lot.lot, kept.case)
    return tell("lot {lot}: kept as case {number}", lot=printable(lot.lot), number=kept.case)


def _to_keep(chunk: Sequence[Piece], casebook: Path | None) -> tuple[list[ToKeep], list[Issue]]:
    """In a worker: some pieces, traced in full and ready to be kept."""
    from tracer.batch.archive import sheet_of
    from tracer.casebook.keeping import ToKeep
    from tracer.cli import archive

    base, _ = archive.worker()
    found: list[ToKeep] = []
    bad: list[Issue] = []
    for piece, lot, report, issues in archive.traced(chunk, casebook):
        bad += [issue for issue in issues if issue.level == "error"]
        if lot is not None and report is not None:
            found.append(ToKeep(*sheet_of(piece, base), lot, report))
    return found, bad


def _brief(lot: Lot, report: Report, base: KnowledgeBase) -> Brief:
    return Brief(
        report.lot,
        report.verdict,
        tuple(note.label for note in report.notes),
        tuple(Ranked(one.fault, one.label, one.stage, one.probability) for one in report.sources[:3]),
        tuple(Ranked(one.stage, one.label, one.stage, one.probability) for one in report.stages[:3]),
        report.none_of_these,
        len(report.unmatched_words),
        tuple(one.because for one in report.cautions if one.level == "stop"),
        tuple(one.because for one in report.cautions if one.level == "hold"),
        lot.exporter,
        report.deadlines[0].last_day if report.deadlines else None,
        report.next[0].text if report.next else "",
    )
