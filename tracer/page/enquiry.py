"""What a buyer does with a lot: record an answer, write the letter, close the case."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import cases
from tracer.casebook.entries import (
    answer_before,
    check_closing,
    check_open,
    known_answer,
    standing_answer,
    takes_the_place,
    unsigned,
)
from tracer.issues import InputError, Issue
from tracer.page.asking import Asked, Choice
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, language_of, page, site_of
from tracer.page.site import Site
from tracer.report.letter_questions import PARTIES
from tracer.report.letter_request import Answered, LetterRequest, letter_for
from tracer.wording.sentence import say

LONGEST_NOTE = 2000
OVER = "over"
"""Field that names the answer which a new one takes the place of, as the reader was told."""


def received(request: Request, form: Form) -> Response:
    """Keep an answer received, with the ranking it led to."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    question, said, by = form.text("question"), form.text("answer"), form.text("by")[:60]
    known_answer(site.base, question, said)
    if unsigned(by):
        raise InputError(unsigned(by))
    _ask_before(site, number, question, said, form.text(OVER))
    after = site.traced(number, [(question, said)]).report
    cases.add_received(site.book, number, question, said, by, form.text("note")[:LONGEST_NOTE], after)
    return go(f"/lot/{number}?answered=1")


def _ask_before(site: Site, number: int, question: str, said: str, over: str) -> None:
    """Raise Asked where an answer to the question stands and `over` does not name it: by its place among the answers received."""
    kept = cases.whole(site.book, number)
    before = answer_before(kept.received, question)
    if before is None or over == str(kept.received.index(before)):
        return
    enquiry = site.base.enquiries[question]
    told = (
        say("{question} {answer}", question=enquiry.text, answer=enquiry.answers[said]),
        takes_the_place(before, site.base),
    )
    label = say("Keep the new answer")
    stays = say("The earlier one stays in the history and counts no more.")
    choice = Choice(str(kept.received.index(before)), label, stays)
    raise Asked(say("This question is answered already"), told, OVER, (choice,), number)


def take_back(request: Request, form: Form) -> Response:
    """Undo an answer by an entry that says so; both stay in the history of the case."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    question, by = form.text("question"), form.text("by")[:60]
    standing_answer(cases.whole(site.book, number), question)
    if unsigned(by):
        raise InputError(unsigned(by))
    after = site.traced(number, [(question, cases.TAKEN_BACK)]).report
    note = form.text("note")[:LONGEST_NOTE]
    cases.add_received(site.book, number, question, cases.TAKEN_BACK, by, note, after)
    return go(f"/lot/{number}?answered=1")


def close(request: Request, form: Form) -> Response:
    """Record what the cause was, by whom and how it was confirmed."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    fault, how, by = form.text("fault"), form.text("how"), form.text("by")[:60]
    check_closing(site.base, fault, how, by)
    check_open(cases.whole(site.book, number), form.text("again") == "yes")
    cases.close(site.book, number, fault, how, by, form.text("note")[:LONGEST_NOTE])
    return go(f"/lot/{number}")


def letter(request: Request) -> Response:
    """The letter to who can answer, ready to copy; without its fields filled in, the form for it."""
    site = site_of(request)
    found = site.traced(request.path_params["number"])
    asked = {
        name: request.query_params.get(name, "").strip()[:200]
        for name in ("stage", "language", "by", "sender", "kind", "to", "sent", "enclosed")
    }
    enclosed = tuple(part.strip() for part in asked["enclosed"].split(";") if part.strip())
    asked["kind"] = asked["kind"] or "query"
    spoken = sorted({one.language for one in site.base.letters.values()})
    asked["language"] = asked["language"] or (
        language_of(request) if language_of(request) in spoken else "en"
    )
    issues: list[Issue] = []
    found_letter: Answered | None = None
    if request.query_params:
        try:
            request_for = LetterRequest(
                asked["kind"],
                asked["language"],
                asked["by"],
                asked["stage"],
                asked["sender"],
                asked["to"],
                asked["sent"],
                enclosed,
            )
            found_letter = letter_for(found.report, found.lot, site.base, request_for)
        except InputError as error:
            issues = list(error.issues)
    own = site.base.settings.verdicts.bench_stages
    return page(
        request,
        "letter.html",
        422 if issues else 200,
        case=found.kept.case,
        report=found.report,
        asked=asked,
        written=found_letter.written if found_letter else None,
        without=found_letter.without if found_letter else "",
        issues=issues,
        warnings=found_letter.to_mind if found_letter else (),
        parties=PARTIES,
        stages=[stage for stage in found.report.stages if stage.stage not in own],
        own=[stage.label for stage in found.report.stages[:1] if stage.stage in own],
        spoken=spoken,
        kinds=sorted({one.kind for one in site.base.letters.values()}, reverse=True),
    )
