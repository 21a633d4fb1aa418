"""The leader of a table: opens it, sees who is done, reveals, and makes the lot sheet of what was said."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from pydantic import ValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.cases import Case, cases, whole
from tracer.casebook.tasting import (
    TableFacts,
    Tasted,
    TastedNote,
    appended,
    cupping_data,
    sheet_data,
    sheet_text,
    sheet_values,
)
from tracer.issues import InputError, Issue, Place
from tracer.lots.form import PROCESSES
from tracer.names import printable
from tracer.page.render import Form, go, language_of, note_name, page, site_of
from tracer.page.roles import may, role_of
from tracer.page.site import Site
from tracer.wording.sentence import joined, say
from tracer.words.reading import read_words


def only_leader(request: Request) -> None:
    """Refuse everybody but the leader; away from the tables, and the desk."""
    if not may(role_of(request, site_of(request).keys), request.method, request.url.path):
        raise HTTPException(403, "Only the leader's browser may do this.")


def new(request: Request) -> Response:
    """The form that opens a table."""
    only_leader(request)
    return _form(request, {}, (), 200)


def create(request: Request, form: Form) -> Response:
    """Open a table, or show the form again with what is wrong."""
    only_leader(request)
    fields = {name: form.text(name) for name in TableFacts.model_fields}
    try:
        facts = TableFacts.model_validate({name: text for name, text in fields.items() if text})
    except ValidationError as error:
        return _form(request, fields, issues_of(error), 422)
    code = tables.open_table(site_of(request).book, facts, form.text("by")[:60])
    return go(f"/table/{code}")


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


def _form(request: Request, given: dict[str, str], issues: Iterable[Issue], status: int) -> Response:
    return page(
        request,
        "table_new.html",
        status,
        given=given,
        issues=tuple(issues),
        processes=PROCESSES,
        today=str(datetime.date.today()),
        usual_cups=site_of(request).base.settings.cups.usual,
    )


def table(request: Request) -> Response:
    """The table as its leader sees it: who is done; after the reveal, what everybody said."""
    only_leader(request)
    site = site_of(request)
    found = tables.table(site.book, request.path_params["code"])
    if found.code != request.path_params["code"]:
        return go(f"/table/{found.code}")
    told = tables.told(site.book, found.code) if found.revealed else ()
    return page(
        request,
        "table.html",
        table=found,
        progress=tables.progress(site.book, found.code),
        stop=site.base.settings.cautions.stop if stops_everybody(site, found.code) else None,
        join=f"{site.address}/join/{found.code}",
        picture=_code_picture(f"{site.address}/join/{found.code}"),
        told=told,
        grid=grid(site, language_of(request), told),
        late=[one.taster for one in told if one.late is not None and one.late != one.counts],
    )


def _code_picture(address: str) -> str | None:
    """A square code of the join address for a phone's camera, where the package for it is there."""
    try:
        import segno
    except ImportError:
        return None
    drawn: str = segno.make(address, error="m", micro=False).svg_inline(
        scale=5,
        border=3,
        dark="#000000",
        light="#ffffff",
        omitsize=True,
        title=address,
        svgclass=None,
        lineclass=None,
    )
    return drawn


def reveal(request: Request, form: Form) -> Response:
    """Open everybody's notes to everybody."""
    only_leader(request)
    code = request.path_params["code"]
    tables.reveal(site_of(request).book, code)
    return go(f"/table/{code}")


def free(request: Request, form: Form) -> Response:
    """Let a taster go on from another device."""
    only_leader(request)
    code = request.path_params["code"]
    tables.free(site_of(request).book, code, form.number("seat") or 0)
    return go(f"/table/{code}")


@dataclass(frozen=True, slots=True)
class Row:
    """One note of the table, and what each taster said of it."""

    label: str
    stop: bool
    open: bool
    cells: tuple[tuple[str, ...], ...]
    """By taster: cups, intensity and own words, or nothing."""


def grid(site: Site, language: str, told: tuple[tables.Told, ...]) -> tuple[Row, ...]:
    """Notes by tasters; a word that nobody settled stands for itself."""
    rows: dict[str, list[list[str]]] = {}
    known: dict[str, str | None] = {}
    alarms: set[str] = set()
    for place, one in enumerate(told):
        for note in one.counts.notes:
            meant = note.means if note.means in site.base.descriptors else None
            meant = meant or only_reading(site, note.words, one.counts.language)
            name = meant or note.words
            known[name] = meant
            if meant is None and note.found and alarming(site, note.words, one.counts.language):
                alarms.add(name)
            rows.setdefault(name, [[] for _ in told])[place].append(_cell(note))
    return tuple(
        Row(
            note_name(site, language, meant) if (meant := known[name]) else name,
            site.base.descriptors[str(known[name])].stop_tasting if known[name] else name in alarms,
            known[name] is None,
            tuple(tuple(cell) for cell in cells),
        )
        for name, cells in rows.items()
    )


def _cell(note: TastedNote) -> str:
    if not note.found:
        return f"- ({note.words})"
    cups = joined(map(str, sorted(note.cups))) or "?"
    return f"{cups}{f' {note.intensity}' if note.intensity else ''} ({note.words})"


def only_reading(site: Site, words: str, language: str) -> str | None:
    """The one note that words say by themselves; None where they say none, several, or are open."""
    readings = read_words(words, site.ready.vocabulary, (language,) if language else None)
    found = {one.descriptor for one in readings}
    return found.pop() if len(found) == 1 and len(readings) == 1 else None


def alarming(site: Site, words: str, language: str) -> bool:
    """True where words name, or may well mean, what nobody should go on tasting."""
    stops = {name for name, one in site.base.descriptors.items() if one.stop_tasting}
    least = site.base.settings.cautions.perhaps
    readings = read_words(words, site.ready.vocabulary, (language,) if language else None)
    return any(one.state != "absent" and one.share_of(stops) >= least for one in readings)


def stops_everybody(site: Site, code: str) -> bool:
    """True where somebody at a table noted, or may well have noted, what stops tasting. It breaks the blindness of no note."""
    return any(
        site.base.descriptors[note.means].stop_tasting
        if note.means in site.base.descriptors
        else alarming(site, note.words, tasted.language)
        for tasted in tables.for_safety(site.book, code)
        for note in tasted.notes
        if note.found
    )


def sheet(request: Request) -> Response:
    """The lot sheet of a table, to be read and mended before it is kept; `add` joins it to a kept case of the lot."""
    only_leader(request)
    site, found = site_of(request), tables.table(site_of(request).book, request.path_params["code"])
    late = set(request.query_params.getlist("late"))
    told = tables.told(site.book, found.code)
    tasted = [
        (one.taster, _without_needless(site, one.late if one.late and one.taster in late else one.counts))
        for one in told
    ]
    earlier = _cases_of(site, found.facts.lot)
    add = request.query_params.get("add", "")
    chosen = next((case for case in earlier if str(case.id) == add), None)
    if chosen is None:
        text = sheet_text(sheet_data(found.facts, tasted))
    else:
        data = sheet_values(whole(site.book, chosen.id).sheet)
        data["cuppings"] = appended(data.get("cuppings"), cupping_data(found.facts, tasted))
        text = sheet_text(data)
    return page(
        request,
        "sheet.html",
        text=text,
        issues=(),
        lot=found.facts.lot,
        code=found.code,
        replaces=chosen.id if chosen else None,
        earlier=earlier,
        late=sorted(late),
    )


def _cases_of(site: Site, lot: str) -> tuple[Case, ...]:
    return tuple(case for case in cases(site.book, {"lot": lot}) if not case.replaced)


def _without_needless(site: Site, tasted: Tasted) -> Tasted:
    """Leave out what a note means where its words say it by themselves."""
    notes = tuple(
        note.model_copy(update={"means": None})
        if note.means and only_reading(site, note.words, tasted.language) == note.means
        else note
        for note in tasted.notes
    )
    return tasted.model_copy(update={"notes": notes})


def shown_again(request: Request, form: Form, error: InputError) -> Response:
    """The sheet as it was sent, with what is wrong: nothing that was typed is lost."""
    return page(
        request,
        "sheet.html",
        422,
        text=form.text("sheet"),
        issues=error.issues,
        lot=form.text("lot"),
        code=form.text("code"),
        replaces=form.number("replaces"),
        earlier=(),
        late=(),
    )
