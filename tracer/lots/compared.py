"""What a sheet compares the lot with: in a line of its own, in a row that says the same, or in the answer to an enquiry."""

from __future__ import annotations

from tracer.issues import Place
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Comparison, Lot

Row = tuple[str, object]
"""A record and its value."""


def comparisons_of(lot: Lot, base: KnowledgeBase) -> tuple[Comparison, ...]:
    """What the sheet compares the lot with, each once.

    Two lines that say the opposite of the same coffee are a contradiction, and neither counts.
    """
    settings = base.settings
    found = list(lot.comparisons)
    told = {one.with_ for one in found}
    rows = _rows(lot, base)
    for row in settings.stands_for:
        said, where = row.comparison, rows.get((row.record, row.value))
        if said is not None and where is not None and said.with_ not in told:
            told.add(said.with_)
            found.append(Comparison(said.with_, said.shows, where[1], None, None, where[0]))
    shown: dict[tuple[str, str | None], set[str]] = {}
    for one in found:
        shown.setdefault((one.with_, one.of), set()).add(one.shows)
    return tuple(
        {
            (one.with_, one.of): one
            for one in found
            if one.with_ in settings.chain.shares
            and one.shows in ("clean", "same")
            and len(shown[one.with_, one.of]) == 1
        }.values()
    )


def _rows(lot: Lot, base: KnowledgeBase) -> dict[Row, tuple[Place, str | None]]:
    """Rows of the sheet, by record and value: filled in, said by a pattern, or by an answer where the row is empty."""
    filled = {record.record for record in lot.records if record.value is not None}
    rows: dict[Row, tuple[Place, str | None]] = {}
    for name, answer in lot.answers:
        for record, value in base.enquiries[name].row.get(answer, {}).items():
            if record not in filled:
                rows[record, value] = (Place(lot.file), None)
    for one in lot.records:
        rows[one.record, one.value] = (one.place, None)
    for pattern in lot.pattern:
        for row in base.settings.stands_for:
            if row.pattern and (row.pattern.level, row.pattern.share) == (pattern.level, pattern.share):
                rows[row.record, row.value] = (pattern.place, pattern.of)
    return rows


def rows_compared(lot: Lot, base: KnowledgeBase) -> set[Row]:
    """Rows, by record and value, that count as a comparison."""
    weighed = {(one.with_, one.shows) for one in comparisons_of(lot, base)}
    return {
        (row.record, row.value)
        for row in base.settings.stands_for
        if row.comparison is not None and (row.comparison.with_, row.comparison.shows) in weighed
    }


def answers_compared(lot: Lot, base: KnowledgeBase) -> set[str]:
    """Enquiries whose answer on the sheet counts as a comparison, and so says nothing besides."""
    compared = rows_compared(lot, base)
    return {
        name
        for name, answer in lot.answers
        if any(row in compared for row in base.enquiries[name].row.get(answer, {}).items())
    }
