"""The training room: chains both ways, where the panel stands, scores of a session, reference cards with their refusals."""

from __future__ import annotations

import datetime
import tempfile
from base64 import b64decode, b64encode
from collections.abc import Callable
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.sessions import first_answers, kept, sessions
from tracer.causes.browse import browse
from tracer.issues import InputError, Issue, Place
from tracer.numbers import finite
from tracer.page.leader import only_leader
from tracer.page.messages import message
from tracer.page.render import Form, go, language_of, page, problem, site_of
from tracer.page.terms import every_term, meant
from tracer.page.uploads import safe_name
from tracer.panel.card_request import CardAnswer, CardRequest, card_for
from tracer.panel.scoring import taster_scores
from tracer.panel.session import keep, scored
from tracer.panel.standing import standings, weak_and_strong
from tracer.render.panel_trend import trend_picture
from tracer.render.picture import chain_picture
from tracer.wording.language import tell
from tracer.wording.sentence import say


def chains(request: Request) -> Response:
    """The chains through one term, as a picture whose boxes lead on, and as a list with strengths and sources."""
    site, language = site_of(request), language_of(request)
    term = request.query_params.get("term", "").strip()[:200]
    found = meant(site, language, term) if term else ()
    picture = tree = None
    if len(found) == 1:
        kind, name, _ = found[0]
        tree = browse(site.base, kind, name)
        picture = chain_picture(site.base, site.graph, name, "/chains?term=")
    return page(
        request,
        "chains.html",
        200 if found or not term else 404,
        term=term,
        tree=tree,
        picture=picture,
        meant=found,
        terms=every_term(site, language),
    )


def panel(request: Request) -> Response:
    """Who is due, who has drifted, which notes are weak, and what each taster needs next."""
    site, today = site_of(request), datetime.date.today()
    cups = [cup for cup in kept(site.book) if cup.on <= today]
    found = standings(cups, site.base, today, first_answers(site.book, "case", today))
    return page(
        request,
        "panel.html",
        found=found,
        notes=weak_and_strong(cups, site.base),
        sessions=sessions(site.book),
        sets=[one for one in tables.tables(site.book) if one.facts.blind_set],
        picture=trend_picture(found, message("trend", language_of(request))) if found else None,
        today=today,
    )


def score(request: Request, form: Form) -> Response:
    """Score the answers of a session against its key and show it; once it was seen, keep it."""
    only_leader(request)
    site = site_of(request)
    sent = {name: _sent(form, name) for name in ("key", "answers")}
    issues = [
        Issue(Place(name), say("one file is needed"), say("Choose it."))
        for name in sent
        if len(sent[name]) != 1
    ]
    try:
        on = datetime.date.fromisoformat(form.text("on"))
    except ValueError:
        issues.append(Issue(Place("on"), say("the session needs its day"), say("Choose a day.")))
    if issues:
        raise InputError(issues)
    with tempfile.TemporaryDirectory() as folder:
        paths = {}
        for name in sent:
            paths[name] = Path(folder) / name / safe_name(sent[name][0][0])
            paths[name].parent.mkdir()
            paths[name].write_bytes(sent[name][0][1])
        try:
            one = scored(paths["key"], paths["answers"], site.base, site.ready.vocabulary)
        except InputError as error:
            raise InputError([issue.called(Path(issue.place.file).name) for issue in error.issues]) from None
    name = form.text("name")[:60] or one.name
    if form.text("step") == "keep":
        keep(
            site.book,
            one,
            on,
            name,
            form.text("by")[:60],
            site.base,
            form.number("replaces"),
            form.text("another") == "yes",
        )
        return go("/panel")
    return page(
        request,
        "score.html",
        title=name,
        on=on,
        by=form.text("by")[:60],
        to_mind=[issue.called(Path(issue.place.file).name) for issue in one.to_mind],
        tasters=taster_scores(one.served),
        sent={
            field: (safe_name(files[0][0]), b64encode(files[0][1]).decode()) for field, files in sent.items()
        },
    )


def _sent(form: Form, name: str) -> list[tuple[str, bytes]]:
    """A file of the form; on the way back from the shown score, the same file again as text."""
    try:
        again = b64decode(form.text(f"{name}_again"), validate=True)
    except ValueError:
        again = b""
    return [(form.text(f"{name}_name"), again)] if again else form.files.get(name, [])


def card(request: Request) -> Response:
    """What to weigh and dilute for a reference, or why it is not prepared."""
    site, given = site_of(request), request.query_params
    note = given.get("note", "").strip()[:200]
    found: CardAnswer | None = None
    issues: tuple[Issue, ...] = ()
    if note:
        try:
            found = card_for(site.base, _request(given.get, note))
        except InputError as error:
            issues = error.issues
    return page(
        request,
        "card.html",
        422 if issues else 200,
        note=note,
        given={
            name: given.get(name, "")
            for name in ("volume", "times", "compound", "threshold", "mass", "purity", "flask")
        },
        found=tell(found),
        issues=issues,
    )


LIMITS = {
    "volume": (0.01, 100.0),
    "times": (0.1, 100.0),
    "mass": (0.01, 100_000.0),
    "purity": (0.01, 1.0),
    "flask": (1.0, 5000.0),
}
"""The same limits as on the command line; L, times threshold, mg, share, mL."""


def _request(given: Callable[[str, str], str], note: str) -> CardRequest:
    numbers: dict[str, float] = {}
    for name, (low, high) in LIMITS.items():
        text = given(name, "").strip().replace(",", ".")
        if not text:
            continue
        try:
            number = finite(text)
        except ValueError:
            raise problem(name, say("this is no number"), say("Write digits only.")) from None
        if not low <= number <= high:
            raise problem(
                name,
                say("it must lie from {low:g} to {high:g}", low=low, high=high),
                say("Check the figure and its unit."),
            )
        numbers[name] = number
    texts = {name: given(name, "").strip()[:80] or None for name in ("compound", "threshold")}
    return CardRequest(note, **numbers, **texts)  # type: ignore[arg-type]
