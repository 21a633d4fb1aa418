"""The leader of a table: opens it, sees who is done, reveals, and makes the lot sheet of what was said."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from pydantic import ValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.cases import Case, cases, whole
from tracer.casebook.table_facts import SampleFacts
from tracer.casebook.table_rows import Progress, Table, Told
from tracer.casebook.tasting import Tasted, appended, flight_cupping, flight_sheet, sheet_text, sheet_values
from tracer.issues import InputError
from tracer.page.notes_said import OpenWord, Row, grid, late_words, only_reading, open_words, stops_everybody
from tracer.page.render import Form, go, language_of, page, site_of, whole_number
from tracer.page.roles import may, role_of
from tracer.page.site import Site
from tracer.page.table_form import issues_of, read_table_form, table_form
from tracer.panel.references import references
from tracer.render.panel_plan import one_reference
from tracer.wording.sentence import Own, say


def only_leader(request: Request) -> None:
    """Refuse everybody but the leader; away from the tables, and the desk."""
    if not may(role_of(request, site_of(request).keys), request.method, request.url.path):
        raise HTTPException(403, "Only the leader's browser may do this.")


def new(request: Request) -> Response:
    """The form that opens a table."""
    only_leader(request)
    return table_form(request, Form({}, {}), (), 200)


def create(request: Request, form: Form) -> Response:
    """Open a table, or show the form again with what is wrong."""
    only_leader(request)
    try:
        facts = read_table_form(form)
    except ValidationError as error:
        return table_form(request, form, issues_of(error), 422)
    code = tables.open_table(site_of(request).book, facts, form.text("by")[:60])
    return go(f"/table/{code}")


def table(request: Request) -> Response:
    """The table as its leader sees it: who is where; of a sample that is revealed, what everybody said."""
    only_leader(request)
    site, language = site_of(request), language_of(request)
    found = tables.table(site.book, request.path_params["code"])
    if found.code != request.path_params["code"]:
        return go(f"/table/{found.code}")
    progress = tables.progress(site.book, found.code)
    samples = [_sample(site, language, found, progress, sample) for sample in range(len(found.facts.samples))]
    reachable = not site.address.split("//")[-1].startswith(("127.0.0.1", "localhost", "[::1]"))
    return page(
        request,
        "table.html",
        table=found,
        progress=progress,
        stop=site.base.settings.cautions.stop if stops_everybody(site, found.code) else None,
        join=f"{site.address}/join/{found.code}",
        reachable=reachable,
        picture=_code_picture(f"{site.address}/join/{found.code}") if reachable else None,
        shown=samples,
        late=_waiting_late(samples),
        freed=whole_number(request.query_params.get("freed", "")),
        one_reference=_one_reference(site, found),
    )


def _one_reference(site: Site, table: Table) -> list[str]:
    """Of a blind set, the notes that no cup of it tells apart."""
    notes = dict.fromkeys(note for one in table.facts.flight for note in one.notes)
    return one_reference(references(site.base, tuple(notes)), site.base) if notes else []


def _waiting_late(samples: Sequence[Shown]) -> dict[str, tuple[str, ...]]:
    """Late words about lots that are not kept yet: taster -> lines."""
    found: dict[str, tuple[str, ...]] = {}
    for one in samples:
        for taster, lines in one.late.items() if one.case is None else ():
            found[taster] = (*found.get(taster, ()), *(f"{one.mark} {line}".strip() for line in lines))
    return found


@dataclass(frozen=True, slots=True)
class Shown:
    """One sample of a table as its leader sees it."""

    number: int
    mark: str
    facts: SampleFacts
    finished: int
    revealed: bool
    case: int | None
    told: tuple[Told, ...]
    grid: tuple[Row, ...]
    open: tuple[OpenWord, ...]
    late: Mapping[str, tuple[str, ...]]


def _sample(site: Site, language: str, table: Table, progress: Sequence[Progress], sample: int) -> Shown:
    revealed = sample in table.shown
    told = tables.told(site.book, table.code, sample) if revealed else ()
    return Shown(
        sample,
        table.facts.mark(sample),
        table.facts.samples[sample],
        sum(sample in one.finished for one in progress),
        revealed,
        table.cases.get(sample),
        told,
        grid(site, language, told, table.facts.blind_set),
        open_words(site, told),
        late_words(told, language),
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
    """Open everybody's notes of a sample, or of all, to everybody."""
    only_leader(request)
    code = request.path_params["code"]
    tables.reveal(site_of(request).book, code, form.number("sample"))
    return go(f"/table/{code}")


def free(request: Request, form: Form) -> Response:
    """Let a taster go on from another device."""
    only_leader(request)
    code, seat = request.path_params["code"], form.number("seat") or 0
    tables.free(site_of(request).book, code, seat)
    return go(f"/table/{code}?freed={seat}")


def hold(request: Request, form: Form) -> Response:
    """Undo that a name was freed."""
    only_leader(request)
    code = request.path_params["code"]
    tables.take_back(site_of(request).book, code, form.number("seat") or 0)
    return go(f"/table/{code}")


def settle(request: Request, form: Form) -> Response:
    """What a taster, asked back, says the words mean; nothing chosen takes it back."""
    only_leader(request)
    site, code, means = site_of(request), request.path_params["code"], form.text("means")
    if means and means not in site.base.descriptors:
        raise InputError.of(
            "--means",
            say("no off-note has the id {means}", means=Own(means[:80])),
            say("Choose from the list."),
        )
    sample, taster = form.number("sample") or 0, form.text("taster")[:60]
    tables.settle(site.book, code, sample, taster, form.text("words")[:200], means or None)
    return go(f"/table/{code}#sample-{sample}")


def said_of(site: Site, found: Table, late: Collection[str] = ()) -> dict[int, list[tuple[str, Tasted]]]:
    """What counts of every sample that is revealed; `late` are the tasters whose later words are taken."""
    return {
        sample: [
            (one.taster, _without_needless(site, one.late if one.late and one.taster in late else one.counts))
            for one in tables.told(site.book, found.code, sample)
        ]
        for sample in sorted(found.shown)
    }


def bench_of(found: Table) -> str:
    """What the lots of one flight share: the table they stood on."""
    return f"table {found.code}"


def sheet(request: Request) -> Response:
    """The lot sheet of a sample, to be read and mended before it is kept; `add` joins it to a kept case of the lot."""
    only_leader(request)
    site, found = site_of(request), tables.table(site_of(request).book, request.path_params["code"])
    late = set(request.query_params.getlist("late"))
    sample = min(whole_number(request.query_params.get("sample", "")) or 0, len(found.facts.samples) - 1)
    tables.told(site.book, found.code, sample)  # refused while it is blind
    said, lot = said_of(site, found, late), found.facts.samples[sample].lot
    earlier = _cases_of(site, lot)
    add = request.query_params.get("add", "")
    chosen = next((case for case in earlier if str(case.id) == add), None)
    if chosen is None:
        text = sheet_text(flight_sheet(found.facts, sample, said, bench_of(found)))
    else:
        data = sheet_values(whole(site.book, chosen.id).sheet)
        cupping = flight_cupping(found.facts, sample, said, bench_of(found))
        data["cuppings"] = appended(data.get("cuppings"), cupping)
        text = sheet_text(data)
    return page(
        request,
        "sheet.html",
        text=text,
        issues=(),
        lot=lot,
        code=found.code,
        sample=sample,
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
        sample=form.number("sample") or 0,
        replaces=form.number("replaces"),
        earlier=(),
        late=(),
    )
