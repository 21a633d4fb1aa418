"""The verbs that write papers for others: letter, report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tracer.cli.trace import AsJson, Casebook, Example, House, LotPath


def letter(
    lot: LotPath = None,
    example: Example = None,
    by: Annotated[str, typer.Option("--by", help="Day by which you ask for an answer, 2026-03-20.")] = "",
    stage: Annotated[
        str | None, typer.Option("--stage", help="Stage to ask about; default: the most probable.")
    ] = None,
    language: Annotated[str, typer.Option("--language", help="en, es, pt, fr.")] = "en",
    kind: Annotated[str, typer.Option("--kind", help="query, or information (no claim).")] = "query",
    sender: Annotated[str, typer.Option("--sender", help="Your name, as it stands under the letter.")] = "",
    as_markdown: Annotated[bool, typer.Option("--markdown", help="Markdown instead of plain text.")] = False,
    house: House = None,
    casebook: Casebook = None,
    as_json: AsJson = False,
) -> None:
    """Write the query to the exporter for a stage: facts, what is asked and why, by when; no accusation."""
    import json
    import sys

    from tracer.cli import inputs
    from tracer.issues import InputError, Issue, Place
    from tracer.names import did_you_mean, printable
    from tracer.report.letter import asked_of_stage, markdown, write
    from tracer.tracing import trace as trace_lot

    base = inputs.knowledge(house)
    sheet = inputs.lot(lot, example, base)
    templates = [one for one in base.letters.values() if one.kind == kind and one.language == language]
    if not templates:
        known = ", ".join(f"{one.kind} in {one.language}" for one in base.letters.values())
        raise InputError(
            [Issue(Place("--language"), f"there is no {kind} letter in '{language}'", f"There are: {known}.")]
        )
    day = str(inputs.day(by, "--by")) if by else None
    if day is None:
        raise InputError(
            [
                Issue(
                    Place("--by"),
                    "the letter needs a day to answer by",
                    "Add --by 2026-03-20; leave time inside your own claim days.",
                )
            ]
        )
    report = trace_lot(sheet, base, panel=inputs.measured(sheet, base, casebook))
    if not report.notes:
        raise InputError(
            [
                Issue(
                    Place(report.lot),
                    "no off-note was reported, so there is nothing to ask",
                    "Put the notes on the sheet first.",
                )
            ]
        )
    chosen = stage or report.stages[0].stage
    if chosen not in base.stages:
        raise InputError(
            [
                Issue(
                    Place("--stage"),
                    f"'{chosen}' is no stage",
                    did_you_mean(chosen, base.stages, f"Stages: {', '.join(base.stages)}."),
                )
            ]
        )
    if chosen in base.settings.verdicts.bench_stages:
        where = base.stages[chosen].label
        raise InputError(
            [
                Issue(
                    Place("--stage"),
                    f"the most probable stage is our own: {where}",
                    "Settle it in the house first, or name another --stage.",
                )
            ]
        )
    questions = asked_of_stage(report, base, chosen)
    if not questions and kind == "query":
        print(
            "warning: every question about this stage is answered already; the letter asks nothing.",
            file=sys.stderr,
        )
    if report.deadlines and day > report.deadlines[0].last_day:
        print(
            f"warning: {day} is after the first claim day, {report.deadlines[0].last_day} ({printable(report.deadlines[0].what)}).",
            file=sys.stderr,
        )
    written = write(report, sheet, base, templates[0], questions, day, sender)
    if written.untranslated:
        print(
            f"warning: {len(written.untranslated)} question(s) have no words in '{language}' yet and stand in English.",
            file=sys.stderr,
        )
    if as_json:
        print(
            json.dumps(
                {
                    "subject": written.subject,
                    "text": written.text,
                    "markdown": written.markdown,
                    "stage": chosen,
                },
                ensure_ascii=False,
                indent=2,
            )
        )
    elif as_markdown:
        print(f"# {markdown(written.subject)}\n\n{written.markdown}", end="")
    else:
        print(f"{written.subject}\n\n{written.text}", end="")


def report(
    html: Annotated[Path, typer.Option("--html", metavar="FILE", help="Page to write.")],
    lot: LotPath = None,
    example: Example = None,
    house: House = None,
    casebook: Casebook = None,
) -> None:
    """Write one printable page: the answer first, then the chain, the evidence, the history, what to ask, cautions."""
    import datetime

    from tracer.causes.graph import cause_graph
    from tracer.cli import inputs
    from tracer.report.html import page
    from tracer.report.picture import chain_picture
    from tracer.tracing import trace as trace_lot

    base = inputs.knowledge(house)
    sheet = inputs.lot(lot, example, base)
    found = trace_lot(sheet, base, panel=inputs.measured(sheet, base, casebook))
    picture = chain_picture(base, cause_graph(base), found.sources[0].fault) if found.sources else None
    inputs.write_text(html, page(found, picture, str(datetime.date.today())))
    print(f"page written to {html}")
