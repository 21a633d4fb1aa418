"""A kept lot mended by form: what is known of it, and each of its cuppings; what is kept is a new case that replaces it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.cases import Whole, whole
from tracer.casebook.tasting import sheet_text, sheet_values
from tracer.enquiry.plan import AskLine
from tracer.issues import InputError
from tracer.lots.form import PROCESSES
from tracer.lots.form_cupping import INTENSITIES
from tracer.page import beside_form, cupping_form, known_form
from tracer.page.keeping import keep_sheet
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, page, site_of
from tracer.page.site import Site
from tracer.wording.sentence import say


def _given(form: Form) -> dict[str, str]:
    return {name: texts[0] for name, texts in form.fields.items()}


def known(request: Request) -> Response:
    """What is known of a lot, stage by stage, and what stood beside it, as a form."""
    kept = whole(site_of(request).book, request.path_params["number"])
    data = sheet_values(kept.sheet)
    return _known(request, kept, data, beside_form.sections(data), None)


def _known(
    request: Request,
    kept: Whole,
    data: Mapping[str, Any],
    sections: Sequence[beside_form.Section],
    error: InputError | None,
) -> Response:
    site = site_of(request)
    wanted = [name for one in _asks(site, kept) for name in site.base.enquiries[one.id].settled_by]
    first, parts = known_form.first_asked(known_form.parts(data, site.base), wanted)
    return page(
        request,
        "known.html",
        422 if error else 200,
        case=kept.case,
        first=first,
        parts=parts,
        sections=sections,
        columns=beside_form.COLUMNS,
        cuppings=cupping_form.cuppings_of(data),
        lot=known_form.head(data),
        processes=PROCESSES,
        issues=error.issues if error else (),
    )


def _asks(site: Site, kept: Whole) -> Sequence[AskLine]:
    """What is asked of a lot; nothing of one that cannot be traced before it is mended."""
    try:
        return site.traced(kept.case.id).report.asks
    except InputError:
        return ()


def keep_known(request: Request, form: Form) -> Response:
    """Put what the form says into the sheet and keep it as a new case; or show it again with what is wrong."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    kept = whole(site.book, number)
    data = known_form.filled(sheet_values(kept.sheet), site.base, _given(form))
    try:
        text = sheet_text(beside_form.with_sections(data, _given(form)))
        made = keep_sheet(site, text, {}, form.text("by")[:60], number)
    except InputError as error:
        return _known(request, kept, data, beside_form.sent_sections(data, _given(form)), error)
    return go(made.link)


def cupping(request: Request) -> Response:
    """One cupping of a lot; a number beyond the last is a new one."""
    kept, place = _kept_and_place(request)
    held = cupping_form.cuppings_of(sheet_values(kept.sheet))
    fields = cupping_form.fields_of(held[place] if place < len(held) else {})
    return _cupping(request, kept, place, fields, "", None)


def _kept_and_place(request: Request) -> tuple[Whole, int]:
    kept = whole(site_of(request).book, request.path_params["number"])
    place = request.path_params["place"] - 1
    if not 0 <= place <= len(cupping_form.cuppings_of(sheet_values(kept.sheet))):
        raise InputError.of("--cupping", say("the lot has no such cupping"), say("Choose one of its page."))
    return kept, place


def _cupping(
    request: Request,
    kept: Whole,
    place: int,
    fields: cupping_form.CuppingFields,
    by: str,
    error: InputError | None,
) -> Response:
    return page(
        request,
        "cupping.html",
        422 if error else 200,
        case=kept.case,
        place=place + 1,
        fields=fields,
        by=by,
        strengths=INTENSITIES,
        spoken={entry.id: entry.label for entry in site_of(request).base.languages.values()},
        issues=error.issues if error else (),
    )


def keep_cupping(request: Request, form: Form) -> Response:
    """Put the cupping into the sheet and keep it as a new case; or show it again with what is wrong."""
    only_leader(request)
    site, (kept, place) = site_of(request), _kept_and_place(request)
    data, given = sheet_values(kept.sheet), _given(form)
    try:
        text = sheet_text(cupping_form.with_cupping(data, place, given))
        made = keep_sheet(site, text, {}, form.text("by")[:60], kept.case.id)
    except InputError as error:
        held = cupping_form.cuppings_of(data)
        fields = cupping_form.fields_of(held[place] if place < len(held) else {})
        sent = {name: form.text(name) for name in ("on", "sample", "cups", "drawn_by")}
        tasters = cupping_form.shown_tasters(given, fields.tasters)
        return _cupping(
            request, kept, place, replace(fields, **sent, tasters=tasters), form.text("by"), error
        )
    return go(made.link)
