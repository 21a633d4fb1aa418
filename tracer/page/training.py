"""A blind set on the phones: made on the page, tasted like a flight, scored at once, kept once."""

from __future__ import annotations

import datetime
import secrets
from collections.abc import Sequence

from pydantic import ValidationError
from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.sessions import kept
from tracer.casebook.table_rows import Table
from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.page.leader import only_leader, said_of
from tracer.page.messages import message
from tracer.page.render import Form, go, language_of, note_name, page, site_of, whole_number
from tracer.page.table_form import issues_of
from tracer.panel.at_table import scored_table, set_facts
from tracer.panel.blind import FRESH, Sample
from tracer.panel.cards import serving
from tracer.panel.scoring import taster_scores
from tracer.panel.session import keep, kept_already
from tracer.panel.set_request import refuse_unsafe, sample_of
from tracer.panel.standing import weak_and_strong
from tracer.wording.sentence import say

ROWS = 10
"""References that the form offers."""
OFFERED = 4
"""Weakest notes of the panel that it begins with."""


def new(request: Request) -> Response:
    """The form of a blind set; it begins with the notes asked for, or with those the panel is weakest on."""
    only_leader(request)
    site = site_of(request)
    may_be = {name for name in site.base.descriptors if serving(site.base, name).how == "taste"}
    asked = request.query_params
    notes = [name for name in asked.getlist("note") if name in site.base.descriptors]
    times = [text[:6] for text in asked.getlist("times")]
    weak = [note for note, _, _ in weak_and_strong(kept(site.book), site.base) if note in may_be]
    multiple = f"{site.base.settings.panel.multiple:g}"
    rows = [
        (note, times[at] if at < len(times) else multiple, False)
        for at, note in enumerate((notes or weak[:OFFERED])[:ROWS])
    ]
    given = {"blanks": "2", "repeats": "1", **{name: asked[name][:10] for name in _PLANNED if name in asked}}
    week = whole_number(asked.get("week", ""))
    return _form(
        request,
        rows,
        {**given, "name": message("week", language_of(request), number=week) if week else ""},
        (),
        200,
    )


_PLANNED = ("blanks", "repeats", "on")
"""What the plan of the next weeks says beside the references."""


def _form(
    request: Request,
    rows: Sequence[tuple[str, str, bool]],
    given: dict[str, str],
    issues: Sequence[Issue],
    status: int,
) -> Response:
    site, language = site_of(request), language_of(request)
    options = sorted(
        (note_name(site, language, name), name, found.how)
        for name in site.base.descriptors
        if (found := serving(site.base, name)).how != "never"
    )
    usual = f"{site.base.settings.panel.multiple:g}"
    return page(
        request,
        "set_new.html",
        status,
        rows=[*rows, *[("", usual, False)] * (ROWS - len(rows))],
        options=options,
        given={"on": str(datetime.date.today()), "name": "", "by": "", "smell_only": "", **given},
        issues=tuple(issues),
        cautions=site.base.settings.panel.cautions,
    )


def create(request: Request, form: Form) -> Response:
    """Open the table of a blind set, or show the form again with what is wrong."""
    only_leader(request)
    site = site_of(request)
    names, times, last = form.all("note"), form.all("times"), set(form.all("last"))
    rows = [
        (name, times[at].strip().replace(",", ".") if at < len(times) else "", str(at) in last)
        for at, name in enumerate(names[:ROWS])
    ]
    given = {name: form.text(name)[:60] for name in ("on", "name", "by", "blanks", "repeats", "smell_only")}
    try:
        samples = _samples(site.base, rows)
        smelled = say("Leave it out, or make a set that is only smelled.")
        refuse_unsafe(site.base, samples, given["smell_only"] == "yes", smelled)
        facts = set_facts(
            given["name"] or str(say("Blind set")),
            _day(given["on"]),
            samples,
            _few(form, "blanks"),
            _few(form, "repeats"),
            given["smell_only"] == "yes",
            secrets.randbelow(FRESH),
        )
    except InputError as error:
        return _form(request, rows, given, [issue.called("") for issue in error.issues], 422)
    except ValidationError as error:
        return _form(request, rows, given, issues_of(error), 422)
    except ValueError as error:
        issue = Issue(Place(""), error.args[0], say("Make two sets of it."))
        return _form(request, rows, given, [issue], 422)
    return go(f"/table/{tables.open_table(site.book, facts, given['by'])}")


def _samples(base: KnowledgeBase, rows: Sequence[tuple[str, str, bool]]) -> list[Sample]:
    samples = [
        sample_of(base, f"{name}{f'@{times}' if times else ''}{'!' if last else ''}")
        for name, times, last in rows
        if name
    ]
    twice = len({one.name for one in samples}) < len(samples)
    if not samples or twice:
        told = (
            say("one reference stands here twice at one strength")
            if twice
            else say("there is nothing to serve")
        )
        raise InputError.of("", told, say("Choose notes; a second cup of one is what repeats are for."))
    return samples


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError.of("", say("the session needs its day"), say("Choose a day.")) from None


def _few(form: Form, name: str) -> int:
    found = form.number(name)
    if found is None:
        raise InputError.of("", say("blanks and repeats are whole numbers"), say("Write 0 for none."))
    return found


def score(request: Request) -> Response:
    """The score of a blind set that is revealed, before it is kept."""
    only_leader(request)
    return _scored(request, (), 200)


def _scored(request: Request, issues: Sequence[Issue], status: int) -> Response:
    site, found = site_of(request), _revealed(request)
    one = scored_table(found.facts, found.code, said_of(site, found), site.base, site.ready.vocabulary)
    return page(
        request,
        "set_score.html",
        status,
        table=found,
        title=one.name,
        on=found.facts.on,
        by=found.by,
        to_mind=(*issues, *one.to_mind),
        tasters=taster_scores(one.served),
        already=kept_already(site.book, one.served),
    )


def _revealed(request: Request) -> Table:
    found = tables.table(site_of(request).book, request.path_params["code"])
    if not found.facts.blind_set:
        raise InputError.of(
            "--table", say("this table holds lots, no blind set"), say("Keep and trace them.")
        )
    if not found.revealed:
        raise InputError.of("--table", say("the table is still blind"), say("Reveal it when all are done."))
    return found


def keep_score(request: Request, form: Form) -> Response:
    """Keep the score of a blind set as a session of the panel; once."""
    only_leader(request)
    site, found = site_of(request), _revealed(request)
    one = scored_table(found.facts, found.code, said_of(site, found), site.base, site.ready.vocabulary)
    if not one.served:
        raise InputError.of(
            "--table", say("nobody said anything of any cup"), say("There is nothing to keep.")
        )
    try:
        keep(site.book, one, found.facts.on, one.name, form.text("by")[:60], site.base)
    except InputError as error:
        return _scored(request, [issue.called("") for issue in error.issues], 422)
    return go("/panel")
