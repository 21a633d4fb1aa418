"""`tracer panel plan`: weeks from novice to calibrated."""

from __future__ import annotations

from typing import Annotated

import typer

from tracer.cli.trace import AsJson, Casebook, House
from tracer.wording.language import tell


def plan(
    taster: Annotated[
        list[str] | None, typer.Option("--taster", help="A taster; repeat. Default: all in the casebook.")
    ] = None,
    note: Annotated[
        list[str] | None,
        typer.Option(
            "--note", help="An off-note to train; repeat. Default: all with a reference of their own."
        ),
    ] = None,
    weeks: Annotated[
        int, typer.Option("--weeks", help="Weekly sessions, the last a check.", min=2, max=52)
    ] = 8,
    start: Annotated[
        str | None, typer.Option("--start", help="Day of the first session, 2026-03-09; default: today.")
    ] = None,
    casebook: Casebook = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Plan a training: which notes each week and how strong, what to weigh and buy, the time, and when to calibrate again."""
    import json
    from dataclasses import asdict

    from tracer.casebook.sessions import kept
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.issues import InputError
    from tracer.names import fold
    from tracer.panel.plan import make, usual_notes
    from tracer.panel.set_request import refuse_unsafe, sample_of
    from tracer.render.panel_plan import plan_screen

    base, first, path = inputs.knowledge(house), inputs.day(start, "--start"), inputs.book_path(casebook)
    samples = [sample_of(base, text) for text in note or ()]
    refuse_unsafe(base, samples, smell_only=False)
    cups = [cup for cup in kept(path) if cup.on <= first]
    names = {
        fold(name): name for name in [*(taster or ()), *(() if taster else (cup.taster for cup in cups))]
    }
    if not all(names) or not names:
        remedy = tell("Name them: --taster Ana --taster Bui")
        raise InputError.of("--taster", tell("there is no taster to plan for"), remedy)
    notes = [one for sample in samples for one in sample.notes] or usual_notes(base)
    made = make(base, cups, tuple(names.values()), notes, weeks, first)
    if not made.weeks[0].serves:
        remedy = tell("See what can be: tracer panel card NOTE")
        raise InputError.of("--note", tell("none of these notes can be prepared"), remedy)
    if as_json:
        data = {**asdict(made), "references": {n: one.id for n, one in made.references.compounds.items()}}
        print(json.dumps(data, ensure_ascii=False, indent=2, default=str))
        return
    console().print(plan_screen(made, base, "".join(f" --house {folder}" for folder in house or ())))
