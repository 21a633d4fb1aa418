"""The form that opens a table: what all samples share, and a row for each sample of the flight."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import Any

from pydantic import ValidationError
from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.table_facts import TableFacts
from tracer.issues import Issue, Place
from tracer.lots.form import PROCESSES
from tracer.names import printable
from tracer.page.render import Form, page, site_of
from tracer.wording.sentence import joined, say

ROWS = 10
"""Samples that the form offers."""
FIELDS = ("lot", "kind", "process", "origin", "species", "drawn_by")
_SHARED = ("on", "cups", "sample")
_LONGEST = 60


def _rows(form: Form) -> list[dict[str, str]]:
    sent = {name: form.all(name) for name in FIELDS}
    return [
        {name: (sent[name][row] if row < len(sent[name]) else "").strip() for name in FIELDS}
        for row in range(ROWS)
    ]


def read_table_form(form: Form) -> TableFacts:
    """The facts of a table as the form has them: one lot alone is no flight. Raises ValidationError with what is wrong."""
    rows = _rows(form)
    used = [place for place, row in enumerate(rows) if row["lot"] or row["kind"] not in ("", "lot")]
    shared = {name: text for name in _SHARED if (text := form.text(name))}
    if len(used) <= 1 and all(rows[place]["kind"] in ("", "lot") for place in used):
        one = {name: text for name, text in rows[used[0] if used else 0].items() if text and name != "kind"}
        return TableFacts.model_validate({**shared, **one})
    flight = [_sample(rows, used, place) for place in used]
    name = ", ".join(dict.fromkeys(one["lot"] for one in flight if one["kind"] == "lot" and one.get("lot")))
    short = name if len(name) <= _LONGEST else name[: _LONGEST - 3] + "..."
    return TableFacts.model_validate({**shared, "lot": short or "-", "flight": flight})


def _sample(rows: list[dict[str, str]], used: list[int], place: int) -> dict[str, Any]:
    row = {name: text for name, text in rows[place].items() if text}
    kind, _, number = row.get("kind", "lot").partition(":")
    if kind == "control":
        return {**row, "kind": kind, "lot": row.get("lot") or "control"}
    if kind != "repeat":
        return {**row, "kind": kind}
    of = int(number) - 1 if number in [str(n + 1) for n in range(ROWS)] else -1
    if of not in used:
        return {"kind": kind, "lot": row.get("lot") or "-", "repeats": None}
    return {**rows_of_lot(rows[of]), "kind": kind, "repeats": used.index(of)}


def rows_of_lot(row: dict[str, str]) -> dict[str, str]:
    """What a repeat takes over from the lot that it repeats."""
    return {
        "lot": row["lot"] or "-",
        **{name: row[name] for name in ("process", "origin", "species", "drawn_by") if row[name]},
    }


def issues_of(error: ValidationError) -> tuple[Issue, ...]:
    """What is wrong with a form, by field."""
    return tuple(
        Issue(
            Place(joined(map(str, one["loc"]), ".") or "form"),
            printable(one["msg"].removeprefix("Value error, ")),
            say("Mend this field."),
        )
        for one in error.errors()
    )


def table_form(request: Request, form: Form, issues: Iterable[Issue], status: int) -> Response:
    """The form, with what was sent and what is wrong."""
    rows = _rows(form)
    return page(
        request,
        "table_new.html",
        status,
        given={name: form.text(name) for name in (*_SHARED, "by")},
        rows=rows,
        flight=any(row["lot"] or row["kind"] not in ("", "lot") for row in rows[1:]),
        issues=tuple(issues),
        processes=PROCESSES,
        today=str(datetime.date.today()),
        usual_cups=site_of(request).base.settings.cups.usual,
    )
