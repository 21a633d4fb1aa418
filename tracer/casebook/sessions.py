"""Panel sessions and drills in the casebook: added one whole session at a time, and read back."""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tracer.casebook.file import opened
from tracer.names import fold


@dataclass(frozen=True, slots=True)
class Kept:
    """One cup of a kept session."""

    session: int
    on: datetime.date
    taster: str
    code: str
    sample: str
    given: tuple[str, ...]
    named: tuple[str, ...]
    multiple: float | None
    repeat: bool


@dataclass(frozen=True, slots=True)
class Session:
    """A kept session."""

    id: int
    on: datetime.date
    name: str
    by: str
    cups: int
    tasters: int
    replaced: bool
    replaces: int | None
    """The session this one corrects; with no cups of its own it takes it out."""
    note: str


Row = tuple[str, str, str, tuple[str, ...], tuple[str, ...], float | None, bool]
"""Taster, code, sample, given, named, multiple, repeat."""


def add_session(
    path: Path,
    on: datetime.date,
    name: str,
    by: str,
    rows: Sequence[Row],
    knowledge: str,
    note: str = "",
    replaces: int | None = None,
) -> int:
    """Keep a session; it is on disk when this returns. A correction is a new session that replaces an old one."""
    with opened(path, write=True) as book:
        now = datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")
        identity = book.execute(
            "INSERT INTO session (at, name, kind, by, note, replaces, knowledge, added) VALUES (?, ?, 'blind', ?, ?, ?, ?, ?)",
            (on.isoformat(), name, by, note, replaces, knowledge, now),
        ).lastrowid
        assert identity is not None
        book.executemany(
            "INSERT INTO served (session, taster, code, sample, given, named, multiple, repeated) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            [
                (identity, taster, code, sample, json.dumps(given), json.dumps(named), multiple, int(repeat))
                for taster, code, sample, given, named, multiple, repeat in rows
            ],
        )
    return identity


def sessions(path: Path) -> tuple[Session, ...]:
    """Every kept session, the earliest first."""
    with opened(path) as book:
        return _sessions(book)


def _sessions(book: sqlite3.Connection) -> tuple[Session, ...]:
    rows = book.execute(
        "SELECT s.id, s.at, s.name, s.by, count(v.id), count(DISTINCT v.taster), s.replaces, s.note FROM session s "
        "LEFT JOIN served v ON v.session = s.id GROUP BY s.id ORDER BY s.at, s.id"
    ).fetchall()
    out = _replaced({identity: (replaces, cups) for identity, _, _, _, cups, _, replaces, _ in rows})
    return tuple(
        Session(i, datetime.date.fromisoformat(at), name, by, cups, tasters, i in out, replaces, note)
        for i, at, name, by, cups, tasters, replaces, note in rows
    )


def _replaced(entries: Mapping[int, tuple[int | None, int]]) -> set[int]:
    """The sessions that a later one corrects or takes out. An entry without cups that is itself taken out does nothing.

    >>> _replaced({1: (None, 10), 2: (1, 0)}), _replaced({1: (None, 10), 2: (1, 0), 3: (2, 0)}) == {2}
    ({1}, True)
    """
    out: set[int] = set()
    for identity in sorted(entries, reverse=True):
        replaces, cups = entries[identity]
        if replaces is not None and (cups or identity not in out):
            out.add(replaces)
    return out


def cups_of(path: Path, number: int) -> set[tuple[str, str, str]]:
    """Taster (folded), code and sample of every cup of a session, also of one that counts no more."""
    with opened(path) as book:
        rows = book.execute("SELECT taster, code, sample FROM served WHERE session = ?", (number,)).fetchall()
    return {(fold(taster), code, sample) for taster, code, sample in rows}


def kept(path: Path, tasters: Iterable[str] | None = None) -> tuple[Kept, ...]:
    """Every cup of sessions that no later one replaces, by day; of some tasters only, if they are named (folded)."""
    wanted = None if tasters is None else {fold(taster) for taster in tasters}
    with opened(path) as book:
        out = {one.id for one in _sessions(book) if one.replaced}
        rows = book.execute(
            "SELECT v.session, s.at, v.taster, v.code, v.sample, v.given, v.named, v.multiple, v.repeated FROM served v "
            "JOIN session s ON s.id = v.session ORDER BY s.at, v.id"
        ).fetchall()
    return tuple(
        Kept(
            session,
            datetime.date.fromisoformat(at),
            taster,
            code,
            sample,
            tuple(json.loads(given)),
            tuple(json.loads(named)),
            multiple,
            bool(repeat),
        )
        for session, at, taster, code, sample, given, named, multiple, repeat in rows
        if session not in out and (wanted is None or fold(taster) in wanted)
    )


def add_drill(path: Path, person: str, card: str, right: bool, at: datetime.datetime) -> None:
    """Keep one answer of a drill."""
    with opened(path, write=True) as book:
        book.execute(
            "INSERT INTO drill (at, person, card, right) VALUES (?, ?, ?, ?)",
            (at.isoformat(timespec="seconds"), person, card, int(right)),
        )


def drills(path: Path, person: str) -> tuple[tuple[datetime.datetime, str, bool], ...]:
    """A person's answers so far: time, card, whether right."""
    with opened(path) as book:
        rows = book.execute("SELECT at, card, right, person FROM drill ORDER BY id").fetchall()
    return tuple(
        (datetime.datetime.fromisoformat(at), card, bool(right))
        for at, card, right, name in rows
        if fold(name) == fold(person)
    )


def first_answers(path: Path, kind: str, until: datetime.date) -> dict[str, tuple[int, int]]:
    """Of each person (folded) the cards of a kind answered right when first seen, and cards seen; up to a day."""
    with opened(path) as book:
        rows = book.execute("SELECT person, card, right, at FROM drill ORDER BY id").fetchall()
    first: dict[tuple[str, str], bool] = {}
    for person, card, right, at in rows:
        if card.startswith(f"{kind}:") and datetime.datetime.fromisoformat(at).astimezone().date() <= until:
            first.setdefault((fold(person), card), bool(right))
    found: dict[str, tuple[int, int]] = {}
    for (person, _), right in first.items():
        had = found.get(person, (0, 0))
        found[person] = (had[0] + right, had[1] + 1)
    return found
