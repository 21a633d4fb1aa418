"""Cupping tables: opened by a leader, sat at by tasters on their own devices, blind to each other until the leader reveals.

Every state a taster sends is a row of its own, so that nothing said is ever lost; the last before the reveal counts.
What comes later is kept and marked late.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tracer.casebook.cases import now
from tracer.casebook.file import opened
from tracer.casebook.tasting import TableFacts, Tasted
from tracer.issues import InputError, Issue, Place
from tracer.names import fold

CODE = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Signs that no one takes for another when a code is read out."""
LETTERS = 6
REVEALED, FREED, KEPT = "revealed", "freed", "kept"


@dataclass(frozen=True, slots=True)
class Table:
    """A table of cups and how far it is."""

    id: int
    code: str
    opened: str
    by: str
    facts: TableFacts
    revealed: str | None
    case: int | None


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
    done: bool
    last: str | None


@dataclass(frozen=True, slots=True)
class Told:
    """What a taster said: the last state before the reveal, and the last after it where there is one."""

    taster: str
    counts: Tasted
    late: Tasted | None


def _problem(message: str, remedy: str) -> InputError:
    return InputError([Issue(Place("table"), message, remedy)])


def open_table(path: Path, facts: TableFacts, by: str) -> str:
    """Open a table; its code, to be read out to the tasters."""
    with opened(path, write=True) as book:
        code = "".join(secrets.choice(CODE) for _ in range(LETTERS))
        book.execute(
            "INSERT INTO cupping_table (code, opened, by, settings) VALUES (?, ?, ?, ?)",
            (code, now(), by, facts.model_dump_json()),
        )
    return code


_TABLE = (
    "SELECT t.id, t.code, t.opened, t.by, t.settings, "
    f"(SELECT min(at) FROM table_event WHERE cupping_table = t.id AND kind = '{REVEALED}'), "
    f"(SELECT max(lot_case) FROM table_event WHERE cupping_table = t.id AND kind = '{KEPT}') FROM cupping_table t "
)


def tables(path: Path, last: int = 20) -> tuple[Table, ...]:
    """The newest tables, newest first."""
    with opened(path) as book:
        rows = book.execute(_TABLE + "ORDER BY t.id DESC LIMIT ?", (last,)).fetchall()
    return tuple(_of_row(row) for row in rows)


def table(path: Path, code: str) -> Table:
    """The table of a code. Raises InputError where there is none."""
    with opened(path) as book:
        return _table(book, code)


def _table(book: sqlite3.Connection, code: str) -> Table:
    row = book.execute(_TABLE + "WHERE t.code = ?", (code.strip().upper(),)).fetchone()
    if row is None:
        raise _problem("no table has this code", "Ask the leader for the code of the table.")
    return _of_row(row)


def _of_row(row: Sequence[Any]) -> Table:
    identity, code, opened_at, by, settings, revealed, case = row
    return Table(identity, code, opened_at, by, TableFacts.model_validate_json(settings), revealed, case)


_LIVE = (
    f"SELECT id, cupping_table, taster FROM seat WHERE id NOT IN (SELECT seat FROM table_event WHERE kind = '{FREED}' "
    "AND seat IS NOT NULL) "
)


def sit(path: Path, code: str, taster: str) -> tuple[Seat, str]:
    """Take a seat under a name; the key that this device shows from now on.

    Raises InputError where the name is taken: only the leader can free it for another device.
    """
    key = secrets.token_urlsafe(24)
    with opened(path, write=True) as book:
        found = _table(book, code)
        taken = book.execute(
            _LIVE + "AND cupping_table = ? AND folded = ?", (found.id, fold(taster))
        ).fetchone()
        if taken is not None:
            raise _problem(
                "somebody sits at this table under this name",
                "Add an initial; if it is you on another device, ask the leader to free the name.",
            )
        identity = book.execute(
            "INSERT INTO seat (cupping_table, at, taster, folded, key_sha256) VALUES (?, ?, ?, ?, ?)",
            (found.id, now(), taster, fold(taster), _hidden(key)),
        ).lastrowid
    assert identity is not None
    return Seat(identity, found.id, taster), key


def seat(path: Path, code: str, key: str) -> Seat | None:
    """The seat that a key holds at a table; None where it holds none any more."""
    with opened(path) as book:
        row = book.execute(
            _LIVE + "AND cupping_table = (SELECT id FROM cupping_table WHERE code = ?) AND key_sha256 = ?",
            (code.upper(), _hidden(key)),
        ).fetchone()
    return Seat(*row) if row else None


def _hidden(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def save(path: Path, own: Seat, revision: int, tasted: Tasted) -> bool:
    """Keep what a taster has said so far; on disk when this returns. True where it came after the reveal."""
    body = tasted.model_dump_json()
    with opened(path, write=True) as book:
        late = book.execute(
            f"SELECT 1 FROM table_event WHERE cupping_table = ? AND kind = '{REVEALED}'", (own.table,)
        ).fetchone()
        last = book.execute(
            "SELECT revision, body FROM tasting WHERE seat = ? ORDER BY revision DESC, id DESC LIMIT 1",
            (own.id,),
        ).fetchone()
        if last != (revision, body):
            book.execute(
                "INSERT INTO tasting (seat, at, revision, late, body) VALUES (?, ?, ?, ?, ?)",
                (own.id, now(), revision, int(late is not None), body),
            )
    return late is not None


def own_words(path: Path, own: Seat) -> tuple[int, Tasted]:
    """What a taster said last, on this device or one before it, and its revision; nothing said is revision 0."""
    with opened(path) as book:
        row = book.execute(
            "SELECT t.revision, t.body FROM tasting t JOIN seat s ON s.id = t.seat WHERE s.cupping_table = ? AND s.folded = ? "
            "ORDER BY s.id DESC, t.revision DESC, t.id DESC LIMIT 1",
            (own.table, fold(own.taster)),
        ).fetchone()
    return (row[0], Tasted.model_validate_json(row[1])) if row else (0, Tasted())


def progress(path: Path, code: str) -> tuple[Progress, ...]:
    """Who sits at a table and is done."""
    with opened(path) as book:
        found = _table(book, code)
        rows = book.execute(
            "SELECT s.id, s.taster, t.body, t.at FROM (" + _LIVE + ") s LEFT JOIN tasting t ON t.id = "
            "(SELECT id FROM tasting WHERE seat = s.id ORDER BY revision DESC, id DESC LIMIT 1) "
            "WHERE s.cupping_table = ? ORDER BY s.id",
            (found.id,),
        ).fetchall()
    return tuple(
        Progress(identity, taster, bool(body) and bool(json.loads(body)["done"]), at)
        for identity, taster, body, at in rows
    )


def for_safety(path: Path, code: str) -> tuple[Tasted, ...]:
    """The last state of every seat, whether or not the table is revealed: only to look for notes that must stop everybody."""
    with opened(path) as book:
        found = _table(book, code)
        rows = book.execute(
            "SELECT body FROM tasting WHERE id IN (SELECT max(t.id) FROM tasting t JOIN seat s ON s.id = t.seat "
            "WHERE s.cupping_table = ? GROUP BY s.id)",
            (found.id,),
        ).fetchall()
    return tuple(Tasted.model_validate_json(body) for (body,) in rows)


def told(path: Path, code: str) -> tuple[Told, ...]:
    """What every taster said. Raises InputError before the reveal: until then nobody sees it, the leader neither.

    Devices that held one name after each other are one taster.
    """
    with opened(path) as book:
        found = _table(book, code)
        if found.revealed is None:
            raise _problem("the table is still blind", "Reveal it when all are done.")
        rows = book.execute(
            "SELECT s.folded, s.taster, t.late, t.body FROM seat s JOIN tasting t ON t.seat = s.id WHERE s.cupping_table = ? "
            "ORDER BY s.id, t.revision, t.id",
            (found.id,),
        ).fetchall()
    names: dict[str, str] = {}
    states: dict[str, dict[bool, Tasted]] = {}
    for folded, taster, late, body in rows:
        names.setdefault(folded, taster)
        states.setdefault(folded, {})[bool(late)] = Tasted.model_validate_json(body)
    return tuple(Told(names[one], had.get(False, Tasted()), had.get(True)) for one, had in states.items())


def reveal(path: Path, code: str) -> None:
    """Open the notes to all at the table; what comes later is late."""
    _event(path, code, REVEALED)


def free(path: Path, code: str, seat: int) -> None:
    """Let another device take a taster's name; what was said from the old one stays."""
    _event(path, code, FREED, seat=seat)


def finish(path: Path, code: str, case: int) -> None:
    """Note the case that a table was kept as."""
    _event(path, code, KEPT, case=case)


def _event(path: Path, code: str, kind: str, seat: int | None = None, case: int | None = None) -> None:
    with opened(path, write=True) as book:
        found = _table(book, code)
        if (
            seat is not None
            and not book.execute(
                "SELECT 1 FROM seat WHERE id = ? AND cupping_table = ?", (seat, found.id)
            ).fetchone()
        ):
            raise _problem("nobody of this number sits at the table", "Choose from the list.")
        book.execute(
            "INSERT INTO table_event (cupping_table, at, kind, seat, lot_case) VALUES (?, ?, ?, ?, ?)",
            (found.id, now(), kind, seat, case),
        )
