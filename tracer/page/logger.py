"""A logger file for a lot: looked at, read by the columns that were confirmed and shown as a picture, and only then kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.again import read_with_files
from tracer.casebook.cases import whole
from tracer.casebook.tasting import sheet_text, sheet_values
from tracer.history.charts import Chart
from tracer.issues import InputError, Issue, has_errors
from tracer.lots.logs.times import ORDERS
from tracer.lots.sheet import LOGGED
from tracer.names import fold
from tracer.page import log_form
from tracer.page.keeping import keep_sheet
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, page, site_of
from tracer.page.uploads import free_name, safe_name
from tracer.render.plot import log_picture
from tracer.wording.language import tell
from tracer.wording.sentence import joined, say


@dataclass(frozen=True, slots=True)
class Read:
    """A logger file as it would count, not kept."""

    chart: Chart | None
    """None where it cannot be read by these columns."""
    picture: str | None
    issues: tuple[Issue, ...]


def log(request: Request) -> Response:
    """Where a logger file is chosen."""
    kept = whole(site_of(request).book, request.path_params["number"])
    return _page(request, kept.case.id, None, Form({}, {}), None)


def _page(
    request: Request, number: int, looked: log_form.Looked | None, form: Form, read: Read | None
) -> Response:
    proposed = looked.proposal if looked else None
    chosen = {
        "stage": "",
        "where": "",
        "degrees": "",
        "dates": "",
        "decimal": "point",
        "timezone": "",
        "by": "",
    }
    times: Sequence[str] = ()
    if proposed is not None:
        chosen.update(proposed.channels, degrees=proposed.degrees or "", decimal=proposed.decimal or "point")
        chosen["dates"] = proposed.dates[0] if len(proposed.dates) == 1 else ""
        times = proposed.time
    if read is not None:
        chosen.update({name: form.text(name) for name in (*chosen, *log_form.CHANNELS)})
        times = form.all("time")
    failed = read is not None and read.chart is None
    return page(
        request,
        "log.html",
        422 if failed else 200,
        number=number,
        looked=looked,
        chosen=chosen,
        times=times,
        read=read,
        stages=[site_of(request).base.stages[stage] for stage in LOGGED],
        orders=tuple(ORDERS),
        where=log_form.WHERE,
        channels=log_form.CHANNELS,
    )


def keep_log(request: Request, form: Form) -> Response:
    """Look at a file and propose its columns; read it by those confirmed and show what it says; or add it to the lot."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    sent = form.files.get("files", [])
    if len(sent) != 1:
        raise InputError.of("--files", say("one logger file is needed"), say("Choose one CSV or XLSX file."))
    name, content = safe_name(sent[0][0]), sent[0][1]
    step = form.text("step")
    if step not in ("read", "add"):
        return _page(request, number, log_form.look(name, content), form, None)
    stage = form.text("stage")
    if fold(stage) not in LOGGED:
        stages = joined(LOGGED)
        raise InputError.of(
            "--stage", say("the log needs its stage"), say("Choose: {stages}.", stages=stages)
        )
    old = whole(site.book, number)
    attached = free_name(name, old.files)
    data = log_form.with_log(sheet_values(old.sheet), stage, log_form.entry(attached, form))
    if step == "read":
        read = _read(request, sheet_text(data), {**old.files, attached: content}, attached)
        return _page(request, number, log_form.look(name, content), form, read)
    return go(keep_sheet(site, sheet_text(data), {attached: content}, form.text("by")[:60], number).link)


def _read(request: Request, sheet: str, files: dict[str, bytes], name: str) -> Read:
    """The file as the sheet's own reader has it, with the findings that would rest on it."""
    site = site_of(request)
    try:
        lot, issues = read_with_files(sheet, files, site.base)
    except InputError as error:
        return Read(None, None, tuple(error.issues))
    about = tuple(one for one in issues if one.level == "error" or one.place.file.endswith(name))
    if lot is None or has_errors(issues):
        return Read(None, None, about)
    charts = [one for one in site.trace(lot).charts if one.file == name]
    picture = log_picture(charts, str(tell("Lot {lot}", lot=lot.lot)))
    return Read(charts[0], picture, about) if charts else Read(None, None, about)
