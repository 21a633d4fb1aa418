"""Keeping a sheet from the page: read, traced and kept once; a changed sheet of a kept lot only once somebody says what it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from tracer.casebook import keeping
from tracer.casebook.again import read_with_files
from tracer.casebook.cases import whole
from tracer.issues import InputError, has_errors
from tracer.lots.lot import Lot
from tracer.page.asking import Asked, Choice
from tracer.page.render import Form
from tracer.page.site import Site
from tracer.wording.sentence import Own, say

STANDS, REPLACES, ANOTHER = "stands", "replaces", "another"
"""The field of a form that says how a sheet stands to a kept one, and what it may say, each with the number of that case."""


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """The case of a sheet that was sent in."""

    number: int
    new: bool
    """False where this very sheet was kept already."""

    @property
    def link(self) -> str:
        """Its page."""
        return f"/lot/{self.number}" if self.new else f"/lot/{self.number}?already=1"


def keep_sheet(
    site: Site,
    sheet: str,
    attached: Mapping[str, bytes],
    by: str = "",
    replaces: int | None = None,
    example: bool = False,
    stands: Collection[str] = (),
) -> KeptSheet:
    """Read, trace and keep a sheet with its files; a correction takes over files and standing answers of the case it replaces.

    Where this very sheet is kept already, its case, and nothing is kept. Raises InputError with every problem of the sheet, and
    Asked where another sheet of the lot is kept and `stands` does not say how the two stand to each other; nothing is kept then.
    """
    old = whole(site.book, replaces) if replaces is not None else None
    files = {**(old.files if old else {}), **attached}
    lot, issues = read_with_files(sheet, files, site.base)
    if lot is None or has_errors(issues):
        raise InputError(issues)
    example = example or (old is not None and old.case.example)
    before = keeping.earlier(site.book, lot.lot, sheet, files, example)
    already = before.kept_already(replaces)
    if already is not None:
        return KeptSheet(already, False)
    if replaces is None and before.other is not None and not example:
        if f"{REPLACES}:{before.other}" in stands:
            return keep_sheet(site, sheet, attached, by, before.other)
        if not _is_said(before.other, stands):
            raise _how_it_stands(lot, before.other)
    report = site.trace(lot)
    carried = keeping.carried(site.book, lot, site.base, replaces) if replaces is not None else None
    after = site.trace(carried.lot) if carried and carried.answers else None
    one = keeping.ToKeep(sheet, files, lot, report)
    kept = keeping.keep(site.book, one, site.base, by, carried, after, example)
    if kept.new:
        site.remember(kept.case, lot, issues, report)
    return KeptSheet(kept.case, kept.new)


def ask_of_all(site: Site, sheets: Mapping[str, str], stands: Collection[str]) -> None:
    """Raise one Asked for all sheets of which it is not said how they stand to a kept one; the problems of a sheet with its name."""
    asked = []
    for name, sheet in sheets.items():
        lot, issues = read_with_files(sheet, {}, site.base)
        if lot is None or has_errors(issues):
            raise InputError([issue.called(name) for issue in issues])
        before = keeping.earlier(site.book, lot.lot, sheet, {}, False)
        if before.kept_already(None) is None and before.other and not _is_said(before.other, stands):
            asked.append(_how_it_stands(lot, before.other))
    if len(asked) == 1:
        raise asked[0]
    if asked:
        told = say("Each is kept with another sheet. Tick for each what the new one is.")
        raise Asked(say("{number} lots are kept already", number=len(asked)), (told,), STANDS, (), 0, asked)


def _is_said(other: int, stands: Collection[str]) -> bool:
    """True where a form says how its sheet stands to that case."""
    return bool({f"{REPLACES}:{other}", f"{ANOTHER}:{other}"} & {*stands})


def stands_of(form: Form) -> list[str]:
    """What a form says of how its sheet stands to kept ones: by the choice taken, or ticked for each."""
    ticked = [name for name in form.fields if name.startswith(f"{STANDS}-")]
    return [value for name in (STANDS, *ticked) for value in form.all(name)]


def _how_it_stands(lot: Lot, other: int) -> Asked:
    """The same refusal as on the command line, with its two ways on as choices."""
    choices = (
        Choice(
            f"{REPLACES}:{other}",
            say("It corrects case {number}", number=other),
            say("The new case takes its place and takes over its answers; the old one stays to be read."),
        ),
        Choice(
            f"{ANOTHER}:{other}",
            say("It is another cupping"),
            say("Of another sample or another day: both count, side by side."),
        ),
    )
    told = say("Lot {lot} is kept with another sheet, as case {number}.", lot=Own(lot.lot), number=other)
    return Asked(say("This lot is kept already"), (told, say("What is this sheet?")), STANDS, choices, other)
