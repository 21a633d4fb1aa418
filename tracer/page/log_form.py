"""A logger file on the page: what its columns seem to hold, and the lines of the sheet once that is confirmed."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tracer.casebook.tasting import appended
from tracer.issues import InputError
from tracer.lots.logs.columns import Proposal, propose
from tracer.lots.logs.grid import read_grid
from tracer.lots.logs.log import CHANNELS, WHERE
from tracer.page.render import Form
from tracer.spreadsheets.limits import TableError
from tracer.wording.sentence import say

SHOWN = 5
__all__ = ["CHANNELS", "WHERE", "Looked", "entry", "look", "with_log"]


@dataclass(frozen=True, slots=True)
class Looked:
    """What a file seems to hold."""

    name: str
    rows: int
    headings: tuple[str, ...]
    first: tuple[tuple[str, ...], ...]
    proposal: Proposal
    note: str | None


def look(name: str, content: bytes) -> Looked:
    """Read a logger file without keeping it. Raises InputError where there is no table of times in it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        try:
            grid = read_grid(path)
        except TableError as error:
            raise InputError.of(
                name, say("the file cannot be used: {error}", error=error.message), error.remedy
            ) from None
    first = tuple(tuple(str(cell) for cell in row) for row in grid.frame.head(SHOWN).itertuples(index=False))
    return Looked(name, len(grid.frame), grid.headings, first, propose(grid.headings, grid.frame), grid.note)


def entry(name: str, form: Form) -> dict[str, Any]:
    """The log as the sheet has it, from the confirmed form; what is wrong with it is told by the sheet's reader."""
    time = [text for text in form.all("time") if text]
    columns: dict[str, Any] = {"time": time[0] if len(time) == 1 else time}
    columns.update({channel: form.text(channel) for channel in CHANNELS if form.text(channel)})
    fields = {
        "file": name,
        "where": form.text("where"),
        "columns": columns,
        **{part: form.text(part) for part in ("degrees", "dates", "decimal", "timezone")},
    }
    return {part: value for part, value in fields.items() if value}


def with_log(data: Mapping[str, Any], stage: str, log: Mapping[str, Any]) -> dict[str, Any]:
    """The sheet's data with one more log under a stage.

    >>> with_log({"lot": "A"}, "drying", {"file": "a.csv"})
    {'lot': 'A', 'history': {'drying': {'logs': [{'file': 'a.csv'}]}}}
    """
    history = dict(data.get("history") or {})
    of_stage = dict(history.get(stage) or {})
    of_stage["logs"] = appended(of_stage.get("logs"), dict(log))
    return {**data, "history": {**history, stage: of_stage}}
