"""The verb history: what logs, readings and sentences of a lot show, and how a logger file reads."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tracer.cli.trace import AsJson, Example, House, LotPath
from tracer.wording.language import tell
from tracer.wording.sentence import joined


def history(
    lot: LotPath = None,
    example: Example = None,
    house: House = None,
    as_json: AsJson = False,
    svg: Annotated[
        Path | None, typer.Option("--svg", metavar="FILE", help="Also draw the logs as a picture.")
    ] = None,
    look: Annotated[
        Path | None,
        typer.Option(
            "--look", metavar="FILE", help="Look at a logger file (CSV, XLSX): what its columns seem to hold."
        ),
    ] = None,
) -> None:
    """Show a lot in time: days by stage, what its logs and readings show, and the findings they make."""
    import json
    from dataclasses import asdict

    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.render.timeline import history_screen
    from tracer.tracing import trace as trace_lot

    if look is not None:
        if lot is not None or example is not None:
            raise typer.BadParameter(tell("--look reads one logger file; leave out the lot sheet"))
        _look(look, as_json)
        return
    base = inputs.knowledge(house)
    report = trace_lot(inputs.lot(lot, example, base), base)
    if svg is not None:
        _draw(svg, report.charts, tell("Lot {lot}", lot=report.lot))
    if as_json:
        found = {
            "lot": report.lot,
            "dated": [asdict(line) for line in report.dated],
            **asdict(report.history),
            "charts": [asdict(chart) for chart in report.charts],
            "sampling": report.sampling,
        }
        print(json.dumps(found, ensure_ascii=False, indent=2))
        return
    labels = {
        **{s.id: s.label for s in base.stages.values()},
        **{r.id: r.label for r in base.records.values()},
    }
    console().print(history_screen(report, labels))


def _draw(path: Path, charts: tuple, title: str) -> None:  # type: ignore[type-arg]
    from tracer.cli.inputs import write_text
    from tracer.issues import InputError
    from tracer.render.plot import log_picture

    if not charts:
        raise InputError.of(
            path, tell("there is no log to draw"), tell("Name the logger files under history: in the sheet.")
        )
    write_text(path, log_picture(charts, title))


def _look(path: Path, as_json: bool) -> None:
    import json
    from dataclasses import asdict

    from tracer.issues import InputError
    from tracer.lots.logs.columns import propose
    from tracer.lots.logs.grid import read_grid
    from tracer.names import printable
    from tracer.spreadsheets.limits import TableError, what_is_wrong

    try:
        grid = read_grid(path)
    except (TableError, OSError) as error:
        told, remedy = what_is_wrong(error)
        raise InputError.of(path, tell("the file cannot be used: {error}", error=told), remedy) from None
    proposal = propose(grid.headings, grid.frame)
    if as_json:
        print(
            json.dumps(
                {"rows": len(grid.frame), "headings": grid.headings, **asdict(proposal)},
                ensure_ascii=False,
                indent=2,
            )
        )
        return
    print(
        tell(
            "{name}: {count:,} rows from row {value}. Columns:",
            name=path.name,
            count=len(grid.frame),
            value=int(grid.rows[0]) if len(grid.rows) else 0,
        )
    )
    for index, heading in enumerate(grid.headings):
        shown = joined(printable(str(value)) for value in grid.frame[index].iloc[:3])
        print(f"  {printable(heading) or '(no heading)'}: {shown} ...")
    if grid.note:
        print(tell("Note: {note}.", note=grid.note))
    print(
        tell(
            "\nProposed. Read it, mend it, and put it under logs: of the right stage; nothing counts before that:"
        )
    )
    print(
        tell(
            "  - {{file: {name}, where: air, {line}}}",
            name=printable(path.name),
            line=printable(proposal.line()),
        )
    )
    for question in proposal.questions:
        print(tell("Decide: {question}", question=printable(question)))
