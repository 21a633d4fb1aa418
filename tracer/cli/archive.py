"""`tracer trace` over an archive: pieces to workers, results in order, bad sheets told and passed over."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import asdict
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from tracer.batch.archive import Piece, pieces, read_piece
from tracer.batch.many import COLUMNS, Brief, brief, flat
from tracer.issues import Issue, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.tracing import Prepared
from tracer.wording.language import tell
from tracer.wording.sentence import joined

if TYPE_CHECKING:
    from tracer.casebook.sessions import Kept
    from tracer.inference.tasters import PanelOf
    from tracer.lots.lot import Lot
    from tracer.report.document import Report

T = TypeVar("T")
CHUNK = 250
FULL_CHUNK = 8
"""Lots given to a worker at a time where each is traced in full."""
AHEAD = 4
_worker: tuple[KnowledgeBase, Prepared] | None = None
_panel: PanelOf | None = None
"""What is measured of a lot's tasters, where this worker asks a casebook."""

Result = tuple[list[Brief | None], list[list[Issue]]]


def _start(houses: tuple[Path, ...], without: tuple[str, ...] = (), cups: tuple[Kept, ...] = ()) -> None:
    from tracer.cli import inputs
    from tracer.panel.reliability import panels

    global _worker, _panel
    base = inputs.knowledge(houses)
    _worker = base, inputs.prepared(base, without)
    _panel = panels(cups, base) if cups else None


def _work(chunk: Sequence[Piece]) -> Result:
    assert _worker is not None
    base, ready = _worker
    read = [read_piece(piece, base) for piece in chunk]
    lots = [lot for lot, issues in read if lot is not None and not has_errors(issues)]
    briefs = iter(brief(lots, base, ready, _panel))
    found = [next(briefs) if lot is not None and not has_errors(issues) else None for lot, issues in read]
    return found, [list(issues) for _, issues in read]


def trace_archive(
    path: Path,
    base: KnowledgeBase,
    houses: tuple[Path, ...],
    jobs: int,
    out: Path | None,
    as_csv: bool,
    without: tuple[str, ...] = (),
    cups: tuple[Kept, ...] = (),
) -> int:
    """Trace every lot of an archive and write a line each; the number of lots that could not be read. `cups` are those that the
    tasters are measured by.
    """
    from tracer.cli import inputs

    bad: list[Issue] = []
    lines = _lines(path, base, houses, jobs, as_csv, bad, without, cups)
    if out is not None:
        inputs.write_lines(out, lines)
    else:
        for line in lines:
            print(line)
    for issue in bad:
        print(issue, file=sys.stderr)
    return len(bad)


def show_archive(
    path: Path,
    base: KnowledgeBase,
    houses: tuple[Path, ...],
    jobs: int,
    without: tuple[str, ...] = (),
    cups: tuple[Kept, ...] = (),
) -> int:
    """Trace every lot of an archive and print one table; the number of lots that could not be read."""
    from tracer.cli.folder import table
    from tracer.cli.screen import console

    briefs: list[Brief] = []
    unread = 0
    with Bar() as bar:
        for chunk, (found, issues) in _results(pieces(path, base), houses, jobs, without, _work, CHUNK, cups):
            briefs += [one for one in found if one is not None]
            unread += sum(one is None for one in found)
            for problems in issues:
                for issue in problems:
                    if issue.level == "error":
                        print(issue, file=sys.stderr)
            bar(len(chunk))
    console().print(table(briefs, unread))
    return unread


def _lines(
    path: Path,
    base: KnowledgeBase,
    houses: tuple[Path, ...],
    jobs: int,
    as_csv: bool,
    bad: list[Issue],
    without: tuple[str, ...],
    cups: tuple[Kept, ...],
) -> Iterator[str]:
    if as_csv:
        yield _row(COLUMNS)
    count = 0
    with Bar() as bar:
        for chunk, (briefs, issues) in _results(
            pieces(path, base), houses, jobs, without, _work, CHUNK, cups
        ):
            for (file, number, _), one, problems in zip(chunk, briefs, issues, strict=True):
                bad += [issue for issue in problems if issue.level == "error"]
                yield _as_csv(one, problems) if as_csv else _as_json(one, file, number, problems)
            count += len(chunk)
            bar(len(chunk))
    print(tell("{count:,} lots", count=count), file=sys.stderr)


def _results(
    source: Iterable[Piece],
    houses: tuple[Path, ...],
    jobs: int,
    without: tuple[str, ...],
    work: Callable[[Sequence[Piece]], T],
    size: int = CHUNK,
    cups: tuple[Kept, ...] = (),
) -> Iterator[tuple[Sequence[Piece], T]]:
    """Chunks with their results, in order; never more than a few chunks are held."""
    stream = iter(source)
    first = list(islice(stream, size))
    if len(first) < size or jobs <= 1:
        _start(houses, without, cups)
        chunk = first
        while chunk:
            yield chunk, work(chunk)
            chunk = list(islice(stream, size))
        return
    with ProcessPoolExecutor(jobs, initializer=_start, initargs=(houses, without, cups)) as pool:
        waiting: list[tuple[list[Piece], Future[T]]] = []
        chunk = first
        while chunk or waiting:
            while chunk and len(waiting) < jobs * AHEAD:
                waiting.append((chunk, pool.submit(work, chunk)))
                chunk = list(islice(stream, size))
            done, future = waiting.pop(0)
            yield done, future.result()


def in_full(
    path: Path,
    base: KnowledgeBase,
    houses: tuple[Path, ...],
    jobs: int,
    without: tuple[str, ...],
    work: Callable[[Sequence[Piece]], T],
) -> Iterator[tuple[Sequence[Piece], T]]:
    """Chunks of an archive with what `work` makes of them in a worker, in order, with a bar on the terminal."""
    with Bar() as bar:
        for chunk, done in _results(pieces(path, base), houses, jobs, without, work, FULL_CHUNK):
            bar(len(chunk))
            yield chunk, done


def worker() -> tuple[KnowledgeBase, Prepared]:
    """What this worker works with."""
    assert _worker is not None
    return _worker


def traced(
    chunk: Sequence[Piece], casebook: Path | None
) -> Iterator[tuple[Piece, Lot | None, Report | None, list[Issue]]]:
    """In a worker: each piece with its lot, its whole report, and what is wrong with it; no report where it cannot be read."""
    from tracer.cli import inputs
    from tracer.tracing import trace

    base, ready = worker()
    for piece in chunk:
        lot, issues = read_piece(piece, base)
        good = lot is not None and not has_errors(issues)
        panel = inputs.measured(lot, base, casebook, new=True) if lot is not None and good else None
        yield piece, lot, trace(lot, base, ready, panel=panel) if lot is not None and good else None, issues


class Bar:
    """A bar on the terminal that counts lots; nothing where no terminal is."""

    def __init__(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

        console = Console(stderr=True)
        columns = (TextColumn(tell("lots")), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        self._progress = Progress(*columns, console=console, disable=not console.is_terminal, transient=True)
        self._task = self._progress.add_task("", total=None)

    def __enter__(self) -> Callable[[int], None]:
        self._progress.__enter__()
        return lambda lots: self._progress.update(self._task, advance=lots)

    def __exit__(self, *error: Any) -> None:
        self._progress.__exit__(*error)


def default_jobs() -> int:
    """Workers: one for each core this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _as_json(one: Brief | None, file: str, number: int, problems: Sequence[Issue]) -> str:
    if one is None:
        return json.dumps(
            {"lot": None, "file": file, "line": number, "error": joined((i.message for i in problems), "; ")},
            ensure_ascii=False,
        )
    data: dict[str, Any] = asdict(one)
    for name in ("sources", "stages"):
        data[name] = [
            {
                k: (round(v, 6) if isinstance(v, float) else v)
                for k, v in row.items()
                if k not in ("low", "high")
            }
            for row in data[name]
        ]
    data["none_of_these"] = round(one.none_of_these, 6)
    return json.dumps(data, ensure_ascii=False)


def _as_csv(one: Brief | None, problems: Sequence[Issue]) -> str:
    row = flat(one, problems).values()
    return _row(
        "" if cell is None else f"{cell:.4f}" if isinstance(cell, float) else str(cell) for cell in row
    )


def _row(cells: Iterable[str]) -> str:
    from tracer.names import printable
    from tracer.spreadsheets.write import csv_line

    return csv_line(printable(cell) for cell in cells)
