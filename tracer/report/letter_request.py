"""A letter asked for: what stands in its way, all at once, else the letter and what to mind."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.letter import Letter
from tracer.lots.lot import Lot
from tracer.names import did_you_mean, printable
from tracer.report.document import Report
from tracer.report.letter import Contents, Written, write
from tracer.report.letter_questions import OUTSIDE, PARTIES, answered_by, as_known, questions_for, usual_party
from tracer.wording.sentence import Own, say, to_type

WARNED = {"stop": "STOP TASTING", "hold": "HOLD THE LOT"}
"""Cautions that the sender reads before the letter goes out."""


@dataclass(frozen=True, slots=True)
class LetterRequest:
    """What somebody asks for: `by` is the day to answer by, no stage means the most probable, nobody means whom that stage asks."""

    kind: str
    language: str
    by: str
    stage: str = ""
    sender: str = ""
    to: str = ""
    sent: str = ""
    enclosed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answered:
    """The letter, or in one sentence why there is none; to whom, about which stage, and what to mind before it is sent."""

    written: Written | None
    without: str
    to: str
    stage: str
    to_mind: tuple[str, ...]


def letter_for(
    report: Report,
    lot: Lot,
    base: KnowledgeBase,
    request: LetterRequest,
    today: datetime.date | None = None,
) -> Answered:
    """The letter asked for, with what to mind `today`. Raises InputError with everything in its way."""
    issues: list[Issue] = []
    stage = request.stage or (report.stages[0].stage if report.sources else "")
    kinds = sorted({one.kind for one in base.letters.values()})
    _check(report, base, request, stage, kinds, issues)
    day = _day(request.by, issues, kinds) if request.kind != "thanks" else ""
    sent = _day(request.sent, issues, kinds, "--sent") if request.kind == "reminder" else ""
    party = request.to or (usual_party(report, base, stage) if stage in base.stages else "exporter")
    template = _template(base, request, party)
    if template is None and not issues:
        known = sorted({one.language for one in base.letters.values()})
        message = say(
            "there is no {kind} letter in '{language}'", kind=request.kind, language=request.language
        )
        issues.append(Issue(Place("--language"), message, say("Choose: {known}.", known=to_type(known))))
    if issues or template is None:
        raise InputError(issues)
    asked = (
        questions_for(report, lot, base, party, stage, bool(request.stage))
        if request.kind != "thanks"
        else ()
    )
    answered = answered_by(lot, base, party)
    without = _nothing(request, party, bool(asked), bool(answered))
    if without:
        return Answered(None, without, party, stage, ())
    contents = Contents(asked, answered, day, sent, request.enclosed, request.sender)
    written = write(report, lot, base, template, contents)
    return Answered(
        written,
        "",
        party,
        stage,
        tuple(_to_mind(report, request, day, written, str(today or datetime.date.today()))),
    )


def _check(
    report: Report,
    base: KnowledgeBase,
    request: LetterRequest,
    stage: str,
    kinds: Sequence[str],
    issues: list[Issue],
) -> None:
    if request.kind not in kinds:
        remedy = did_you_mean(request.kind, kinds, say("Choose: {known}.", known=to_type(kinds)))
        issues.append(Issue(Place("--kind"), say("'{kind}' is no kind of letter", kind=request.kind), remedy))
    if request.to and request.to not in PARTIES:
        remedy = did_you_mean(request.to, PARTIES, say("Choose: {known}.", known=to_type(PARTIES)))
        issues.append(Issue(Place("--to"), say("nobody is called '{to}' in letters", to=request.to), remedy))
    if not report.notes and any(one.candidates for one in report.unmatched_words):
        message = say("the words for its off-notes are still open, so it is not known what to ask")
        issues.append(Issue(Place(report.lot), message, say("Settle them first.")))
    elif not report.notes:
        message = say("no off-note was reported, so there is nothing to ask")
        issues.append(Issue(Place(report.lot), message, say("Put the notes on the sheet first.")))
    elif stage not in base.stages:
        remedy = did_you_mean(stage, base.stages, say("Stages: {stages}.", stages=to_type(base.stages)))
        issues.append(Issue(Place("--stage"), say("'{stage}' is no stage", stage=stage), remedy))
    elif stage in base.settings.verdicts.bench_stages and request.to in ("", *OUTSIDE):
        message = say("the stage is our own: {label}", label=base.stages[stage].label)
        remedy = say("Settle it in the house first (--to bench, --to roaster), or name another stage.")
        issues.append(Issue(Place("--stage"), message, remedy))


def _template(base: KnowledgeBase, request: LetterRequest, party: str) -> Letter | None:
    fitting = [
        one
        for one in base.letters.values()
        if (one.kind, one.language) == (request.kind, request.language)
        and (not one.to or as_known(party) in one.to)
    ]
    return max(fitting, key=lambda one: len(one.to), default=None)


def _nothing(request: LetterRequest, party: str, asks: bool, answered: bool) -> str:
    """Why no letter is written, or nothing."""
    if request.kind == "thanks":
        if answered:
            return ""
        return say("No letter: the {party} has answered nothing that stands on the sheet.", party=party)
    if asks or request.kind == "information":
        return ""
    if answered:
        return say(
            "No letter: what the {party} can answer is answered, or would tell nothing more.", party=party
        )
    return say("No letter: nothing that the {party} can answer would tell more about this lot.", party=party)


def _day(written: str, issues: list[Issue], kinds: Sequence[str], option: str = "--by") -> str:
    try:
        return str(datetime.date.fromisoformat(written))
    except ValueError:
        remedy = say("Write it as 2026-03-20; leave time inside your own claim days.")
        if written:
            message = say("'{written}' is not a day", written=written)
        elif option == "--by":
            message = say("the letter needs a day to answer by")
            remedy = say(
                "Needed: --by DAY, such as --by 2026-03-20, with time left inside your own claim days. Possible: --to {parties}; --kind {kinds}; --stage, --language, --sender, --enclose (see: tracer letter --help).",
                parties=to_type(PARTIES),
                kinds=to_type(kinds),
            )
        else:
            message, remedy = (
                say("a reminder needs the day of the first letter"),
                say("Write it as 2026-03-20."),
            )
        issues.append(Issue(Place(option), message, remedy))
        return ""


def _to_mind(report: Report, request: LetterRequest, day: str, written: Written, today: str) -> list[str]:
    found: list[str] = [
        say(
            "{level}: {text} ({because})",
            level=WARNED[caution.level],
            text=caution.text,
            because=caution.because,
        )
        for caution in report.cautions
        if caution.level in WARNED
    ]
    if day and day < today:
        found.append(say("the day to answer by, {day}, has passed", day=day))
    found += [
        say(
            "the time for {what} ended on {last_day}; see whether the letter may still speak of it",
            what=Own(printable(one.what)),
            last_day=one.last_day,
        )
        for one in report.deadlines
        if one.last_day < today
    ]
    if day and report.deadlines and day > report.deadlines[0].last_day:
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
