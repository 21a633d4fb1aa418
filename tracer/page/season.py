"""The buyer's season on the desk: the same counts, groups, claim days and questions as `tracer season` gives of the casebook."""

from __future__ import annotations

import datetime

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tracer.issues import Issue, Place
from tracer.page.render import page, site_of
from tracer.render import season_page
from tracer.season import data
from tracer.season.gather import between, of_casebook
from tracer.season.row import merged
from tracer.season.season import Season
from tracer.season.season import season as worked_out
from tracer.wording.sentence import say

DAYS = ("since", "until")


def season(request: Request) -> Response:
    """The season of the casebook between two days; a day that is none is told in the form."""
    days, problems = _days(request)
    found, unread = _season(request, days) if not problems else (None, [])
    return page(
        request,
        "season.html",
        422 if problems else 200,
        body=Markup(season_page.body(found)) if found and found.lots else "",
        asked={name: request.query_params.get(name, "") for name in DAYS},
        query=str(request.url.query),
        issues=problems,
        warnings=unread,
    )


def printed(request: Request) -> Response:
    """The same as one page to print or to send."""
    return _file(request, "html")


def as_table(request: Request) -> Response:
    """The same as a row a lot."""
    return _file(request, "csv")


def _file(request: Request, kind: str) -> Response:
    days, problems = _days(request)
    if problems:
        return season(request)
    found, _ = _season(request, days)
    text = (
        season_page.page(found)
        if kind == "html"
        else "\ufeff" + "".join(f"{line}\r\n" for line in data.as_csv(found))
    )
    return Response(
        text,
        media_type=f"text/{kind}; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="season.{kind}"'},
    )


def _season(request: Request, days: dict[str, datetime.date | None]) -> tuple[Season, list[Issue]]:
    site = site_of(request)
    rows, unread = of_casebook(site.book, site.base)
    kept = between(merged(rows), days["since"], days["until"])
    return worked_out(kept, site.base, datetime.date.today()), unread


def _days(request: Request) -> tuple[dict[str, datetime.date | None], list[Issue]]:
    days: dict[str, datetime.date | None] = {}
    problems: list[Issue] = []
    for name in DAYS:
        written = request.query_params.get(name, "").strip()
        days[name] = None
        if written:
            try:
                days[name] = datetime.date.fromisoformat(written)
            except ValueError:
                message = say("'{written}' is not a day", written=written)
                problems.append(Issue(Place(name), message, say("Write it as year-month-day, 2026-03-09.")))
    return days, problems
