"""`tracer season`: a folder of lots, or the casebook, as a buyer's season."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracer.cli.trace import AsJson, Casebook, House, Without
from tracer.wording.language import tell
from tracer.wording.sentence import to_type

if TYPE_CHECKING:  # other verbs of this folder start without them
    from tracer.batch.archive import Piece
    from tracer.issues import Issue
    from tracer.knowledge.base import KnowledgeBase
    from tracer.season.lots import SeasonLot


def season(
    lots: Annotated[
        Path | None,
        typer.Argument(
            help="A folder of lot sheets, .jsonl, .csv, .xlsx or .parquet; without it, the casebook.",
            show_default=False,
        ),
    ] = None,
    by: Annotated[
        str,
        typer.Option(
            "--by",
            help="Counts on the screen: exporter, mill, origin, stage, source or month; the files hold all.",
        ),
    ] = "exporter",
    since: Annotated[
        str | None, typer.Option("--since", help="Only lots cupped from this day, 2026-01-01.")
    ] = None,
    until: Annotated[str | None, typer.Option("--until", help="Only lots cupped up to this day.")] = None,
    on: Annotated[
        str | None, typer.Option("--on", help="The day from which claim days count; default: today.")
    ] = None,
    csv_file: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write a row a lot as CSV.")
    ] = None,
    html: Annotated[
        Path | None, typer.Option("--html", metavar="FILE", help="Write one printable page with plots.")
    ] = None,
    jobs: Annotated[
        int | None, typer.Option("--jobs", help="For many lots: workers.", min=1, max=256)
    ] = None,
    house: House = None,
    casebook: Casebook = None,
    without: Without = None,
    as_json: AsJson = False,
) -> None:
    """Show a season: what was cupped, held and traced, by whom; what is more than chance; claim days; whom to ask."""
    import sys

    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.render.season_page import page
    from tracer.render.season_screen import screen
    from tracer.season import data
    from tracer.season.gather import between
    from tracer.season.row import merged
    from tracer.season.season import season as worked_out

    base = inputs.knowledge(house)
    _check_by(by)
    today = inputs.day(on)
    first = inputs.day(since, "--since") if since else None
    last = inputs.day(until, "--until") if until else None
    rows, bad = (
        _of_book(casebook, base) if lots is None else _of_archive(lots, house, casebook, jobs, without, base)
    )
    for issue in bad:
        print(issue, file=sys.stderr)
    kept = between(merged(rows), first, last)
    found = worked_out(kept, base, today)
    if csv_file is not None:
        inputs.write_lines(csv_file, data.as_csv(found))
        print(tell("table written to {file}", file=csv_file), file=sys.stderr)
    if html is not None:
        inputs.write_text(html, page(found))
        print(tell("page written to {html}", html=html), file=sys.stderr)
    if as_json:
        print(data.as_json(found))
    elif csv_file is None and html is None:
        if kept:
            console().print(screen(found, by))
        else:
            print(tell("No lot is here. Keep lots with: tracer trace FOLDER --keep"))
    raise typer.Exit(1 if any(issue.level == "error" for issue in bad) else 0)


def _check_by(by: str) -> None:
    from tracer.issues import InputError
    from tracer.names import did_you_mean
    from tracer.season.counts import BY

    if by not in BY:
        remedy = did_you_mean(by, BY, tell("It can be: {PARTS}.", PARTS=to_type(BY)))
        raise InputError.of("--by", tell("lots cannot be counted by '{by}'", by=by), remedy)


def _of_book(casebook: Path | None, base: KnowledgeBase) -> tuple[list[SeasonLot], list[Issue]]:
    from tracer.cli import inputs
    from tracer.issues import InputError
    from tracer.season.gather import of_casebook

    path = inputs.book_path(casebook)
    if casebook is not None and not path.exists():
        message = tell("there is no casebook here")
        raise InputError.of(path, message, tell("Check the name, or leave --casebook out."))
    return of_casebook(path, base)


def _of_archive(
    path: Path,
    house: list[Path] | None,
    casebook: Path | None,
    jobs: int | None,
    without: list[str] | None,
    base: KnowledgeBase,
) -> tuple[list[SeasonLot], list[Issue]]:
    """Every lot of a folder or file, traced in full; sheets that cannot be read are told and passed over."""
    from functools import partial

    from tracer.batch.archive import is_archive
    from tracer.cli import archive, inputs
    from tracer.issues import InputError

    if not path.exists():
        message = tell("there is no such file or folder")
        raise InputError.of(path, message, tell("Check the name."))
    if not is_archive(path):
        message = tell("a season is made of many lots")
        remedy = tell("Give a folder, .jsonl, .csv, .xlsx or .parquet; or leave it out for the casebook.")
        raise InputError.of(path, message, remedy)
    rows: list[SeasonLot] = []
    bad: list[Issue] = []
    work = partial(_rows, casebook=casebook)
    for _, (found, issues) in archive.in_full(
        path, base, tuple(house or ()), jobs or archive.default_jobs(), inputs.parts(without), work
    ):
        rows += found
        bad += issues
    return rows, bad


def _rows(chunk: Sequence[Piece], casebook: Path | None) -> tuple[list[SeasonLot], list[Issue]]:
    """In a worker: the rows of some pieces."""
    from dataclasses import asdict

    from tracer.cli import archive
    from tracer.season.row import row_of
    from tracer.words.kept import vocabulary_of

    rows, bad = [], []
    base, _ = archive.worker()
    words = vocabulary_of(base)
    for piece, lot, report, issues in archive.traced(chunk, casebook):
        bad += [issue for issue in issues if issue.level == "error"]
        if lot is not None and report is not None:
            rows.append(
                row_of(
                    lot,
                    asdict(report),
                    base,
                    words,
                    piece[0] if piece[2] is None else f"{piece[0]}:{piece[1]}",
                )
            )
    return rows, bad
