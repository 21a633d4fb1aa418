"""What can be taken away as files: a case's sheet with what it names, its report, its sources; a blank sheet, a blank table."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.cases import whole
from tracer.lots import sheet as blank
from tracer.page.answer import printable_page
from tracer.page.render import site_of
from tracer.page.uploads import safe_name
from tracer.spreadsheets.write import safe_cell

CUPPINGS = ("taster", "note", "cups", "of", "intensity", "state", "language", "when", "means")
"""Headings of a cupping table, as its reader has them; all after the second may stay empty."""


def sheet(request: Request) -> Response:
    """The sheet of a case, as it was kept."""
    kept = whole(site_of(request).book, request.path_params["number"])
    return _file(kept.sheet, "application/yaml", f"{kept.case.lot}.yaml")


def bundle(request: Request) -> Response:
    """The sheet with every file it names."""
    kept = whole(site_of(request).book, request.path_params["number"])
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as target:
        target.writestr("lot.yaml", kept.sheet)
        for name, content in kept.files.items():
            target.writestr(name, content)
    return _file(packed.getvalue(), "application/zip", f"{kept.case.lot}.zip")


def report(request: Request) -> Response:
    """The printable page as a file of its own."""
    lot, text = printable_page(request, request.path_params["number"])
    return _file(text, "text/html; charset=utf-8", f"{lot}.html")


def sources(request: Request) -> Response:
    """Sources and stages as a table."""
    found = site_of(request).traced(request.path_params["number"]).report
    rows = [("stage", one.stage, one.label, f"{one.probability:.4f}", "", "") for one in found.stages]
    rows += [
        ("source", one.fault, one.label, f"{one.probability:.4f}", f"{one.low:.4f}", f"{one.high:.4f}")
        for one in found.sources
    ]
    return _table(("kind", "id", "name", "probability", "low", "high"), rows, f"{found.lot}.csv")


def blank_sheet(request: Request) -> Response:
    """A sheet to be filled in with an editor, every field explained in it."""
    base = site_of(request).base
    return _file(blank.blank_sheet(base.stages, base.records), "application/yaml", "lot.yaml")


def blank_cuppings(request: Request) -> Response:
    """A cupping table to be filled in with a spreadsheet, with two rows that show how."""
    notes = [one.label for one in site_of(request).base.descriptors.values() if not one.stop_tasting]
    first, second = (label.split(" /")[0].lower() for label in notes[:2])
    rows = [
        ("Ana", first, "2", "5", "slight", "found", "", "", ""),
        ("Ana", second, "", "5", "", "not found", "", "", ""),
    ]
    return _table(CUPPINGS, rows, "cuppings.csv")


def _table(head: Sequence[str], rows: Sequence[Sequence[str]], name: str) -> Response:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([safe_cell(str(cell)) for cell in row] for row in rows)
    return _file("\ufeff" + stream.getvalue(), "text/csv; charset=utf-8", name)


def _file(content: str | bytes, kind: str, name: str) -> Response:
    ascii_name = safe_name(name).encode("ascii", "replace").decode().replace("?", "_")
    return Response(
        content, media_type=kind, headers={"Content-Disposition": f'attachment; filename="{ascii_name}"'}
    )
