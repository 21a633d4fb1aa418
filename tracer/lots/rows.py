"""A small table file as rows of text: CSV (UTF-8 or UTF-16; comma, semicolon or tab) or the first sheet of a workbook."""

from __future__ import annotations

import csv
import io

from tracer.issues import Issue, Place
from tracer.lots.logs.grid import GridError, workbook_rows
from tracer.wording.sentence import say

MAXIMUM_BYTES = 2_000_000
_UNPACKED = 20_000_000
_MARKS = ",;\t"


def table_rows(raw: bytes, file: str) -> tuple[list[tuple[int, list[str]]], list[Issue]]:
    """Rows that hold anything, each with its number in the file; or what is wrong with it."""
    if len(raw) > MAXIMUM_BYTES:
        message = say("the table is larger than {MAXIMUM_BYTES:,} bytes", MAXIMUM_BYTES=MAXIMUM_BYTES)
        return [], [Issue(Place(file), message, say("Check that it is the right file."))]
    if raw[:4] == b"PK\x03\x04":
        try:
            sheet, _ = workbook_rows(raw, _UNPACKED)
        except GridError as error:
            return [], [Issue(Place(file), str(error), error.remedy)]
        return [(number, list(row)) for number, row in enumerate(sheet, 1) if any(row)], []
    try:
        text = raw.decode("utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError:
        return [], [Issue(Place(file), say("the table is not UTF-8 text"), say("Save it as CSV UTF-8."))]
    first = text.splitlines()[:1]
    mark = max(_MARKS, key=first[0].count) if first else ","
    try:
        rows = list(enumerate(csv.reader(io.StringIO(text), delimiter=mark), 1))
    except csv.Error as error:
        return [], [
            Issue(
                Place(file),
                say("the table cannot be read: {error}", error=error),
                say("Save it again as CSV."),
            )
        ]
    return [(number, row) for number, row in rows if any(cell.strip() for cell in row)], []
