"""Cupping tables: opened by a leader, sat at by tasters on their own devices, blind to each other until the leader reveals.

A table has one sample or a flight of several. Every state that a taster sends of a sample is a row of its own, so that nothing
said is ever lost; the last before the reveal of the sample counts. What comes later is kept and marked late.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import secrets
import sqlite3
from collections.abc import Mapping, Sequence
from pathlib import Path

from tracer.casebook.cases import now
from tracer.casebook.file import opened
from tracer.casebook.table_facts import TableFacts
from tracer.casebook.table_rows import (
    FREED,
    HELD,
    KEPT,
    LAST,
    LIVE,
    REVEALED,
    SETTLED,
    TABLE,
    Progress,
    Seat,
    Table,
    Told,
    of_row,
    plain_code,
    table_of,
)
from tracer.casebook.tasting import Tasted
from tracer.issues import InputError
from tracer.names import fold
from tracer.wording.sentence import say

CODE = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Signs that no one takes for another when a code is read out."""
LETTERS = 8
"""Of a code: too many to be guessed within the hours for which it opens the table."""
OPEN_HOURS = 24
"""Hours after which nobody sits down at a table any more."""
MOST_SEATS = 60
"""Tasters at one table."""
MOST_STATES = 5000
"""States that are kept of one seat: many times what hands can tap in a session."""


def open_table(path: Path, facts: TableFacts, by: str) -> str:
    """Open a table; its code, to be read out to the tasters."""
    with opened(path, write=True) as book:
        code = "".join(secrets.choice(CODE) for _ in range(LETTERS))
        book.execute(
            "INSERT INTO cupping_table (code, opened, by, settings) VALUES (?, ?, ?, ?)",
            (code, now(), by, facts.model_dump_json()),
        )
    return code


def tables(path: Path, last: int = 20) -> tuple[Table, ...]:
    """The newest tables, newest first."""
    with opened(path) as book:
        rows = book.execute(TABLE + "ORDER BY id DESC LIMIT ?", (last,)).fetchall()
        return tuple(of_row(book, row) for row in rows)


def table(path: Path, code: str) -> Table:
    """The table of a code. Raises InputError where there is none."""
    with opened(path) as book:
        return table_of(book, code)


def sit(path: Path, code: str, taster: str) -> tuple[Seat, str]:
    """Take a seat under a name; the key that this device shows from now on.

    Raises InputError where the name is taken (only the leader can free it for another device), where the code has run out,
    where all is revealed to those who sat there, and where all seats are taken.
    """
    key = secrets.token_urlsafe(24)
    with opened(path, write=True) as book:
        found = table_of(book, code)
        _may_sit(book, found, fold(taster))
        identity = book.execute(
            "INSERT INTO seat (cupping_table, at, taster, folded, key_sha256) VALUES (?, ?, ?, ?, ?)",
            (found.id, now(), taster, fold(taster), _hidden(key)),
        ).lastrowid
    assert identity is not None
    return Seat(identity, found.id, taster), key


def _may_sit(book: sqlite3.Connection, found: Table, folded: str) -> None:
    age = datetime.datetime.fromisoformat(now()) - datetime.datetime.fromisoformat(found.opened)
    if age > datetime.timedelta(hours=OPEN_HOURS):
        raise InputError.of(
            "table", say("the code of this table has run out"), say("Ask the leader to open a new table.")
        )
    if book.execute(LIVE + "AND cupping_table = ? AND folded = ?", (found.id, folded)).fetchone():
        raise InputError.of(
            "table",
            say("somebody sits at this table under this name"),
            say("Add an initial; if it is you on another device, ask the leader to free the name."),
        )
    sat = book.execute("SELECT 1 FROM seat WHERE cupping_table = ? AND folded = ?", (found.id, folded))
    if found.revealed and sat.fetchone() is None:
        raise InputError.of(
            "table",
            say("this table is revealed; nobody new sits down at it"),
            say("Ask the leader to open a new table."),
        )
    if len(book.execute(LIVE + "AND cupping_table = ?", (found.id,)).fetchall()) >= MOST_SEATS:
        raise InputError.of(
            "table", say("all seats of this table are taken"), say("Ask the leader to free a name.")
        )


def seat(path: Path, code: str, key: str) -> Seat | None:
    """The seat that a key holds at a table; None where it holds none any more."""
    with opened(path) as book:
        row = book.execute(
            LIVE + "AND cupping_table = (SELECT id FROM cupping_table WHERE code = ?) AND key_sha256 = ?",
            (plain_code(code), _hidden(key)),
        ).fetchone()
    return Seat(*row) if row else None


def _hidden(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def save(path: Path, own: Seat, revision: int, tasted: Tasted, sample: int = 0) -> bool:
    """Keep what a taster has said so far of a sample; on disk when this returns. True where it came after the reveal.

    Raises InputError where more was sent than can have been tapped: then nothing more is kept of this seat.
    """
    body = tasted.model_dump_json()
    with opened(path, write=True) as book:
        late = book.execute(
            f"SELECT 1 FROM table_event WHERE cupping_table = ? AND kind = '{REVEALED}' AND coalesce(sample, ?) = ?",
            (own.table, sample, sample),
        ).fetchone()
        last = book.execute(
            "SELECT revision, body FROM tasting WHERE seat = ? AND sample = ? ORDER BY revision DESC, id DESC LIMIT 1",
            (own.id, sample),
        ).fetchone()
        if last != (revision, body):
            kept = book.execute("SELECT count(*) FROM tasting WHERE seat = ?", (own.id,)).fetchone()[0]
            if kept >= MOST_STATES:
                raise InputError.of(
                    "table",
                    say("this seat has sent more than can be tapped in a session"),
                    say("Ask the leader to free the name, and sit down again."),
                )
            book.execute(
                "INSERT INTO tasting (seat, at, revision, late, body, sample) VALUES (?, ?, ?, ?, ?, ?)",
                (own.id, now(), revision, int(late is not None), body, sample),
            )
    return late is not None


def own_words(path: Path, own: Seat, sample: int = 0) -> tuple[int, Tasted]:
    """What a taster said last of a sample, on this device or one before it, and its revision; nothing said is revision 0."""
    with opened(path) as book:
        row = book.execute(
            "SELECT t.revision, t.body FROM tasting t JOIN seat s ON s.id = t.seat WHERE s.cupping_table = ? AND s.folded = ? "
            "AND t.sample = ? ORDER BY s.id DESC, t.revision DESC, t.id DESC LIMIT 1",
            (own.table, fold(own.taster), sample),
        ).fetchone()
    return (row[0], Tasted.model_validate_json(row[1])) if row else (0, Tasted())


def progress(path: Path, code: str) -> tuple[Progress, ...]:
    """Who sits at a table and which samples are done."""
    with opened(path) as book:
        found = table_of(book, code)
        seats = book.execute(LIVE + "AND cupping_table = ? ORDER BY id", (found.id,)).fetchall()
        states = book.execute(LAST, (found.id,)).fetchall()
    return tuple(
        _progress(
            identity, taster, [row[1:] for row in states if row[0] == identity], len(found.facts.samples)
        )
        for identity, _, taster in seats
    )


def _progress(seat: int, taster: str, states: Sequence[tuple[int, str, str]], samples: int) -> Progress:
    finished = frozenset(sample for sample, body, _ in states if json.loads(body)["done"])
    last = max(states, key=lambda one: one[2], default=None)
    return Progress(
        seat,
        taster,
        finished,
        frozenset(sample for sample, _, _ in states),
        last[0] if last else None,
        len(finished) >= samples,
        last[2] if last else None,
    )


def for_safety(path: Path, code: str) -> tuple[Tasted, ...]:
    """The last states of every seat, whether or not the table is revealed: only to look for notes that must stop everybody."""
    with opened(path) as book:
        found = table_of(book, code)
        rows = book.execute(LAST, (found.id,)).fetchall()
    return tuple(Tasted.model_validate_json(row[2]) for row in rows)


def told(path: Path, code: str, sample: int = 0) -> tuple[Told, ...]:
    """What every taster said of a sample, with what the leader settled since.

    Raises InputError before its reveal: until then nobody sees it, the leader neither. Devices that held one name after each
    other are one taster.
    """
    with opened(path) as book:
        found = table_of(book, code)
        if sample not in found.shown:
            raise InputError.of("table", say("the table is still blind"), say("Reveal it when all are done."))
        rows = book.execute(
            "SELECT s.folded, s.taster, t.late, t.body FROM seat s JOIN tasting t ON t.seat = s.id WHERE s.cupping_table = ? "
            "AND t.sample = ? ORDER BY s.id, t.revision, t.id",
            (found.id, sample),
        ).fetchall()
        settled = book.execute(
            "SELECT body FROM table_event WHERE cupping_table = ? AND kind = ? AND sample = ? ORDER BY id",
            (found.id, SETTLED, sample),
        ).fetchall()
    meanings = {
        (one["taster"], one["words"]): one["means"] for one in (json.loads(body) for (body,) in settled)
    }
    names: dict[str, str] = {}
    states: dict[str, dict[bool, Tasted]] = {}
    for folded, taster, late, body in rows:
        names.setdefault(folded, taster)
        states.setdefault(folded, {})[bool(late)] = _settled(
            Tasted.model_validate_json(body), folded, meanings
        )
    return tuple(Told(names[one], had.get(False, Tasted()), had.get(True)) for one, had in states.items())


def _settled(tasted: Tasted, folded: str, meanings: Mapping[tuple[str, str], str | None]) -> Tasted:
    notes = tuple(
        note.model_copy(update={"means": meanings[folded, note.words]})
        if (folded, note.words) in meanings
        else note
        for note in tasted.notes
    )
    return tasted.model_copy(update={"notes": notes})


def reveal(path: Path, code: str, sample: int | None = None) -> None:
    """Open the notes of a sample, or of all, to all at the table; what comes later is late."""
    _event(path, code, REVEALED, sample=sample)


def free(path: Path, code: str, seat: int) -> None:
    """Let another device take a taster's name; what was said from the old one stays."""
    _event(path, code, FREED, seat=seat)


def take_back(path: Path, code: str, seat: int) -> None:
    """Undo that a name was freed. Raises InputError where another device has taken it since."""
    _event(path, code, HELD, seat=seat)


def settle(path: Path, code: str, sample: int, taster: str, words: str, means: str | None) -> None:
    """Note what a taster, asked back after the reveal, says the words mean; None takes it back."""
    body = json.dumps({"taster": fold(taster), "words": words, "means": means}, ensure_ascii=False)
    _event(path, code, SETTLED, sample=sample, body=body)


def finish(path: Path, code: str, case: int, sample: int = 0) -> None:
    """Note the case that a sample was kept as."""
    _event(path, code, KEPT, case=case, sample=sample)


def _event(
    path: Path,
    code: str,
    kind: str,
    seat: int | None = None,
    case: int | None = None,
    sample: int | None = None,
    body: str | None = None,
) -> None:
    with opened(path, write=True) as book:
        found = table_of(book, code)
        if sample is not None and not 0 <= sample < len(found.facts.samples):
            raise InputError.of("table", say("the table has no such sample"), say("Choose from the list."))
        if seat is not None:
            row = book.execute(
                "SELECT folded FROM seat WHERE id = ? AND cupping_table = ?", (seat, found.id)
            ).fetchone()
            if row is None:
                raise InputError.of(
                    "table", say("nobody of this number sits at the table"), say("Choose from the list.")
                )
            if (
                kind == HELD
                and book.execute(LIVE + "AND cupping_table = ? AND folded = ?", (found.id, row[0])).fetchone()
            ):
                raise InputError.of(
                    "table",
                    say("somebody sits at this table under this name"),
                    say("The taster goes on from the other device."),
                )
        book.execute(
            "INSERT INTO table_event (cupping_table, at, kind, seat, lot_case, sample, body) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (found.id, now(), kind, seat, case, sample, body),
        )
