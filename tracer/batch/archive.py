"""An archive of lots, read piece by piece: a folder of sheets, JSON Lines, or CSV, a workbook or Parquet with a row for each lot."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

import yaml

from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.yamlfile import with_days
from tracer.lots.attached import beside, files_of
from tracer.lots.lot import Lot
from tracer.lots.lot_table import COLUMNS, as_sheet
from tracer.lots.read import lot_of_data, read_lot
from tracer.names import did_you_mean
from tracer.spreadsheets.limits import Limits
from tracer.spreadsheets.rows import csv_heading, csv_rows, table_file
from tracer.wording.sentence import say, to_type

Piece = tuple[str, int, object]
"""File, line, and what stands there: None for a whole sheet file, a text line, or a row of cells by column."""
MOST_LINE = 2_000_000
LOTS = Limits(bytes=50_000_000, unpacked=200_000_000, rows=100_000, cells=2_000_000)
"""A workbook of lots; CSV and Parquet are read row by row and know no limit."""


def is_archive(path: Path) -> bool:
    """True for a folder, JSON Lines, CSV, a workbook or Parquet."""
    return path.is_dir() or path.suffix.lower() in (".jsonl", ".ndjson", ".csv", ".xlsx", ".parquet")


def pieces(path: Path, base: KnowledgeBase) -> Iterator[Piece]:
    """The lots of an archive, unread. Raises InputError where it cannot be one."""
    if path.is_dir():
        sheets = sorted(
            one for one in path.iterdir() if one.suffix.lower() in (".yaml", ".yml") and one.is_file()
        )
        if not sheets:
            raise InputError.of(
                path, say("there is no lot sheet in this folder"), say("Sheets end in .yaml.")
            )
        for sheet in sheets:
            yield str(sheet), 1, None
        return
    if path.suffix.lower() in (".parquet", ".xlsx"):
        yield from (parquet_rows if path.suffix.lower() == ".parquet" else _workbook)(path, base)
        return
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            if path.suffix.lower() == ".csv":
                yield from _rows(file, path, base)
                return
            for number, line in enumerate(file, 1):
                if line.strip():
                    yield str(path), number, line
    except UnicodeDecodeError:
        raise InputError.of(path, say("the file is not UTF-8 text"), say("Save it as UTF-8.")) from None
    except OSError as error:
        raise InputError.of(
            path, say("cannot be read: {strerror}", strerror=error.strerror), say("Check the name.")
        ) from None


def _rows(file: TextIO, path: Path, base: KnowledgeBase) -> Iterator[Piece]:
    names, mark = csv_heading(file.readline())
    _check_columns(names, path, base)
    for number, row in csv_rows(file, mark, before=1):
        yield str(path), number, dict(zip(names, row, strict=False))


def _workbook(path: Path, base: KnowledgeBase) -> Iterator[Piece]:
    rows, issues = table_file(path, LOTS)
    if issues:
        raise InputError(issues)
    _check_columns(rows[0][1] if rows else [], path, base)
    for number, row in rows[1:]:
        yield str(path), number, dict(zip(rows[0][1], row, strict=False))


def parquet_rows(
    path: Path, base: KnowledgeBase, group: int | None = None, first: int = 1
) -> Iterator[Piece]:
    """Rows of a Parquet file, or of one row group of it, numbered from `first`; columns as in CSV, or one column `sheet` of JSON."""
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        remedy = say("pip install 'coffee-tracer[cluster]', or use CSV.")
        raise InputError.of(path, say("Parquet needs one more package"), remedy) from None
    try:
        with pyarrow.parquet.ParquetFile(path) as opened:
            names = list(opened.schema_arrow.names)
            if "sheet" not in names:
                _check_columns(names, path, base)
            groups = range(opened.num_row_groups) if group is None else [group]
            number = first
            for batch in opened.iter_batches(batch_size=1000, row_groups=list(groups)):
                for row in batch.to_pylist():
                    yield str(path), number, str(row["sheet"] or "") if "sheet" in row else _as_text(row)
                    number += 1
    except pyarrow.ArrowInvalid as error:
        message = say("this is no Parquet file: {splitlines}", splitlines=str(error).splitlines()[0])
        raise InputError.of(path, message, say("Write it again.")) from None
    except OSError as error:
        raise InputError.of(
            path, say("cannot be read: {value}", value=error.strerror or error), say("Check the name.")
        ) from None


def _as_text(row: dict[str, object]) -> dict[str, str]:
    return {name: "" if value is None else str(value).strip() for name, value in row.items()}


def _check_columns(names: list[str], path: Path, base: KnowledgeBase) -> None:
    known = {*COLUMNS, *base.records}
    issues = [
        Issue(
            Place(str(path), 1, column),
            say("the column '{name}' is no field and no record", name=name),
            did_you_mean(
                name, known, say("Fields: {LOT_COLUMNS}, and records.", LOT_COLUMNS=to_type(COLUMNS))
            ),
        )
        for column, name in enumerate(names, 1)
        if name not in known
    ]
    if "lot" not in names:
        issues.append(
            Issue(
                Place(str(path)),
                say("the table has no column 'lot'"),
                say("Its first row names the columns."),
            )
        )
    if issues:
        raise InputError(issues)


def read_piece(piece: Piece, base: KnowledgeBase) -> tuple[Lot | None, list[Issue]]:
    """The lot of a piece, and every issue with its place."""
    file, number, content = piece
    place = Place(file, number)
    if content is None:
        return read_lot(Path(file), base)
    if isinstance(content, str):
        if len(content) > MOST_LINE:
            return None, [Issue(place, say("the line is longer than a lot can be"), say("One lot a line."))]
        try:
            data = json.loads(content)
        except (ValueError, RecursionError):
            return None, [
                Issue(place, say("the line is no JSON"), say("Each line is one lot as a JSON object."))
            ]
        return lot_of_data(data, place, base, Path(file).parent)
    assert isinstance(content, dict)
    return lot_of_data(as_sheet(content, base.records), place, base)


def sheet_of(piece: Piece, base: KnowledgeBase) -> tuple[str, dict[str, bytes]]:
    """The sheet of a piece that could be read, as text, and the files it names."""
    file, _, content = piece
    if content is None:
        return Path(file).read_text(encoding="utf-8-sig"), beside(Path(file))
    assert isinstance(content, (str, dict))
    data = json.loads(content) if isinstance(content, str) else as_sheet(content, base.records)
    return yaml.safe_dump(with_days(data), allow_unicode=True, sort_keys=False), files_of(
        data, Path(file).parent
    )
