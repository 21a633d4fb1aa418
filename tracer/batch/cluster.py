"""Many lots on many machines: an archive cut into parts, each traced by any worker of a Dask cluster, results as Parquet.

The same `brief` as on one machine, mapped over parts; the knowledge is sent to the workers once. A part's file appears
whole or not at all, so that a run that was broken off goes on where it stopped, and a worker that dies costs only the part it
held. Archive and result folder must be reachable by all workers under the same name.
"""

from __future__ import annotations

import io
import json
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from tracer.batch.archive import Piece, parquet_rows, read_piece
from tracer.batch.many import COLUMNS, brief, flat
from tracer.inference.tasters import PanelOf
from tracer.issues import InputError, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.cache import as_data, from_data
from tracer.spreadsheets.rows import csv_heading, csv_rows
from tracer.tracing import Prepared, prepare
from tracer.whole_file import appearing
from tracer.wording.sentence import say, to_type

ENDINGS = (".parquet", ".csv", ".jsonl", ".ndjson")
PLAN = "plan.json"
PanelsOf = Callable[[KnowledgeBase], PanelOf]
RETRIES = 5


@dataclass(frozen=True, slots=True)
class Part:
    """One part: a row group of a Parquet file, or a stretch of bytes of a text file with the number of its first row."""

    number: int
    file: str
    group: int | None
    start: int
    stop: int
    line: int


@dataclass(frozen=True, slots=True)
class Done:
    """A part that is written: how many lots, and how many could not be read."""

    number: int
    lots: int
    bad: int


def cut(path: Path, lots: int) -> list[Part]:
    """The parts of an archive of about so many lots each; a file, or a folder of Parquet, CSV and JSON Lines files."""
    files = sorted(one for one in path.iterdir() if one.suffix in ENDINGS) if path.is_dir() else [path]
    found: list[Part] = []
    for file in files:
        if file.suffix.lower() not in ENDINGS:
            raise InputError.of(
                file,
                say("a cluster reads Parquet, CSV and JSON Lines"),
                say("Endings: {endings}.", endings=to_type(ENDINGS)),
            )
        try:
            stretches = _groups(file) if file.suffix == ".parquet" else _stretches(file, lots)
            for group, start, stop, line in stretches:
                found.append(Part(len(found), str(file.resolve()), group, start, stop, line))
        except OSError as error:
            raise InputError.of(
                file, say("cannot be read: {reason}", reason=error.strerror or error), say("Check the name.")
            ) from None
    if not found:
        raise InputError.of(
            path,
            say("there is no lot in this archive"),
            say("Files end in {endings}.", endings=to_type(ENDINGS)),
        )
    return found


def _groups(file: Path) -> Iterator[tuple[int, int, int, int]]:
    import pyarrow.parquet

    line = 1
    with pyarrow.parquet.ParquetFile(file) as opened:
        for group in range(opened.num_row_groups):
            yield group, 0, 0, line
            line += opened.metadata.row_group(group).num_rows


def _stretches(file: Path, lots: int) -> Iterator[tuple[None, int, int, int]]:
    """Stretches that end where a line does; in CSV not within a quoted cell."""
    quoted, count, start, place, first, is_csv = False, 0, 0, 0, 1, file.suffix.lower() == ".csv"
    with file.open("rb") as opened:
        if is_csv:
            start = place = len(opened.readline())
            first = 2
        number = first
        for line in opened:
            place += len(line)
            quoted ^= is_csv and line.count(b'"') % 2 == 1
            number += 1
            count += 1
            if count >= lots and not quoted:
                yield None, start, place, first
                start, count, first = place, 0, number
    if count:
        yield None, start, place, first


def pieces_of(part: Part, base: KnowledgeBase) -> list[Piece]:
    """The lots of a part, unread."""
    path = Path(part.file)
    if part.group is not None:
        return list(parquet_rows(path, base, part.group, part.line))
    with path.open("rb") as opened:
        head = opened.readline().decode("utf-8-sig")
        opened.seek(part.start)
        text = opened.read(part.stop - part.start).decode("utf-8-sig")
    if path.suffix.lower() == ".csv":
        names, mark = csv_heading(head)
        rows = csv_rows(io.StringIO(text, newline=""), mark, before=part.line - 1)
        return [(part.file, number, dict(zip(names, row, strict=False))) for number, row in rows]
    lines = text.split("\n")
    return [(part.file, part.line + place, line) for place, line in enumerate(lines) if line.strip()]


_ready: dict[str, tuple[KnowledgeBase, Prepared]] = {}
"""What this worker has prepared, by the knowledge's hash."""


def trace_part(
    part: Part,
    knowledge: dict[str, Any],
    out: str,
    without: tuple[str, ...] = (),
    panels: PanelsOf | None = None,
) -> Done:
    """Trace a part, without these parts of the reasoning and with what is measured of the tasters, and write its file; what a
    worker does.
    """
    name = " ".join((str(knowledge["sha256"]), *without))
    if name not in _ready:
        base = from_data(knowledge)
        assert base is not None
        _ready[name] = base, prepare(base, precedents="precedents" not in without)
    base, ready = _ready[name]
    pieces = pieces_of(part, base)
    read = [read_piece(piece, base) for piece in pieces]
    good = [lot for lot, issues in read if lot is not None and not has_errors(issues)]
    briefs = iter(brief(good, base, ready, panels(base) if panels else None))
    rows, bad = [], 0
    for (file, line, _), (lot, issues) in zip(pieces, read, strict=True):
        usable = lot is not None and not has_errors(issues)
        bad += not usable
        rows.append({"file": file, "line": line, **flat(next(briefs) if usable else None, issues)})
    _write(rows, Path(out), part.number)
    return Done(part.number, len(rows), bad)


def part_file(out: Path, number: int) -> Path:
    """Where the results of a part stand."""
    return out / f"part-{number:06d}.parquet"


def _write(rows: list[dict[str, Any]], out: Path, number: int) -> None:
    import pyarrow
    import pyarrow.parquet

    types = {"file": "string", "line": "int64", **COLUMNS}
    schema = pyarrow.schema([(name, pyarrow.type_for_alias(alias)) for name, alias in types.items()])
    with appearing(part_file(out, number)) as part:
        pyarrow.parquet.write_table(pyarrow.Table.from_pylist(rows, schema=schema), part)


def begin(
    path: Path,
    base: KnowledgeBase,
    out: Path,
    lots: int,
    without: tuple[str, ...] = (),
    tasters: str = "",
) -> list[Part]:
    """The parts still to do; `tasters` marks what is measured of them. Notes the plan in the result folder; raises InputError where it holds results of something else."""
    if path.is_file() and path.suffix.lower() == ".csv":
        from tracer.batch.archive import pieces

        next(iter(pieces(path, base)), None)  # tells a wrong heading before any worker starts
    parts = cut(path, lots)
    files = sorted({one.file for one in parts})
    plan = {
        "knowledge": base.sha256,
        "files": [[file, os.stat(file).st_size, os.stat(file).st_mtime_ns] for file in files],
        "parts": [asdict(one) for one in parts],
        **({"without": list(without)} if without else {}),
        **({"tasters": tasters} if tasters else {}),
    }
    noted = out / PLAN
    if noted.exists():
        if json.loads(noted.read_text(encoding="utf-8")) != plan:
            message = say("the folder holds results of another archive, other knowledge or another cut")
            raise InputError.of(out, message, say("Name a new folder."))
    elif out.exists() and any(out.iterdir()):
        raise InputError.of(out, say("the folder holds something else"), say("Name a new folder."))
    else:
        out.mkdir(parents=True, exist_ok=True)
        noted.write_text(json.dumps(plan), encoding="utf-8")
    return [one for one in parts if not part_file(out, one.number).exists()]


def trace_on(
    client: Any,
    todo: Sequence[Part],
    base: KnowledgeBase,
    out: Path,
    without: tuple[str, ...] = (),
    panels: PanelsOf | None = None,
) -> Iterator[Done]:
    """Send the knowledge once and every part as a task; parts as they are done, in any order."""
    from distributed import as_completed

    knowledge = client.scatter(as_data(base, whole=True), broadcast=True, hash=False)
    measured = client.scatter(panels, broadcast=True, hash=False)
    tasks = [
        client.submit(
            trace_part,
            part,
            knowledge,
            str(out.resolve()),
            without,
            measured,
            key=f"part-{part.number}",
            retries=RETRIES,
            pure=False,
        )
        for part in todo
    ]
    for task in as_completed(tasks):
        yield task.result()
        task.release()
