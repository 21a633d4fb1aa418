"""A letter asked for: what stands in its way, all at once, else the letter and what to mind."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.names import did_you_mean, printable
from tracer.report.document import Report
from tracer.report.letter import Written, asked_of_stage, write
from tracer.wording.sentence import joined, say

WARNED = {"stop": "STOP TASTING", "hold": "HOLD THE LOT"}
"""Cautions that the sender reads before the letter goes out."""


@dataclass(frozen=True, slots=True)
class LetterRequest:
    """What somebody asks for; `by` is the day to answer by, and no stage means the most probable."""

    kind: str
    language: str
    by: str
    stage: str = ""
    sender: str = ""


def letter_for(
    report: Report, lot: Lot, base: KnowledgeBase, request: LetterRequest
) -> tuple[Written, str, tuple[str, ...]]:
    """The letter, its stage, and what to mind before it is sent. Raises InputError with everything in its way."""
    issues: list[Issue] = []
    template = next(
        (
            one
            for one in base.letters.values()
            if (one.kind, one.language) == (request.kind, request.language)
        ),
        None,
    )
    if template is None:
        known = joined(
            say("{kind} in {language}", kind=one.kind, language=one.language) for one in base.letters.values()
        )
        message = say(
            "there is no {kind} letter in '{language}'", kind=request.kind, language=request.language
        )
        issues.append(Issue(Place("--language"), message, say("There are: {known}.", known=known)))
    day = _day(request.by, issues)
    stage = request.stage or (report.stages[0].stage if report.stages else "")
    if not report.notes:
        message = say("no off-note was reported, so there is nothing to ask")
        issues.append(Issue(Place(report.lot), message, say("Put the notes on the sheet first.")))
    elif stage not in base.stages:
        remedy = did_you_mean(stage, base.stages, say("Stages: {stages}.", stages=joined(base.stages)))
        issues.append(Issue(Place("--stage"), say("'{stage}' is no stage", stage=stage), remedy))
    elif stage in base.settings.verdicts.bench_stages:
        message = say("the stage is our own: {label}", label=base.stages[stage].label)
        issues.append(
            Issue(Place("--stage"), message, say("Settle it in the house first, or name another stage."))
        )
    if issues or template is None:
        raise InputError(issues)
    questions = asked_of_stage(report, base, stage)
    written = write(report, lot, base, template, questions, day, request.sender)
    return written, stage, tuple(_to_mind(report, request, day, written, bool(questions)))


def _day(written: str, issues: list[Issue]) -> str:
    try:
        return str(datetime.date.fromisoformat(written))
    except ValueError:
        message = (
            say("'{written}' is not a day", written=written)
            if written
            else say("the letter needs a day to answer by")
        )
        remedy = say("Write it as 2026-03-20; leave time inside your own claim days.")
        issues.append(Issue(Place("--by"), message, remedy))
        return ""


def _to_mind(report: Report, request: LetterRequest, day: str, written: Written, asks: bool) -> list[str]:
    found = [
        f"{WARNED[caution.level]}: {caution.text} ({caution.because})"
        for caution in report.cautions
        if caution.level in WARNED
    ]
    if not asks and request.kind == "query":
        found.append(say("every question about this stage is answered already; the letter asks nothing."))
    if report.deadlines and day > report.deadlines[0].last_day:
        first = report.deadlines[0]
        found.append(
            say(
                "{day} is after the first claim day, {last_day} ({what}).",
                day=day,
                last_day=first.last_day,
                what=printable(first.what),
            )
        )
    if written.untranslated:
        number, language = len(written.untranslated), request.language
        found.append(
            say(
                "{number} question(s) have no words in '{language}' yet and stand in English.",
                number=number,
                language=language,
            )
        )
    return found
