"""The verbs that read a lot: sheet, trace, why, ask."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracer.wording.language import tell
from tracer.wording.sentence import to_type

if TYPE_CHECKING:  # other verbs start without it
    from tracer.report.document import Report

LotPath = Annotated[Path | None, typer.Argument(help="The lot sheet (YAML).", show_default=False)]
Example = Annotated[
    str | None, typer.Option("--example", metavar="NAME", help="Use a shipped example lot instead.")
]
House = Annotated[
    list[Path] | None, typer.Option("--house", metavar="DIR", help="House overlay; may be repeated.")
]
Casebook = Annotated[
    Path | None,
    typer.Option("--casebook", metavar="FILE", help="The casebook; default: under your data folder."),
]
Without = Annotated[
    list[str] | None,
    typer.Option("--without", metavar="PART", help="Leave a part of the reasoning out: precedents."),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]


def trace(
    lot: LotPath = None,
    example: Example = None,
    house: House = None,
    casebook: Casebook = None,
    as_json: AsJson = False,
    everything: Annotated[
        bool, typer.Option("--everything", help="Also every weight, finding and gap.")
    ] = False,
    examples: Annotated[bool, typer.Option("--examples", help="List the shipped example lots.")] = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep the lot as a case in the casebook; of many, all or none.")
    ] = False,
    by: Annotated[str, typer.Option("--by", help="Who keeps it.")] = "",
    replaces: Annotated[
        int | None, typer.Option("--replaces", help="Number of a kept case that this one corrects.")
    ] = None,
    another: Annotated[
        bool,
        typer.Option("--another", help="Another sheet of the lot is kept, and this one stands beside it."),
    ] = False,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="For many lots: write here; .csv gives CSV.")
    ] = None,
    jobs: Annotated[
        int | None, typer.Option("--jobs", help="For many lots: workers.", min=1, max=256)
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            "--cluster",
            metavar="WHERE",
            help="For very many lots: a Dask scheduler's address, or a number of local workers; --out is then a folder of Parquet.",
        ),
    ] = None,
    part: Annotated[
        int, typer.Option("--part", help="With --cluster: lots a part.", min=1, max=1_000_000)
    ] = 5000,
    without: Without = None,
    together: Annotated[
        bool,
        typer.Option(
            "--together", help="For many lots: trace them with the places, tables and exporters they share."
        ),
    ] = False,
) -> None:
    """Rank the probable sources of a lot's off-notes, by stage; of many (a folder, .jsonl, .csv, .xlsx, .parquet), in one table."""
    from tracer.batch.archive import is_archive
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.tracing import trace as trace_lot

    if by and not keep:
        raise typer.BadParameter(tell("--by says who keeps the lot: it goes with --keep"))
    if examples:
        from tracer.lots.attached import examples as names

        print("\n".join(names()))
        return
    if not keep and (replaces is not None or another):
        raise typer.BadParameter(tell("--replaces and --another go with --keep"))
    base = inputs.knowledge(house)
    if lot is not None and example is None and is_archive(lot):
        from tracer.cli import archive

        parts = inputs.parts(without)
        if replaces is not None or everything:
            raise typer.BadParameter(tell("--replaces and --everything are for one lot"))
        if keep and (together or cluster is not None or out is not None or as_json):
            raise typer.BadParameter(tell("--keep takes none of --together, --cluster, --out and --json"))
        if together:
            from tracer.cli.together import trace_folder

            if cluster is not None or out is not None or jobs is not None:
                raise typer.BadParameter(tell("--together takes none of --out, --jobs and --cluster"))
            ready, cups = inputs.prepared(base, without), inputs.measured_cups(casebook)
            raise typer.Exit(1 if trace_folder(lot, base, as_json, ready, cups) else 0)
        if cluster is not None:
            if out is None:
                raise typer.BadParameter(tell("--cluster needs --out DIR"))
            from tracer.cli import on_cluster

            cups = inputs.measured_cups(casebook)
            raise typer.Exit(1 if on_cluster.trace_archive(lot, base, cluster, out, part, parts, cups) else 0)
        houses, workers = tuple(house or ()), jobs or archive.default_jobs()
        if keep:
            from tracer.cli.folder import keep_folder, table

            inputs.check_signed(by)
            told, passed_over = keep_folder(lot, base, houses, workers, parts, casebook, by, another)
            console().print(table(told, 0))
            raise typer.Exit(1 if passed_over else 0)
        cups = inputs.measured_cups(casebook)
        if out is None and not as_json:
            raise typer.Exit(1 if archive.show_archive(lot, base, houses, workers, parts, cups) else 0)
        as_csv = out is not None and out.suffix.lower() == ".csv"
        bad = archive.trace_archive(lot, base, houses, workers, out, as_csv, parts, cups)
        raise typer.Exit(1 if bad else 0)
    if cluster is not None or out is not None or jobs is not None or together:
        raise typer.BadParameter(
            tell(
                "--out, --jobs, --cluster and --together are for many lots: a folder, .jsonl, .csv, .xlsx or .parquet"
            )
        )
    if keep:
        inputs.check_signed(by)
    sheet = inputs.lot(lot, example, base)
    ready = inputs.prepared(base, without)
    panel = inputs.measured(sheet, base, casebook, new=keep)
    if not keep:
        _show(trace_lot(sheet, base, ready, panel=panel), as_json, everything)
        return
    from tracer.cli import keeping
    from tracer.lots.attached import example_path

    source = lot if lot is not None else example_path(example or "")
    one = keeping.wanted(inputs.book_path(casebook), source, sheet, base, replaces, another)
    report, after = keeping.traced(one, lambda asked: trace_lot(asked, base, ready, panel=panel))
    _show(after or report, as_json, everything)
    keeping.keep(one, report, after, base, by)


def _show(report: Report, as_json: bool, everything: bool) -> None:
    from tracer.cli.screen import console
    from tracer.render.text import show_report

    if as_json:
        print(report.to_json())
    else:
        show_report(report, console(), everything)


def why(
    lot: LotPath = None,
    source: Annotated[
        str | None,
        typer.Argument(metavar="[FAULT]", help="A fault id; default: the first source.", show_default=False),
    ] = None,
    example: Example = None,
    house: House = None,
    casebook: Casebook = None,
    without: Without = None,
    as_json: AsJson = False,
) -> None:
    """Show the chain and the weights for and against one source."""
    import json
    from dataclasses import asdict

    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.issues import InputError
    from tracer.names import did_you_mean
    from tracer.render.in_full import source_screen
    from tracer.tracing import reported, weighed

    if example is not None and lot is not None and source is None:
        lot, source = None, str(lot)
    base = inputs.knowledge(house)
    sheet = inputs.lot(lot, example, base)
    ready = inputs.prepared(base, without)
    panel = inputs.measured(sheet, base, casebook)
    one = weighed(sheet, base, ready, panel)
    known = one.base.faults
    if source is not None and source not in known:
        remedy = did_you_mean(source, known, tell("See the faults of a stage with: tracer show STAGE"))
        raise InputError.of(
            "FAULT", tell("'{source}' is no fault of the knowledge base", source=source), remedy
        )
    report = reported(one, ready, keep=source, panel=panel)
    chosen = [line for line in report.sources if source in (None, line.fault)][:1]
    if not chosen:
        print(tell("No off-note was reported, so there is no source to explain."))
    elif as_json:
        print(json.dumps(asdict(chosen[0]), ensure_ascii=False, indent=2))
    else:
        console().print(source_screen(chosen[0]))


def ask(
    lot: LotPath = None,
    example: Example = None,
    house: House = None,
    casebook: Casebook = None,
    as_json: AsJson = False,
) -> None:
    """List what to ask whom and what to test next, and what each answer would change."""
    import json
    from dataclasses import asdict

    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.render.questions import questions_screen
    from tracer.tracing import trace as trace_lot

    base = inputs.knowledge(house)
    sheet = inputs.lot(lot, example, base)
    report = trace_lot(sheet, base, panel=inputs.measured(sheet, base, casebook))
    if as_json:
        print(json.dumps([asdict(line) for line in report.asks], ensure_ascii=False, indent=2))
    else:
        console().print(questions_screen(report))


def sheet(
    stage: Annotated[
        list[str] | None, typer.Option("--stage", help="Only the records of this stage; may be repeated.")
    ] = None,
    everything: Annotated[
        bool,
        typer.Option("--everything", help="Also rows that no rule and no question reads yet; they are kept."),
    ] = False,
    fields: Annotated[
        bool, typer.Option("--fields", help="The reference page of the fields instead.")
    ] = False,
    table: Annotated[
        bool,
        typer.Option(
            "--table", help="A table for many lots instead, as CSV; with --stage also that stage's records."
        ),
    ] = False,
    for_editor: Annotated[
        bool, typer.Option("--schema", help="The JSON schema for editors instead.")
    ] = False,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Print a blank lot sheet with every field explained."""
    import json

    from tracer.cli import inputs
    from tracer.issues import InputError
    from tracer.lots.sheet import blank_sheet, reference_page, schema, weighed_records
    from tracer.names import did_you_mean

    base = inputs.knowledge(house)
    unknown = [name for name in stage or () if name not in base.stages]
    if unknown:
        remedy = did_you_mean(unknown[0], base.stages, tell("Stages: {stages}.", stages=to_type(base.stages)))
        raise InputError.of("--stage", tell("'{unknown}' is no stage", unknown=unknown[0]), remedy)
    if fields:
        print(reference_page(), end="")
        return
    if table:
        from tracer.lots.lot_table import template

        wanted = weighed_records(base).values()
        print(template(r for r in wanted if stage and r.section == "history" and r.stage in stage), end="")
        return
    if for_editor:
        print(json.dumps(schema(base.stages, base.records), ensure_ascii=False, indent=2))
        return
    if as_json:
        rows = [
            r.model_dump(mode="json", exclude_none=True) for r in base.records.values() if r.section != "lot"
        ]
        kept = [row for row in rows if not stage or row.get("stage") in (None, *stage)]
        print(json.dumps(kept, ensure_ascii=False, indent=2))
        return
    asked = base.records if everything else weighed_records(base)
    print(blank_sheet(base.stages, asked, tuple(stage) if stage else None))
    if not everything:
        more = len(base.records) - len(asked)
        print(
            tell(
                "# {more} more rows are known, which are kept and not weighed yet: tracer sheet --everything",
                more=more,
            )
        )
