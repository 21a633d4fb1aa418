"""A table file as rows of text: CSV (UTF-8 or UTF-16; comma, semicolon, tab or bar) or the first sheet of a workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from pathlib import Path

from tracer.issues import Issue, Place
from tracer.spreadsheets.limits import TABLE, Limits, TableError
from tracer.spreadsheets.text import encoding_of, mark_of
from tracer.spreadsheets.workbook import IS_OLD_BINARY, IS_ZIP, workbook_rows
from tracer.wording.sentence import say

Rows = list[tuple[int, list[str]]]
"""Rows that hold anything, each with its number in the file, its cells without white space around them."""


def table_file(path: Path, limits: Limits = TABLE) -> tuple[Rows, list[Issue]]:
    """The rows of a file; or what is wrong with it."""
    try:
        if path.stat().st_size > limits.bytes:
            return [], [_too_large(str(path), limits)]
        return table_rows(path.read_bytes(), str(path), limits)
    except OSError as error:
        message = say("cannot be read: {strerror}", strerror=error.strerror)
        return [], [Issue(Place(str(path)), message, say("Check the name and the folder."))]


def table_rows(raw: bytes, file: str, limits: Limits = TABLE) -> tuple[Rows, list[Issue]]:
    """The rows of what a file holds; or what is wrong with it."""
    if len(raw) > limits.bytes:
        return [], [_too_large(file, limits)]
    try:
        return _rows(raw, limits), []
    except TableError as error:
        return [], [Issue(Place(file), error.message, error.remedy)]
    except csv.Error as error:
        message = say("the table cannot be read: {error}", error=error)
        return [], [Issue(Place(file), message, say("Save it again as CSV."))]


def _rows(raw: bytes, limits: Limits) -> Rows:
    if raw[:4] == IS_ZIP:
        return [(number, [cell.strip() for cell in row]) for number, row in workbook_rows(raw, limits)[0]]
    if raw[:8] == IS_OLD_BINARY:
        raise TableError(say("this is an old binary workbook"), say("Save it as .xlsx or as CSV."))
    text = raw.decode(encoding_of(raw)[0])
    rows: Rows = []
    cells = 0
    for number, row in csv_rows(
        io.StringIO(text, newline=""), mark_of(text.lstrip("\r\n").partition("\n")[0])
    ):
        cells += len(row)
        if len(rows) >= limits.rows or cells > limits.cells:
            message = say(
                "the table holds more than {rows:,} rows or {cells:,} cells",
                rows=limits.rows,
                cells=limits.cells,
            )
            raise TableError(message, say("Check that it is the right file."))
        rows.append((number, row))
    return rows


def csv_rows(lines: Iterable[str], mark: str, before: int = 0) -> Iterator[tuple[int, list[str]]]:
    """Rows of CSV that hold anything, each with the number of its first line; `before` lines came before.

    >>> list(csv_rows(["one;'two'", "", " ; ", '"a', 'b";c'], ";"))
    [(1, ['one', "'two'"]), (4, ['a\\nb', 'c'])]
    """
    reader = csv.reader((line if line.endswith("\n") else line + "\n" for line in lines), delimiter=mark)
    first = 1
    for row in reader:
        cells = [cell.strip() for cell in row]
        if any(cells):
            yield before + first, cells
        first = reader.line_num + 1


def csv_heading(line: str) -> tuple[list[str], str]:
    """Columns of a CSV file from its first line, and the mark that parts them.

    >>> csv_heading("lot; notes\\n")
    (['lot', 'notes'], ';')
    """
    mark = mark_of(line)
    return [cell.strip() for cell in next(csv.reader([line], delimiter=mark), [])], mark


def _too_large(file: str, limits: Limits) -> Issue:
    message = say("the table is larger than {most:,} bytes", most=limits.bytes)
    return Issue(Place(file), message, say("Check that it is the right file."))
