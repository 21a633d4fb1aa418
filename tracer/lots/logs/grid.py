"""A logger file as a grid of text: encoding, separator, heading row; CSV or XLSX."""

from __future__ import annotations

import re
import warnings
import zipfile
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from tracer.wording.sentence import say

if TYPE_CHECKING:
    import pandas

MOST_BYTES = 200_000_000
MOST_ROWS = 3_000_000
_PREAMBLE = 60
_SEPARATORS = (";", "\t", ",", "|")
_LOOKS_DATED = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}:\d{2}")
_BAD_LINE = re.compile(r"line (\d+)")


class GridError(ValueError):
    """The file cannot be read as a table; the message says why, `remedy` how to mend it."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.remedy = remedy


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

    Raises GridError where there is no table in it, OSError where it cannot be opened.
    """
    if path.stat().st_size > MOST_BYTES:
        raise GridError(f"the file is larger than {MOST_BYTES:,} bytes", "Check that it is the right file.")
    raw = path.read_bytes()
    if not raw.strip():
        raise GridError("the file is empty", "Export it again from the logger.")
    if raw[:4] == b"PK\x03\x04":
        return _workbook(raw)
    if raw[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise GridError("this is an old binary workbook", "Save it as .xlsx or as CSV.")
    return _csv(raw)


def _csv(raw: bytes) -> Grid:
    import pandas

    text_encoding, note = _encoding(raw)
    head = raw[:65536].decode(text_encoding, errors="replace").splitlines()[: _PREAMBLE + 2]
    found = _heading_row(head)
    if found is None:
        raise GridError(
            "no row of headings over a column of times was found", "Name the columns in the first row."
        )
    index, separator = found
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
                names=list(range(len(head[index].split(separator)))),
                index_col=False,
                low_memory=False,
            )
        except (pandas.errors.ParserError, pandas.errors.EmptyDataError, ValueError) as error:
            raise GridError(f"the table cannot be read: {error}", "Export it again as CSV.") from None
    torn = tuple(sorted({int(n) for one in caught for n in _BAD_LINE.findall(str(one.message))}))
    headings = tuple(cell.strip().strip('"').strip() for cell in head[index].split(separator))
    count = len(frame) + len(torn)
    rows = np.arange(index + 2, index + 2 + count)
    if torn:
        rows = np.setdiff1d(rows, np.array(torn, dtype=int))[: len(frame)]
    return Grid(headings, frame, rows, torn, note)


def _encoding(raw: bytes) -> tuple[str, str | None]:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "utf-16", None
    try:
        raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "cp1252", say("the file is not UTF-8; read as Western European text")
    return "utf-8-sig", None


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

    rows, sheets = workbook_rows(raw)
    found = _heading_row(["\t".join(row) for row in rows[: _PREAMBLE + 2]])
    if found is None:
        raise GridError(
            "no row of headings over a column of times was found", "Name the columns in the first row."
        )
    index = found[0]
    width = len(rows[index])
    body = [row[:width] + ("",) * (width - len(row)) for row in rows[index + 1 :]]
    note = say("the first of {sheets} sheets was read", sheets=sheets) if sheets > 1 else None
    numbers = np.arange(index + 2, index + 2 + len(body))
    headings = tuple(cell.strip() for cell in rows[index])
    return Grid(headings, pandas.DataFrame(body, columns=range(width), dtype=str), numbers, (), note)


def workbook_rows(raw: bytes, most_bytes: int = MOST_BYTES) -> tuple[list[tuple[str, ...]], int]:
    """Cells of the first sheet of a workbook as text, and how many sheets there are. Raises GridError."""
    try:
        from openpyxl import load_workbook
    except ImportError:
        raise GridError(
            "workbooks need one more package", "pip install 'coffee-tracer[sheets]', or save as CSV."
        ) from None
    try:
        with zipfile.ZipFile(BytesIO(raw)) as archive:
            size = sum(entry.file_size for entry in archive.infolist())
        if size > most_bytes:
            raise GridError(
                f"the workbook unpacks to more than {most_bytes:,} bytes", "Save the one sheet as CSV."
            )
        book = load_workbook(BytesIO(raw), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        rows = [
            tuple("" if cell is None else _cell(cell) for cell in row)
            for row, _ in zip(sheet.iter_rows(values_only=True), range(MOST_ROWS), strict=False)
        ]
    except GridError:
        raise
    except Exception as error:  # a damaged workbook raises errors of many kinds
        raise GridError(
            f"the workbook cannot be opened: {type(error).__name__}", "Save it again, or as CSV."
        ) from None
    return rows, len(book.worksheets)


def _cell(value: object) -> str:
    import datetime

    if isinstance(value, datetime.datetime):
        return value.isoformat(sep=" ", timespec="seconds")
    return repr(value) if isinstance(value, float) else str(value)
