"""Keeping a traced lot: once, beside another sheet of its lot only where somebody says so, and with the answers it takes over."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tracer.casebook.answers import still_standing, with_answers
from tracer.casebook.cases import Received, add_received_to, insert_case, whole
from tracer.casebook.file import opened
from tracer.issues import InputError
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.report.document import Report
from tracer.wording.sentence import Own, joined, say

_STANDING = (
    "SELECT id, sheet FROM lot_case c WHERE lot = ? AND example = ? AND NOT EXISTS "
    "(SELECT 1 FROM lot_case r WHERE r.replaces = c.id) AND id NOT IN (SELECT lot_case FROM cast_off) ORDER BY id DESC"
)
"""The cases of a lot that none corrects, the newest first."""


@dataclass(frozen=True)
class ToKeep:
    """A traced lot with its sheet and the files beside it."""

    sheet: str
    files: Mapping[str, bytes]
    lot: Lot
    report: Report


@dataclass(frozen=True, slots=True)
class Earlier:
    """What is kept of a lot already."""

    same: int | None = None
    """The case that holds this very sheet with these very files."""
    other: int | None = None
    """The newest case that holds another sheet of the lot."""

    def kept_already(self, replaces: int | None = None) -> int | None:
        """The case that holds it, so that nothing is kept; a kept sheet may still be made the correction of another case."""
        return self.same if replaces in (None, self.same) else None


@dataclass(frozen=True, slots=True)
class Carried:
    """The answers that a correction takes over from the case it replaces, and the lot with them."""

    of_case: int
    answers: tuple[Received, ...]
    lot: Lot

    def told(self) -> str:
        """In one line."""
        answers = joined((Own(f"{one.enquiry} = {one.answer}") for one in self.answers), "; ")
        return say("answers carried over from case {number}: {answers}", number=self.of_case, answers=answers)


def earlier(path: Path, lot: str, sheet: str, files: Mapping[str, bytes], example: bool = False) -> Earlier:
    """What is kept of this lot already; cases that were corrected since, and examples put away, are passed over."""
    with opened(path) as book:
        return _earlier(book, lot, sheet, files, example)


def _earlier(
    book: sqlite3.Connection, lot: str, sheet: str, files: Mapping[str, bytes], example: bool
) -> Earlier:
    found = book.execute(_STANDING, (lot, int(example))).fetchall()
    here = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    alike = [number for number, kept in found if kept == sheet and _files_of(book, number) == here]
    other = [number for number, _ in found if number not in alike]
    return Earlier(next(iter(alike), None), next(iter(other), None))


def _files_of(book: sqlite3.Connection, number: int) -> dict[str, str]:
    return dict(book.execute("SELECT name, sha256 FROM attachment WHERE lot_case = ?", (number,)))


def beside(path: Path, number: int) -> tuple[int, ...]:
    """The other cases of the lot of a case that count beside it, the newest first."""
    with opened(path) as book:
        row = book.execute("SELECT lot, example FROM lot_case WHERE id = ?", (number,)).fetchone()
        found = book.execute(_STANDING, row).fetchall() if row else []
    return tuple(other for other, _ in found if other != number)


def carried(path: Path, lot: Lot, base: KnowledgeBase, replaces: int) -> Carried:
    """The answers that stand on the case to be replaced. Raises InputError where there is none of this number."""
    _is_there(path, replaces)
    standing = still_standing(whole(path, replaces).received)
    return Carried(replaces, standing, with_answers(lot, standing, base))


def _is_there(path: Path, number: int) -> None:
    with opened(path) as book:
        if book.execute("SELECT 1 FROM lot_case WHERE id = ?", (number,)).fetchone() is None:
            message = say("no case {replaces} is kept", replaces=number)
            remedy = say("See the numbers with: tracer cases")
            raise InputError.of("--replaces", message, remedy)


def refuse_changed(lot: Lot, before: Earlier, replaces: int | None, another: bool) -> None:
    """Raise InputError for another sheet of a lot that is kept, unless it is said how the two stand to each other."""
    if before.other is None or replaces is not None or another:
        return
    raise InputError.of(lot.file, *changed_told(lot, before.other))


def changed_told(lot: Lot, other: int) -> tuple[str, str]:
    """That a lot is kept with another sheet, and what to do."""
    return (
        say("lot {lot} is kept already with another sheet, as case {number}", lot=Own(lot.lot), number=other),
        say(
            "If this one corrects it: --keep --replaces {number}. If it stands beside it, as of another sample: --keep --another.",
            number=other,
        ),
    )


@dataclass(frozen=True, slots=True)
class KeptOf:
    """What became of a lot: kept as a case, or kept already."""

    case: int
    new: bool
    changed: bool = False
    """True where `case` holds another sheet of the lot, and nothing was kept."""


def keep(
    path: Path,
    one: ToKeep,
    base: KnowledgeBase,
    by: str,
    takes_over: Carried | None = None,
    after: Report | None = None,
    example: bool = False,
) -> KeptOf:
    """Keep a traced lot, but not twice; on disk when this returns. A correction takes over answers, with the report `after` them."""
    replaces = takes_over.of_case if takes_over else None
    with opened(path, write=True) as book:
        already = _earlier(book, one.lot.lot, one.sheet, one.files, example).kept_already(replaces)
        if already is not None:
            return KeptOf(already, False)
        number = insert_case(book, one.sheet, one.files, one.lot, one.report, base, by, replaces, example)
        for received in takes_over.answers if takes_over else ():
            note = say("{note} (of case {replaces})", note=received.note, replaces=replaces).strip()
            add_received_to(
                book, number, received.enquiry, received.answer, received.by, note, after or one.report
            )
    return KeptOf(number, True)


def keep_all(
    path: Path, found: Sequence[ToKeep], base: KnowledgeBase, by: str, another: bool = False
) -> tuple[KeptOf, ...]:
    """Keep what is new of them in one go. A sheet that is kept already is not kept twice; another sheet of a lot that is
    kept is passed over, unless `another` says that it stands beside it. Two sheets of one lot among them are both kept.
    """
    with opened(path, write=True) as book:
        before = [_earlier(book, one.lot.lot, one.sheet, one.files, False) for one in found]
        return tuple(_one(book, one, was, base, by, another) for one, was in zip(found, before, strict=True))


def _one(
    book: sqlite3.Connection, one: ToKeep, was: Earlier, base: KnowledgeBase, by: str, another: bool
) -> KeptOf:
    if was.same is not None:
        return KeptOf(was.same, False)
    if was.other is not None and not another:
        return KeptOf(was.other, False, changed=True)
    return KeptOf(insert_case(book, one.sheet, one.files, one.lot, one.report, base, by), True)
