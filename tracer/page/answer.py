"""A lot's answer: what, where, how sure, what next; the stages in order, the causes, the evidence. Only the report is shown."""

from __future__ import annotations

import base64
import datetime
import hashlib
from functools import partial
from html import escape

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from tracer.casebook.again import answered, moved
from tracer.casebook.answers import is_set_aside
from tracer.casebook.desk import links
from tracer.casebook.entries import known_answer, takes_the_place
from tracer.casebook.keeping import beside
from tracer.casebook.shared import links_of
from tracer.causes.contacts import contact_stage
from tracer.causes.graph import cause_graph
from tracer.issues import InputError
from tracer.page.assets import asset
from tracer.page.messages import message
from tracer.page.render import language_of, page, site_of
from tracer.page.site import Site
from tracer.render.cause_picture import cause_picture
from tracer.render.headline import first_stage, labels_of, next_step
from tracer.render.html import page as printed_page
from tracer.render.markup import POLICY, STYLE
from tracer.render.picture import chain_picture
from tracer.render.plot import log_picture
from tracer.report.document import Report, StageLine
from tracer.tracing import knowledge_of
from tracer.wording.language import tell
from tracer.wording.sentence import say

MOST_SUPPOSED = 12


def supposed(request: Request) -> tuple[tuple[str, str], ...]:
    """Answers only supposed: `if=question:answer`, repeated. Raises InputError for one that is not in the knowledge."""
    found = []
    for one in request.query_params.getlist("if")[:MOST_SUPPOSED]:
        question, _, said = one.partition(":")
        known_answer(site_of(request).base, question, said)
        found.append((question, said))
    return tuple(dict(found).items())


def show(request: Request) -> Response:
    """The page of a lot."""
    site, language = site_of(request), language_of(request)
    number, what_if = request.path_params["number"], supposed(request)
    cases = request.query_params.get("without") != "precedents"
    now = site.traced(number, cases=cases)
    then = site.traced(number, what_if, cases=cases) if what_if else now
    headings = [message(key, language) for key in ("stage", "fault", "compound", "note")]
    report, links_to = tell(then.report), links(site.book, number)
    return page(
        request,
        "lot.html",
        case=now.kept.case,
        set_aside=[one for one in now.kept.received if is_set_aside(one, site.base)],
        answered=tell(answered(site.book, now.kept)),
        takes_the_place=partial(takes_the_place, base=site.base),
        just_answered="answered" in request.query_params,
        already="already" in request.query_params,
        beside=beside(site.book, number) if links_to[1] is None else (),
        has_files=bool(now.kept.files),
        links=links_to,
        shared=links_of(site.book, number),
        today=str(datetime.date.today()),
        closings=now.kept.closings,
        warnings=now.warnings,
        report=report,
        not_weighed=then.report.not_weighed,
        what_if=[(q, a, site.base.enquiries[q]) for q, a in what_if],
        moved=moved(tell(now.report), report) if what_if else (),
        chain=_chain(site, report),
        picture=cause_picture(then.report, list(site.base.stages), message("causes", language), headings),
        where=first_stage(report),
        next_step=next_step(then.report, plain=True),
        logs=log_picture(report.charts, tell("Lot {lot}", lot=report.lot)) if report.charts else None,
        with_cases=cases,
        causes=tuple(knowledge_of(now.lot, site.base, site.ready).faults.values()),
        labels=labels_of(site.base),
        languages_of_letters=sorted(
            {one.language for one in site.base.letters.values() if one.kind == "query"}
        ),
    )


def _chain(site: Site, report: Report) -> list[StageLine]:
    """Stages in the order of the chain."""
    lines = {line.stage: line for line in report.stages}
    return [lines[name] for name in site.base.stages if name in lines]


def why(request: Request) -> Response:
    """Everything for and against one fault, however improbable."""
    site, fault = site_of(request), request.path_params["fault"]
    if fault not in site.base.faults and contact_stage(fault, site.base) is None:
        raise InputError.of(
            "--fault", say("the knowledge has no such fault"), say("Choose a source of the lot.")
        )
    found = site.traced(request.path_params["number"], supposed(request), keep=fault)
    source = next((line for line in found.report.sources if line.fault == fault), None)
    return page(request, "why.html", case=found.kept.case, source=tell(source), report=found.report)


def printable_page(request: Request, number: int) -> tuple[str, str]:
    """The lot of a case, and its printable page, whole in itself; the same that the command line writes."""
    site = site_of(request)
    now = site.traced(number)
    report, known = now.report, knowledge_of(now.lot, site.base, site.ready)
    graph = site.graph if known is site.base else cause_graph(known)
    picture = chain_picture(known, graph, report.sources[0].fault) if report.sources else None
    return report.lot, printed_page(
        report, picture, str(datetime.date.today()), now.lot.exporter or "", labels_of(site.base)
    )


def printed(request: Request) -> Response:
    """The printable page, with the way back and a button to print it, which are not printed."""
    language = language_of(request)
    bar = (
        f'<nav class="bar-above"><a href="/lot/{request.path_params["number"]}">{escape(message("back_to_lot", language))}</a> '
        f'<button type="button" id="print" hidden>{escape(message("print_it", language))}</button></nav>'
        f'<script src="{asset("print.js")}"></script>'
    )
    return on_screen(printable_page(request, request.path_params["number"])[1], bar)


def on_screen(text: str, bar: str) -> Response:
    """A printable page as an answer, with what stands above it on a screen alone."""
    # The file's own policy would stop the print button; the one of this answer takes its place.
    answer = HTMLResponse(text.replace(POLICY, "", 1).replace("<main>", f"{bar}<main>", 1))
    digest = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
    answer.headers["Content-Security-Policy"] = (
        f"default-src 'none'; style-src 'sha256-{digest}'; script-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
    return answer
