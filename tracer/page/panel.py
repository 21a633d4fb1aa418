"""The panel: who is due and what each taster needs, the kept sessions with a way to take one out, and scoring from files."""

from __future__ import annotations

import datetime
import tempfile
from base64 import b64decode, b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.sessions import Session, first_answers, kept, sessions
from tracer.issues import InputError, Issue, Place
from tracer.page.leader import only_leader
from tracer.page.messages import message
from tracer.page.render import Form, go, language_of, page, site_of, whole_number
from tracer.page.uploads import safe_name
from tracer.panel import session
from tracer.panel.scoring import taster_scores
from tracer.panel.standing import standings, weak_and_strong
from tracer.render.panel_trend import trend_picture
from tracer.wording.sentence import say

LONGEST_WHY = 500


@dataclass(frozen=True, slots=True)
class Listed:
    """A kept session, and the entry that corrects it or takes it out."""

    session: Session
    entry: Session | None

    @property
    def signs(self) -> int | None:
        """The number that a form beside it is about: the session, or the entry that took it out; None for a corrected one."""
        if self.entry is None:
            return self.session.id
        return None if self.entry.cups else self.entry.id


def panel(request: Request) -> Response:
    """Who is due, who has drifted, which notes are weak, and what each taster needs next."""
    return _panel(request, Form({}, {}), 0, (), 200)


def _panel(request: Request, form: Form, asked: int, issues: Sequence[Issue], status: int) -> Response:
    """The panel; `asked` is the number that a form with `issues` was about."""
    site, today = site_of(request), datetime.date.today()
    cups = [cup for cup in kept(site.book) if cup.on <= today]
    found = standings(cups, site.base, today, first_answers(site.book, "case", today))
    listed = _listed(sessions(site.book))
    return page(
        request,
        "panel.html",
        status,
        found=found,
        notes=weak_and_strong(cups, site.base),
        listed=listed,
        counted=sum(one.entry is None for one in listed),
        sets=[one for one in tables.tables(site.book) if one.facts.blind_set],
        picture=trend_picture(found, message("trend", language_of(request))) if found else None,
        today=today,
        asked=asked,
        beside=asked in {one.signs for one in listed},
        issues=tuple(issues),
        given={"by": form.text("by"), "why": form.text("why")},
        out=whole_number(request.query_params.get("out", "")),
        again=whole_number(request.query_params.get("again", "")),
    )


def _listed(every: Sequence[Session]) -> list[Listed]:
    """Sessions with cups, the newest first, each with the entry that counts against it."""
    against = {one.replaces: one for one in every if one.cups or not one.replaced}
    held = [one for one in every if one.cups]
    return [Listed(one, against.get(one.id)) for one in reversed(held)]


def remove(request: Request, form: Form) -> Response:
    """Take a session out by an entry that somebody signs, or undo such an entry; what is wrong is told beside its form."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    by, why = form.text("by")[:60], form.text("why")[:LONGEST_WHY]
    try:
        made = session.remove(site.book, number, by, why, site.base, datetime.date.today())
    except InputError as error:
        return _panel(request, form, number, [issue.called("") for issue in error.issues], 422)
    return go(f"/panel?{'again' if made.counts else 'out'}={made.session}#session-{made.session}")


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
            one = session.scored(
                paths["key"], paths["answers"], site.base, site.ready.vocabulary, str(say("Blind set"))
            )
        except InputError as error:
            raise InputError([issue.called(Path(issue.place.file).name) for issue in error.issues]) from None
    name = form.text("name")[:60] or one.name
    if form.text("step") == "keep":
        session.keep(
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
