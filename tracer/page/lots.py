"""The first page and the desk's list of lots: found by any word, filtered, sorted, as a page and as a table to take away."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.desk import SORTS, STATES, Found, Wanted, cast_off_examples, examples_tried, find
from tracer.lots.attached import examples
from tracer.names import fold
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, language_of, page, site_of, whole_number
from tracer.page.site import Site
from tracer.spreadsheets.write import safe_cell

RECENT, ON_A_PAGE, MOST = 6, 50, 100_000
COLUMNS = ("case", "kept", "lot", "exporter", "origin", "notes", "stage", "stage_probability", "source",
           "probability", "caution", "claim_day", "closed")  # fmt: skip
MOST_NAMES = 12


def home(request: Request) -> Response:
    """Three doors, the newest lots and the open tables."""
    site = site_of(request)
    return page(
        request,
        "home.html",
        recent=find(site.book, Wanted(), most=RECENT).lines,
        tables=[one for one in tables.tables(site.book) if one.case is None][:RECENT],
        today=str(datetime.date.today()),
    )


def listed(request: Request) -> Response:
    """Kept lots, as they stand after the last answer."""
    site, wanted = site_of(request), _wanted(request)
    number = max(1, whole_number(request.query_params.get("page", "")) or 1)
    found = find(site.book, wanted, (number - 1) * ON_A_PAGE, ON_A_PAGE)
    return page(
        request,
        "lots.html",
        found=found,
        wanted=wanted,
        number=number,
        pages=-(-found.found // ON_A_PAGE),
        states=STATES,
        sorts=tuple(SORTS),
        tried=examples_tried(site.book),
        examples=examples(),
        today=str(datetime.date.today()),
    )


def as_table(request: Request) -> Response:
    """The list as it is looked at, as CSV."""
    return Response(
        "\ufeff" + _csv(find(site_of(request).book, _wanted(request), most=MOST)),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="lots.csv"'},
    )


def cast_off(request: Request, form: Form) -> Response:
    """Put the examples away for good."""
    only_leader(request)
    cast_off_examples(site_of(request).book, form.text("by")[:60])
    return go("/lots")


def _wanted(request: Request) -> Wanted:
    asked = request.query_params
    words = (asked.get("q") or asked.get("lot") or "").strip()[:200]
    state, sort = asked.get("state", "all"), asked.get("sort", "newest")
    return Wanted(
        words,
        other_names(site_of(request), words, language_of(request)),
        state if state in STATES else "all",
        sort if sort in SORTS else "newest",
        "examples" in asked,
    )


def other_names(site: Site, words: str, language: str) -> dict[str, Sequence[str]]:
    """For each word looked for, the English names of what it means in the reader's language, as sheets and reports have them."""
    names = site.names(language)
    return {
        word: tuple(dict.fromkeys(label for own, label in names if word in own))[:MOST_NAMES]
        for word in fold(words).split()
        if len(word) > 2
    }


def _csv(found: Found) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for one in found.lines:
        cells = (
            one.id,
            one.added[:10],
            one.lot,
            one.exporter,
            one.origin,
            one.notes,
            one.stage or "",
            f"{one.stage_probability:.2f}" if one.stage else "",
            one.source or "",
            f"{one.probability:.2f}" if one.source else "",
            one.held,
            one.due or "",
            one.closed or "",
        )
        writer.writerow([safe_cell(str(cell)) for cell in cells])
    return stream.getvalue()
