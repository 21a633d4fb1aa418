"""A logger file as a grid of text: encoding, separator, heading row; CSV or XLSX."""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from tracer.spreadsheets.limits import LOGGER, LOGGER_WORKBOOK, TableError
from tracer.spreadsheets.text import encoding_of
from tracer.spreadsheets.workbook import IS_OLD_BINARY, IS_ZIP, workbook_rows
from tracer.wording.sentence import say

if TYPE_CHECKING:
    import pandas

_PREAMBLE = 60
_SEPARATORS = (";", "\t", ",", "|")
_MOST_COLUMNS = 300
_LOOKS_DATED = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}:\d{2}")
_BAD_LINE = re.compile(r"line (\d+)")


@dataclass(frozen=True)
class Grid:
    """Cells of a file as text, with the row number of each row in the file."""

    headings: tuple[str, ...]
    frame: pandas.DataFrame
    rows: npt.NDArray[np.int64]
    torn: tuple[int, ...]
    """Rows with more cells than headings; not in the frame."""
    note: str | None = None


def read_grid(path: Path) -> Grid:
    """The table of a logger export. Lines of prose above the headings are passed over.

    Raises TableError where there is no table in it, OSError where it cannot be opened.
    """
    if path.stat().st_size > LOGGER.bytes:
        message = say("the file is larger than {most:,} bytes", most=LOGGER.bytes)
        raise TableError(message, say("Check that it is the right file."))
    raw = path.read_bytes()
    if not raw.strip():
        raise TableError(say("the file is empty"), say("Export it again from the logger."))
    if raw[:4] == IS_ZIP:
        return _workbook(raw)
    if raw[:8] == IS_OLD_BINARY:
        raise TableError(say("this is an old binary workbook"), say("Save it as .xlsx or as CSV."))
    return _csv(raw)


def _csv(raw: bytes) -> Grid:
    import pandas

    text_encoding, note = encoding_of(raw, western=True)
    head = raw[:65536].decode(text_encoding, errors="replace").splitlines()[: _PREAMBLE + 2]
    found = _heading_row(head)
    if found is None:
        raise _without_headings()
    index, separator = found
    columns = len(head[index].split(separator))
    if columns > _MOST_COLUMNS:
        message = say("the table has {columns:,} columns", columns=columns)
        raise TableError(message, say("Export the readings alone; {most} are read.", most=_MOST_COLUMNS))
    most = min(LOGGER.rows, LOGGER.cells // columns)
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            frame = pandas.read_csv(
                BytesIO(raw),
                sep=separator,
                header=None,
                skiprows=index + 1,
                dtype=str,
                encoding=text_encoding,
                encoding_errors="replace",
                skip_blank_lines=False,
                on_bad_lines="warn",
                keep_default_na=False,
                names=list(range(columns)),
                nrows=most + 1,
                index_col=False,
                low_memory=False,
            )
        except (pandas.errors.ParserError, pandas.errors.EmptyDataError, ValueError) as error:
            message = say("the table cannot be read: {error}", error=error)
            raise TableError(message, say("Export it again as CSV.")) from None
    if len(frame) > most:
        message = say("the table holds more than {most:,} rows", most=most)
        raise TableError(message, say("Export a shorter time."))
    torn = tuple(sorted({int(n) for one in caught for n in _BAD_LINE.findall(str(one.message))}))
    headings = tuple(cell.strip().strip('"').strip() for cell in head[index].split(separator))
    count = len(frame) + len(torn)
    rows = np.arange(index + 2, index + 2 + count)
    if torn:
        rows = np.setdiff1d(rows, np.array(torn, dtype=int))[: len(frame)]
    return Grid(headings, frame, rows, torn, note)


def _without_headings() -> TableError:
    message = say("no row of headings over a column of times was found")
    return TableError(message, say("Name the columns in the first row."))


def _heading_row(lines: list[str]) -> tuple[int, str] | None:
    """Index of the heading row and the separator: the first row of words above a row with a time in it."""
    for index in range(len(lines) - 1):
        for separator in _SEPARATORS:
            cells, below = lines[index].split(separator), lines[index + 1].split(separator)
            wordy = len(cells) > 1 and sum(any(c.isalpha() for c in cell) for cell in cells) >= 2
            if (
                wordy
                and len(below) >= 2
                and _LOOKS_DATED.search(lines[index + 1])
                and not _LOOKS_DATED.search(lines[index])
            ):
                return index, separator
    return None


def _workbook(raw: bytes) -> Grid:
    import pandas

    rows, sheets = workbook_rows(raw, LOGGER_WORKBOOK)
    found = _heading_row(["\t".join(row) for _, row in rows[: _PREAMBLE + 2]])
    if found is None:
        raise _without_headings()
    index = found[0]
    width = len(rows[index][1])
    body = [row[:width] + ("",) * (width - len(row)) for _, row in rows[index + 1 :]]
    note = say("the first of {sheets} sheets was read", sheets=sheets) if sheets > 1 else None
    numbers = np.array([number for number, _ in rows[index + 1 :]], dtype=np.int64)
    headings = tuple(cell.strip() for cell in rows[index][1])
    return Grid(headings, pandas.DataFrame(body, columns=range(width), dtype=str), numbers, (), note)
