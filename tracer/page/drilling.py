"""A drill in the browser: one question at a time, due cards first; every answer is kept for the person."""

from __future__ import annotations

import datetime
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.sessions import add_drill, drills
from tracer.issues import InputError
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, page, site_of, whole_number
from tracer.panel.drill import KINDS, DrillCard, queue
from tracer.wording.sentence import say


def drill(request: Request) -> Response:
    """The next question for a person, and whether the last answer was right; without a person, who is it."""
    site, given, now = site_of(request), request.query_params, datetime.datetime.now(datetime.UTC)
    person, kind = _person(given.get("person", "")), given.get("kind", "")
    chosen = kind if kind in KINDS else None
    had = drills(site.book, person) if person else ()
    cards = queue(site.base, person, had, now, chosen) if person else ()
    today = [one for one in had if one[0].date() == now.date()]
    answered = _card_of_today(request, person, given.get("was", "")) if person else None
    place = whole_number(given.get("said", ""))
    known = answered is not None and place is not None and place < len(answered.choices)
    return page(
        request,
        "drill.html",
        person=person,
        kind=chosen or "",
        kinds=KINDS,
        card=cards[0][0] if cards else None,
        new=bool(cards) and cards[0][1] is None,
        answered=answered if known else None,
        said=answered.choices[place or 0] if answered is not None and known else None,
        right=sum(one[2] for one in today),
        asked=len(today),
    )


def _person(text: str) -> str:
    return "".join(c for c in " ".join(text.split())[:60] if c.isprintable())


def _card_of_today(request: Request, person: str, identity: str) -> DrillCard | None:
    kind = identity.partition(":")[0]
    cards = queue(site_of(request).base, person, (), datetime.datetime.now(datetime.UTC), kind)
    return next((one for one, _ in cards if one.id == identity), None)


def reply(request: Request, form: Form) -> Response:
    """Keep an answer; the next page says whether it was right and why, and asks on."""
    only_leader(request)
    person, choice = _person(form.text("person")), form.text("choice")
    if not person:
        raise InputError.of("--person", say("who answers?"), say("Write a name or initials."))
    card = _card_of_today(request, person, form.text("card"))
    if card is None or choice not in card.choices:
        raise InputError.of(
            "--choice", say("this answer belongs to no question of today"), say("Go back and choose again.")
        )
    now = datetime.datetime.now(datetime.UTC)
    add_drill(site_of(request).book, person, card.id, choice == card.answer, now)
    shown = {"person": person, "kind": form.text("kind"), "was": card.id, "said": card.choices.index(choice)}
    return go(f"/drill?{urlencode(shown)}")
