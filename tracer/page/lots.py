"""The first page and the list of kept lots."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.cases import cases, count
from tracer.lots.attached import examples
from tracer.page.render import page, site_of

RECENT, MOST = 6, 200


def home(request: Request) -> Response:
    """Three doors, the newest lots and the open tables."""
    site = site_of(request)
    return page(
        request,
        "home.html",
        recent=tuple(reversed(cases(site.book, last=RECENT))),
        tables=[one for one in tables.tables(site.book) if one.case is None][:RECENT],
        examples=examples(),
    )


def listed(request: Request) -> Response:
    """Kept lots, the newest first, by lot where one is named; and the ways to bring a new one."""
    site, lot = site_of(request), request.query_params.get("lot", "").strip()[:200]
    found = cases(site.book, {"lot": lot} if lot else None, MOST)
    return page(
        request,
        "lots.html",
        cases=tuple(reversed(found)),
        total=count(site.book),
        lot=lot,
        examples=examples(),
    )
