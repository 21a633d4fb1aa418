"""The rows of a season from the casebook."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from pathlib import Path

from tracer.casebook.again import read_with_files
from tracer.casebook.cases import NONE, NOT_FOUND
from tracer.casebook.standing import StandingCase, standing_cases
from tracer.causes.contacts import contact_stage
from tracer.issues import Issue, Place, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.read import parse_lot
from tracer.season.lots import SeasonLot
from tracer.season.row import row_of
from tracer.wording.sentence import say
from tracer.words.kept import vocabulary_of


def of_casebook(path: Path, base: KnowledgeBase) -> tuple[list[SeasonLot], list[Issue]]:
    """A row of every case as it stands, from the report of its last trace; and what could not be read of them."""
    words = vocabulary_of(base)
    rows: list[SeasonLot] = []
    bad: list[Issue] = []
    for case in standing_cases(path):
        where = say("case {id}", id=case.id)
        read = (
            read_with_files(case.sheet, case.files, base)
            if case.files
            else parse_lot(case.sheet, where, base)
        )
        lot, issues = read
        if lot is None or has_errors(issues):
            message = say("the sheet of case {id} cannot be read with today's knowledge", id=case.id)
            remedy = say("See what is wrong with: tracer cases again {id} --now", id=case.id)
            bad.append(Issue(Place(str(path)), message, remedy, "warning"))
            continue
        rows.append(row_of(lot, case.report, base, words, where, case.answered, _confirmed(case, base)))
    return rows, bad


def between(
    rows: Iterable[SeasonLot], since: datetime.date | None, until: datetime.date | None
) -> list[SeasonLot]:
    """The lots cupped from one day up to another; all where neither is given."""
    return [
        row
        for row in rows
        if (since is None or (row.cupped is not None and row.cupped >= since))
        and (until is None or (row.cupped is not None and row.cupped <= until))
    ]


def _confirmed(case: StandingCase, base: KnowledgeBase) -> tuple[str, str] | None:
    """The fault a case was closed with, and its stage; None while it is open or where the cause was never found."""
    if case.closed in (None, NOT_FOUND):
        return None
    if case.closed == NONE:
        return "", ""
    fault = case.closed or ""
    stage = base.faults[fault].stage if fault in base.faults else contact_stage(fault, base)
    return fault, stage or ""
