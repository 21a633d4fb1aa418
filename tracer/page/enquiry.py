"""What a buyer does with a lot: record an answer, write the letter, close the case."""

from __future__ import annotations

import datetime

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import cases
from tracer.issues import InputError, Issue, Place
from tracer.page.answer import check_answer
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, page, site_of
from tracer.page.site import Site, Traced
from tracer.report.letter import Written, asked_of_stage, write

LONGEST_NOTE = 2000


def received(request: Request, form: Form) -> Response:
    """Keep an answer received, with the ranking it led to."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    question, said, by = form.text("question"), form.text("answer"), form.text("by")[:60]
    check_answer(site, question, said)
    if not by:
        raise InputError([Issue(Place("by"), "somebody must stand for it", "Write a name or initials.")])
    after = site.traced(number, [(question, said)]).report
    cases.add_received(site.book, number, question, said, by, form.text("note")[:LONGEST_NOTE], after)
    return go(f"/lot/{number}")


def close(request: Request, form: Form) -> Response:
    """Record what the cause was, by whom and how it was confirmed."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    fault, how, by = form.text("fault"), form.text("how"), form.text("by")[:60]
    issues = []
    if how not in cases.HOW:
        issues.append(Issue(Place("how"), "this is no way to confirm", f"Choose: {', '.join(cases.HOW)}."))
    if fault not in (cases.NONE, cases.NOT_FOUND) and fault not in site.base.faults:
        issues.append(Issue(Place("fault"), "the knowledge has no such fault", "Choose from the list."))
    if not by:
        issues.append(Issue(Place("by"), "somebody must stand for it", "Write a name or initials."))
    if issues:
        raise InputError(issues)
    cases.close(site.book, number, fault, how, by, form.text("note")[:LONGEST_NOTE])
    return go(f"/lot/{number}")


def letter(request: Request) -> Response:
    """The letter to the exporter, ready to copy; without its fields filled in, the form for it."""
    site = site_of(request)
    found = site.traced(request.path_params["number"])
    asked = {
        name: request.query_params.get(name, "").strip()[:200]
        for name in ("stage", "language", "by", "sender", "kind")
    }
    asked["kind"] = asked["kind"] or "query"
    asked["language"] = asked["language"] or "en"
    issues: list[Issue] = []
    warnings: list[str] = []
    written: Written | None = None
    if request.query_params:
        try:
            written, warnings = _written(site, found, asked)
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
        written=written,
        issues=issues,
        warnings=warnings,
        stages=[stage for stage in found.report.stages if stage.stage not in own],
        own=[stage.label for stage in found.report.stages[:1] if stage.stage in own],
        spoken=sorted({one.language for one in site.base.letters.values()}),
        kinds=sorted({one.kind for one in site.base.letters.values()}, reverse=True),
    )


def _written(site: Site, found: Traced, asked: dict[str, str]) -> tuple[Written, list[str]]:
    """The letter and what to mind; raises InputError for what stands in its way."""
    report, base, issues = found.report, site.base, []
    template = next(
        (
            one
            for one in base.letters.values()
            if (one.kind, one.language) == (asked["kind"], asked["language"])
        ),
        None,
    )
    if template is None:
        issues.append(Issue(Place("language"), "there is no such letter in this language", "Choose another."))
    try:
        day = str(datetime.date.fromisoformat(asked["by"]))
    except ValueError:
        day = ""
        issues.append(
            Issue(
                Place("by"), "the letter needs a day to answer by", "Choose a day inside your own claim days."
            )
        )
    if not report.notes:
        issues.append(
            Issue(
                Place("lot"),
                "no off-note was reported, so there is nothing to ask",
                "Put the notes on the sheet first.",
            )
        )
    stage = asked["stage"] or (report.stages[0].stage if report.stages else "")
    if stage and stage not in base.stages:
        issues.append(Issue(Place("stage"), "this is no stage", "Choose from the list."))
    if stage in base.settings.verdicts.bench_stages:
        issues.append(
            Issue(
                Place("stage"),
                f"the most probable stage is our own: {base.stages[stage].label}",
                "Settle it in the house first, or choose another stage.",
            )
        )
    if issues or template is None:
        raise InputError(issues)
    questions = asked_of_stage(report, base, stage)
    written = write(report, found.lot, base, template, questions, day, asked["sender"])
    warnings: list[str] = []
    if not questions:
        warnings.append("Every question about this stage is answered already; the letter asks nothing.")
    if report.deadlines and day > report.deadlines[0].last_day:
        warnings.append(
            f"{day} is after the first claim day, {report.deadlines[0].last_day} ({report.deadlines[0].what})."
        )
    if written.untranslated:
        warnings.append(
            f"{len(written.untranslated)} question(s) have no words in this language yet and stand in English."
        )
    return written, warnings
