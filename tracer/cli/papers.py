"""The verbs that write papers for others: letter, report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tracer.cli.trace import AsJson, Casebook, Example, House, LotPath
from tracer.wording.language import tell


def letter(
    lot: LotPath = None,
    example: Example = None,
    by: Annotated[str, typer.Option("--by", help="Day by which you ask for an answer, 2026-03-20.")] = "",
    stage: Annotated[
        str | None, typer.Option("--stage", help="Stage to ask about; default: the most probable.")
    ] = None,
    language: Annotated[str, typer.Option("--language", help="en, es, pt, fr.")] = "en",
    to: Annotated[
        str,
        typer.Option(
            "--to",
            help="exporter, importer, decaffeinator, carrier, warehouse, roaster or bench; default: whom the stage asks.",
        ),
    ] = "",
    kind: Annotated[
        str, typer.Option("--kind", help="query, reminder, thanks, or information (no claim).")
    ] = "query",
    sent: Annotated[str, typer.Option("--sent", help="For a reminder: day of the first letter.")] = "",
    enclose: Annotated[
        list[str] | None, typer.Option("--enclose", metavar="WHAT", help="What you enclose; may be repeated.")
    ] = None,
    sender: Annotated[str, typer.Option("--sender", help="Your name, as it stands under the letter.")] = "",
    as_markdown: Annotated[bool, typer.Option("--markdown", help="Markdown instead of plain text.")] = False,
    house: House = None,
    casebook: Casebook = None,
    as_json: AsJson = False,
) -> None:
    """Write to who can answer: facts of the sheet, what only they can tell, by when; no accusation."""
    import json
    import sys

    from tracer.cli import inputs
    from tracer.names import printable
    from tracer.report.letter import markdown
    from tracer.report.letter_request import LetterRequest, letter_for
    from tracer.tracing import trace as trace_lot

    base = inputs.knowledge(house)
    sheet = inputs.lot(lot, example, base)
    report = trace_lot(sheet, base, panel=inputs.measured(sheet, base, casebook))
    asked = LetterRequest(kind, language, by, stage or "", sender, to, sent, tuple(enclose or ()))
    found = letter_for(report, sheet, base, asked)
    for text in found.to_mind:
        print(tell("warning: {text}", text=printable(text)), file=sys.stderr)
    written = found.written
    if written is None:
        told = tell(found.without)
        print(
            json.dumps({"text": None, "because": told, "to": found.to}, ensure_ascii=False)
            if as_json
            else told
        )
    elif as_json:
        print(
            json.dumps(
                {
                    "subject": written.subject,
                    "text": written.text,
                    "markdown": written.markdown,
                    "to": found.to,
                    "stage": found.stage,
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
    from tracer.render.headline import labels_of
    from tracer.render.html import page
    from tracer.render.picture import chain_picture
    from tracer.tracing import prepare, reported, weighed

    base = inputs.knowledge(house)
    sheet = inputs.lot(lot, example, base)
    ready, panel = prepare(base), inputs.measured(sheet, base, casebook)
    one = weighed(sheet, base, ready, panel)
    found, known = reported(one, ready, panel=panel), one.base
    picture = chain_picture(known, cause_graph(known), found.sources[0].fault) if found.sources else None
    inputs.write_text(
        html, page(found, picture, str(datetime.date.today()), sheet.exporter or "", labels_of(base))
    )
    print(tell("page written to {html}", html=html))
