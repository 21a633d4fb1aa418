"""The next weeks of the panel: what to serve each week, what to weigh and buy, the time it takes, and a tap to make each set."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.sessions import Kept, kept
from tracer.names import fold
from tracer.page.leader import only_leader
from tracer.page.render import page, site_of, whole_number
from tracer.panel.amounts import figure
from tracer.panel.plan import Week, make, usual_notes
from tracer.render.panel_plan import one_reference

WEEKS, FEWEST, MOST = 8, 2, 52
"""Weekly sessions of a plan: unless asked otherwise, at least, at most; as `tracer panel plan` takes them."""


def plan(request: Request) -> Response:
    """The plan of the tasters in the casebook, or of those who are named; without either, who is it for."""
    only_leader(request)
    site, given = site_of(request), request.query_params
    start = _day(given.get("start", ""))
    cups = [cup for cup in kept(site.book) if cup.on <= start]
    named = [one.strip() for one in given.get("tasters", "")[:1000].replace("\n", ",").split(",")]
    tasters = _tasters(named, cups)
    weeks = min(max(whole_number(given.get("weeks", "")) or WEEKS, FEWEST), MOST)
    made = make(site.base, cups, tasters, usual_notes(site.base), weeks, start) if tasters else None
    steps = len(made.steps) if made else 0
    return page(
        request,
        "plan.html",
        given={"tasters": ", ".join(tasters), "weeks": str(weeks), "start": str(start)},
        plan=made,
        sets={week.number: _set_of(week) for week in made.weeks} if made else {},
        short=[note for note, passed in made.reached.items() if passed < steps] if made else [],
        one_reference=one_reference(made.references, site.base) if made else [],
        figure=figure,
    )


def _tasters(named: Sequence[str], cups: Sequence[Kept]) -> tuple[str, ...]:
    names = [one[:60] for one in named if one and one.isprintable()] or [cup.taster for cup in cups]
    return tuple({fold(name): name for name in names}.values())


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        return datetime.date.today()


def _set_of(week: Week) -> str:
    """The address of the form that makes the set of a week."""
    rows = [("note", one.note) for one in week.serves] + [
        ("times", f"{one.multiple:g}") for one in week.serves
    ]
    rest = [("blanks", str(week.blanks)), ("repeats", str(week.repeats)), ("on", str(week.on))]
    return f"/panel/set?{urlencode([*rows, *rest, ('week', str(week.number))])}"
