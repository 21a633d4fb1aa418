"""Every case as it stands now: its sheet and files, the report of its last trace, the answers received, how it was closed."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tracer.casebook.file import opened


@dataclass(frozen=True)
class StandingCase:
    """A case as it stands now."""

    id: int
    sheet: str
    files: Mapping[str, bytes]
    report: Mapping[str, Any]
    """After the last answer received."""
    answered: frozenset[str]
    closed: str | None
    """The fault it was closed with, or none or not_found; None while it is open."""


def standing_cases(path: Path) -> Iterator[StandingCase]:
    """Cases that none corrects, the oldest first."""
    with opened(path) as book:
        rows = book.execute(
            "SELECT c.id, c.sheet, coalesce((SELECT report FROM received WHERE lot_case = c.id ORDER BY id DESC LIMIT 1), c.report), "
            "(SELECT fault FROM closing WHERE lot_case = c.id ORDER BY id DESC LIMIT 1) FROM lot_case c "
            "WHERE NOT EXISTS (SELECT 1 FROM lot_case r WHERE r.replaces = c.id) ORDER BY c.id"
        )
        for identity, sheet, report, closed in rows:
            files = book.execute("SELECT name, packed FROM attachment WHERE lot_case = ?", (identity,))
            answered = book.execute("SELECT enquiry FROM received WHERE lot_case = ?", (identity,))
            yield StandingCase(
                identity,
                sheet,
                {name: zlib.decompress(packed) for name, packed in files},
                json.loads(report),
                frozenset(name for (name,) in answered),
                closed,
            )
