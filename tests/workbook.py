"""A workbook for tests, as bytes."""

from __future__ import annotations

import io

import pytest


def workbook(rows: list[list[object]]) -> bytes:
    """One sheet with these rows."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()
