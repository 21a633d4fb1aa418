"""How large a table may be, and what is told of one that cannot be read."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.wording.sentence import say


class TableError(ValueError):
    """The file cannot be read as a table; the message says why, `remedy` how to mend it."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


def what_is_wrong(error: TableError | OSError) -> tuple[str, str]:
    """What to tell of a file that cannot be read, and how to mend it."""
    if isinstance(error, TableError):
        return error.message, error.remedy
    return str(error.strerror or error), say("Check the name and the folder.")


@dataclass(frozen=True, slots=True)
class Limits:
    """What a file may hold at most; counted while it is read, before rows are built."""

    bytes: int
    unpacked: int
    """Bytes of a workbook once unpacked."""
    rows: int
    cells: int
    """Cells, and in a workbook twice the words kept apart from the cells."""


TABLE = Limits(bytes=5_000_000, unpacked=20_000_000, rows=50_000, cells=500_000)
"""A cupping table, a key, answers, a grading: what people write."""
LOGGER = Limits(bytes=200_000_000, unpacked=200_000_000, rows=3_000_000, cells=30_000_000)
"""A logger export as CSV: years of minutes."""
LOGGER_WORKBOOK = Limits(bytes=200_000_000, unpacked=200_000_000, rows=1_048_576, cells=4_000_000)
"""A logger export as a workbook; its cells cost far more than those of CSV."""
