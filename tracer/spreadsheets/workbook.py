"""The first sheet of a workbook as rows of text, within limits that are counted before any row is built."""

from __future__ import annotations

import datetime
import zipfile
from collections.abc import Iterator
from io import BytesIO
from typing import IO
from xml.parsers import expat

from tracer.spreadsheets.limits import Limits, TableError
from tracer.wording.sentence import say

IS_ZIP = b"PK\x03\x04"
IS_OLD_BINARY = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_LAST_ROW = 1_048_576
"""Rows of a sheet, ECMA-376."""
_MOST_IN_A_ROW = 100_000
"""Elements between two rows; 16,384 columns with formula and value fit."""
_CHUNK = 1 << 16


def workbook_rows(raw: bytes, limits: Limits) -> tuple[list[tuple[int, tuple[str, ...]]], int]:
    """Rows of the first sheet that hold anything, each with its number, and how many sheets there are.

    Rows reach at least as far as the first. Raises TableError.
    """
    try:
        from openpyxl import load_workbook
    except ImportError:
        raise TableError(
            say("workbooks need one more package"),
            say("pip install 'coffee-tracer[sheets]', or save as CSV."),
        ) from None
    try:
        _measure(raw, limits)
        book = load_workbook(BytesIO(raw), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # the size it states need not be its size
        return _filled(sheet.iter_rows(values_only=True), limits), len(book.worksheets)
    except TableError:
        raise
    except Exception as error:  # a damaged workbook raises errors of many kinds
        message = say("the workbook cannot be opened: {name}", name=type(error).__name__)
        raise TableError(message, say("Save it again, or as CSV.")) from None


def _filled(sheet: Iterator[tuple[object, ...]], limits: Limits) -> list[tuple[int, tuple[str, ...]]]:
    rows: list[tuple[int, tuple[str, ...]]] = []
    cells = width = 0
    for number, row in enumerate(sheet, 1):
        if number > _LAST_ROW:
            raise _too_many(say("rows"), _LAST_ROW)
        cells += len(row)
        if cells > limits.cells:
            raise _too_many(say("cells"), limits.cells)
        texts = [_text(cell) for cell in row]
        while texts and not texts[-1]:
            texts.pop()
        if not texts:
            continue
        if len(rows) >= limits.rows:
            raise _too_many(say("rows"), limits.rows)
        width = width or len(texts)
        rows.append((number, tuple(texts) + ("",) * (width - len(texts))))
    return rows


def _too_many(what: str, most: int) -> TableError:
    message = say("the workbook holds more than {most:,} {what}", most=most, what=what)
    return TableError(message, say("Save the one sheet as CSV, without empty rows and columns."))


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime.datetime):
        return value.isoformat(sep=" ", timespec="seconds")
    return repr(value) if isinstance(value, float) else str(value)


def _measure(raw: bytes, limits: Limits) -> None:
    """Refuse a workbook that would unfold to far more than it may hold; nothing of it is kept."""
    with zipfile.ZipFile(BytesIO(raw)) as archive:
        if sum(entry.file_size for entry in archive.infolist()) > limits.unpacked:
            message = say("the workbook unpacks to more than {most:,} bytes", most=limits.unpacked)
            raise TableError(message, say("Save the one sheet as CSV."))
        counted = _Counted(limits)
        for entry in archive.infolist():
            with archive.open(entry) as part:
                counted.read(part)


class _Counted:
    """Elements of the parts of a workbook, within and outside rows."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.cells = self.outside = self.in_row = self.rows = 0
        self.inside = False

    def read(self, part: IO[bytes]) -> None:
        parser = expat.ParserCreate()
        parser.StartElementHandler = self._begun
        parser.EndElementHandler = self._ended
        parser.EntityDeclHandler = self._entity
        self.inside = False
        try:
            while chunk := part.read(_CHUNK):
                parser.Parse(chunk)
        except expat.ExpatError:
            return  # a picture, or damage; who reads it comes no further either

    def _begun(self, name: str, _: dict[str, str]) -> None:
        local = name.rpartition(":")[2]
        if local == "row":
            self.inside, self.in_row, self.rows = True, 0, self.rows + 1
            if self.rows > _LAST_ROW:
                raise _too_many(say("rows"), _LAST_ROW)
        elif self.inside:
            self.in_row += 1
            self.cells += local == "c"
            if self.cells > self.limits.cells or self.in_row > _MOST_IN_A_ROW:
                raise _too_many(say("cells"), self.limits.cells)
        else:
            self.outside += 1
            if self.outside > self.limits.cells:
                raise _too_many(say("words and formats"), self.limits.cells)

    def _ended(self, name: str) -> None:
        if name.rpartition(":")[2] == "row":
            self.inside = False

    def _entity(self, *_: object) -> None:
        message = say("the workbook declares entities, which none needs")
        raise TableError(message, say("Save it again, or as CSV."))
