"""A flight turned into lots: every lot kept with what its table showed, and all of them traced together."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tracer.batch.together import trace_together
from tracer.casebook import tables
from tracer.casebook.again import read_kept
from tracer.casebook.cases import whole
from tracer.casebook.tasting import flight_sheet, sheet_text
from tracer.issues import InputError, has_errors
from tracer.page.keeping import ask_of_all, keep_sheet, stands_of
from tracer.page.leader import bench_of, only_leader, said_of
from tracer.page.render import Form, go, page, site_of
from tracer.wording.sentence import say


def keep(request: Request, form: Form) -> Response:
    """Keep and trace every lot that is revealed and not kept yet, each with the control and its repeats of the flight."""
    only_leader(request)
    site, found = site_of(request), tables.table(site_of(request).book, request.path_params["code"])
    said = said_of(site, found, form.all("late"))
    waiting = [
        place
        for place, one in enumerate(found.facts.samples)
        if one.kind == "lot" and place in found.shown and place not in found.cases
    ]
    if not waiting:
        raise InputError.of("--table", say("no lot of this table waits to be kept"), say("Reveal it first."))
    names = {
        sample: f"{found.facts.mark(sample)} {found.facts.samples[sample].lot}".strip() for sample in waiting
    }
    sheets = {
        names[sample]: sheet_text(flight_sheet(found.facts, sample, said, bench_of(found)))
        for sample in waiting
    }
    ask_of_all(site, sheets, stands_of(form))
    for sample, name in names.items():
        try:
            kept = keep_sheet(site, sheets[name], {}, form.text("by")[:60], stands=stands_of(form))
        except InputError as error:
            raise InputError([issue.called(name) for issue in error.issues]) from None
        tables.finish(site.book, found.code, kept.number, sample)
    return go(kept.link if not found.facts.flight else f"/table/{found.code}#kept")


def together(request: Request) -> Response:
    """The kept lots of a flight traced with what they share: what the bench did to all first, then each lot."""
    only_leader(request)
    site, found = site_of(request), tables.table(site_of(request).book, request.path_params["code"])
    lots, cases = [], []
    for _, case in sorted(found.cases.items()):
        lot, issues = read_kept(whole(site.book, case), site.base)
        if lot is None or has_errors(issues):
            raise InputError(issues)
        lots.append(lot)
        cases.append(case)
    if len(lots) < 2:
        raise InputError.of(
            "--table",
            say("two kept lots are needed to be traced together"),
            say("Keep the lots of the table first."),
        )
    with site.tracing:
        shared = trace_together(lots, site.base, site.ready)
    benches = site.base.settings.verdicts.bench_stages
    common = sorted(shared.common, key=lambda one: (one.stage not in benches, -one.probability))
    return page(
        request,
        "together.html",
        table=found,
        bench=[one for one in common if one.stage in benches],
        elsewhere=[one for one in common if one.stage not in benches],
        no_common=shared.none,
        lots=list(zip(cases, shared.lots, strict=True)),
    )
