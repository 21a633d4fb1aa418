"""What is kept of a cupping table, as rows and as data: the table, its seats, how far each taster is."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tracer.casebook.table_facts import TableFacts
from tracer.casebook.tasting import Tasted
from tracer.issues import InputError
from tracer.wording.sentence import say

REVEALED, FREED, HELD, KEPT, SETTLED = "revealed", "freed", "held", "kept", "settled"
"""Kinds of events of a table."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table of cups and how far it is."""

    id: int
    code: str
    opened: str
    by: str
    facts: TableFacts
    shown: frozenset[int]
    """Samples that are revealed."""
    cases: Mapping[int, int]
    """Sample -> the case it was kept as."""

    @property
    def revealed(self) -> bool:
        """True once every sample is revealed."""
        return len(self.shown) == len(self.facts.samples)

    @property
    def case(self) -> int | None:
        """A case it was kept as, once every lot is kept."""
        lots = [place for place, one in enumerate(self.facts.samples) if one.kind == "lot"]
        return max(self.cases.values()) if lots and all(place in self.cases for place in lots) else None


@dataclass(frozen=True, slots=True)
class Seat:
    """A taster's place at a table, held by one device."""

    id: int
    table: int
    taster: str


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a taster is: nothing of what was said."""

    seat: int
    taster: str
    finished: frozenset[int]
    """Samples that the taster is done with."""
    begun: frozenset[int]
    at: int | None
    """The sample of which something was sent last."""
    done: bool
    last: str | None


@dataclass(frozen=True, slots=True)
class Told:
    """What a taster said of a sample: the last state before the reveal, and the last after it where there is one."""

    taster: str
    counts: Tasted
    late: Tasted | None


def plain_code(text: str) -> str:
    """A code as it is kept, however it was written.

    >>> plain_code(" abcd-efgh ")
    'ABCDEFGH'
    """
    return "".join(text.upper().replace("-", " ").split())


TABLE = "SELECT id, code, opened, by, settings FROM cupping_table "


def table_of(book: sqlite3.Connection, code: str) -> Table:
    """The table of a code, within an open casebook. Raises InputError where there is none."""
    row = book.execute(TABLE + "WHERE code = ?", (plain_code(code),)).fetchone()
    if row is None:
        raise InputError.of(
            "table", say("no table has this code"), say("Ask the leader for the code of the table.")
        )
    return of_row(book, row)


def of_row(book: sqlite3.Connection, row: Sequence[Any]) -> Table:
    """A table from its row and its events."""
    identity, code, opened_at, by, settings = row
    facts = TableFacts.model_validate_json(settings)
    events = book.execute(
        "SELECT kind, sample, lot_case FROM table_event WHERE cupping_table = ? AND kind IN (?, ?) ORDER BY id",
        (identity, REVEALED, KEPT),
    ).fetchall()
    shown: set[int] = set()
    for kind, sample, _ in events:
        if kind == REVEALED:
            shown |= set(range(len(facts.samples))) if sample is None else {sample}
    kept = {sample or 0: case for kind, sample, case in events if kind == KEPT}
    return Table(identity, code, opened_at, by, facts, frozenset(shown), kept)


LIVE = (
    "SELECT id, cupping_table, taster FROM seat WHERE coalesce((SELECT e.kind FROM table_event e WHERE e.seat = seat.id "
    f"AND e.kind IN ('{FREED}', '{HELD}') ORDER BY e.id DESC LIMIT 1), '{HELD}') = '{HELD}' "
)


LAST = (
    "SELECT seat, sample, body, at FROM (SELECT t.*, row_number() OVER (PARTITION BY t.seat, t.sample "
    "ORDER BY t.revision DESC, t.id DESC) AS place FROM tasting t JOIN seat s ON s.id = t.seat WHERE s.cupping_table = ?) WHERE place = 1"
)
