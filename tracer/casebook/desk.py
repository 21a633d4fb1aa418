"""The desk's list: every kept case as it stands after the last answer, found by any word of its sheet, filtered and sorted.

A line a case and answer is derived from what is kept, so that thousands are searched at once; what is missing is made when
the list is read, also for casebooks written before, or read in from an export.
"""

from __future__ import annotations

import datetime
import json
import re
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tracer.casebook.file import opened
from tracer.issues import InputError
from tracer.names import fold

STATES = ("open", "closed", "held", "due", "all", "replaced")
"""Which cases are listed: held are open ones with a stop or a hold, due open ones with a claim day, replaced the older ones."""
SORTS = {
    "newest": "s.lot_case DESC",
    "lot": "lower(s.lot), s.lot_case DESC",
    "exporter": "s.exporter = '', lower(s.exporter), s.lot_case DESC",
    "claim_day": "s.due IS NULL, s.due, s.lot_case DESC",
    "probability": "s.probability DESC, s.lot_case DESC",
}
"""How the list is sorted."""
MOST_WORDS = 20_000
_KEYS = re.compile(r"[a-z_]+:(?=\s|$)|[{}\[\]\"',#]")


@dataclass(frozen=True, slots=True)
class Line:
    """A case as the list shows it."""

    id: int
    added: str
    lot: str
    origin: str
    exporter: str
    notes: str
    stage: str | None
    stage_probability: float
    source: str | None
    probability: float
    held: str
    """stop, hold, or nothing."""
    due: str | None
    """The first claim day."""
    closed: str | None
    replaced_by: int | None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for: words that must all stand there, each or one of its other names; state, sort, examples or real lots."""

    words: str = ""
    other_names: Mapping[str, Sequence[str]] | None = None
    state: str = "all"
    sort: str = "newest"
    examples: bool = False


@dataclass(frozen=True, slots=True)
class Found:
    """A page of the list, how many were found, and how many cases there are."""

    lines: tuple[Line, ...]
    found: int
    total: int


def find(path: Path, wanted: Wanted, first: int = 0, most: int = 50) -> Found:
    """Cases that have every word, as they stand now."""
    clauses, values = _where(wanted)
    everything = "s.example = ? AND s.lot_case NOT IN (SELECT lot_case FROM cast_off)"
    where = " AND ".join([everything, *clauses])
    source = (
        "FROM standing s LEFT JOIN closing k ON k.id = (SELECT max(id) FROM closing WHERE lot_case = s.lot_case) "
        "WHERE s.id IN (SELECT max(id) FROM standing GROUP BY lot_case) AND "
    )
    columns = (
        "s.lot_case, s.added, s.lot, s.origin, s.exporter, s.notes, s.stage, s.stage_probability, s.source, s.probability, s.held, s.due, "
        f"k.fault, {_REPLACED_BY}"
    )
    order = SORTS.get(wanted.sort, SORTS["newest"])
    all_values = (int(wanted.examples), *values)
    catch_up(path)
    with opened(path) as book:
        rows = book.execute(
            f"SELECT {columns}, count(*) OVER () {source}{where} ORDER BY {order} LIMIT ? OFFSET ?",
            (*all_values, most, first),
        ).fetchall()
        total = book.execute(
            f"SELECT count(DISTINCT s.lot_case) FROM standing s WHERE {everything}", (int(wanted.examples),)
        ).fetchone()[0]
    return Found(tuple(Line(*row[:-1]) for row in rows), rows[0][-1] if rows else 0, total)


def examples_tried(path: Path) -> int:
    """How many examples are kept and not thrown away."""
    with opened(path) as book:
        row = book.execute(
            "SELECT count(DISTINCT lot_case) FROM standing WHERE example = 1 AND lot_case NOT IN (SELECT lot_case FROM cast_off)"
        ).fetchone()
    return int(row[0])


_REPLACED_BY = "(SELECT max(r.lot_case) FROM standing r WHERE r.replaces = s.lot_case)"


def _where(wanted: Wanted) -> tuple[list[str], list[str]]:
    clauses, values = [], []
    for word in fold(wanted.words).split()[:12]:
        names = [word, *(fold(one) for one in (wanted.other_names or {}).get(word, ()))]
        clauses.append("(" + " OR ".join("instr(s.words, ?) > 0" for _ in names) + ")")
        values += names
    replaced = f"{_REPLACED_BY} IS NOT NULL"
    clauses.append(replaced if wanted.state == "replaced" else f"NOT {replaced}")
    clauses += {
        "open": ["k.fault IS NULL"],
        "closed": ["k.fault IS NOT NULL"],
        "held": ["k.fault IS NULL", "s.held <> ''"],
        "due": ["k.fault IS NULL", "s.due IS NOT NULL"],
    }.get(wanted.state, [])
    return clauses, values


def links(path: Path, identity: int) -> tuple[int | None, int | None]:
    """The case that this one replaces, and the one that replaces it."""
    with opened(path) as book:
        row = book.execute("SELECT replaces FROM lot_case WHERE id = ?", (identity,)).fetchone()
        newer = book.execute("SELECT max(id) FROM lot_case WHERE replaces = ?", (identity,)).fetchone()
    return (row[0] if row else None), newer[0]


def cast_off_examples(path: Path, by: str) -> int:
    """Put every example away for good: it is listed, searched and learned from no more. How many were."""
    with opened(path, write=True) as book:
        return book.execute(
            "INSERT INTO cast_off (lot_case, at, by) SELECT id, ?, ? FROM lot_case "
            "WHERE example AND id NOT IN (SELECT lot_case FROM cast_off)",
            (datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds"), by),
        ).rowcount


def catch_up(path: Path) -> None:
    """Write the lines that are missing. A casebook that may only be read stays as it is."""
    with opened(path) as book:
        if not _missing(book):
            return
    try:
        with opened(path, write=True) as book:
            for row in list(_lines(book)):
                book.execute(
                    f"INSERT INTO standing ({', '.join(row)}) VALUES ({_marks(row)})", tuple(row.values())
                )
    except InputError:
        return


def _marks(row: Mapping[str, Any]) -> str:
    return ", ".join("?" * len(row))


_SEEN = "(SELECT coalesce(max({column}), 0) FROM standing)"


def _missing(book: sqlite3.Connection) -> bool:
    return any(
        book.execute(f"SELECT 1 FROM {table} WHERE id > {_SEEN.format(column=column)} LIMIT 1").fetchone()
        for table, column in (("lot_case", "lot_case"), ("received", "received"))
    )


def _lines(book: sqlite3.Connection) -> Iterator[dict[str, Any]]:
    """Lines of the cases that have none yet, and of those answered since."""
    new = f"c.id > {_SEEN.format(column='lot_case')}"
    answered = f"SELECT max(id) FROM received WHERE id > {_SEEN.format(column='received')} GROUP BY lot_case"
    cases = "SELECT c.id, c.added, c.lot, c.sheet, c.origin, c.exporter, c.process, c.replaces, c.example, {report}, {last} FROM lot_case c "
    rows = book.execute(
        cases.format(report="c.report", last="NULL") + f"WHERE {new} ORDER BY c.id"
    ).fetchall()
    rows += book.execute(
        cases.format(report="r.report", last="r.id")
        + f"JOIN received r ON r.lot_case = c.id WHERE r.id IN ({answered}) ORDER BY r.id"
    ).fetchall()
    for row in rows:
        yield _line(book, *row)


def _line(book: sqlite3.Connection, identity: int, added: str, lot: str, sheet: str, origin: str, exporter: str,
          process: str, replaces: int | None, example: int, packed: str, received: int | None) -> dict[str, Any]:  # fmt: skip
    report = json.loads(packed)
    sources, stages = report.get("sources") or [], report.get("stages") or []
    levels = {one["level"] for one in report.get("cautions") or ()}
    due = [one["last_day"] for one in report.get("deadlines") or ()]
    notes = [one["descriptor"] for one in report.get("notes") or ()]
    nodes = [row[0] for row in book.execute("SELECT node FROM passage WHERE lot_case = ?", (identity,))]
    remarks = [row[0] for row in book.execute("SELECT note FROM received WHERE lot_case = ?", (identity,))]
    labels = [one["label"] for one in (*sources[:3], *stages[:1])] + [
        note.replace("_", " ") for note in notes
    ]
    said = [lot, exporter, origin, process, *nodes, *labels, *remarks, _KEYS.sub(" ", sheet)]
    return {
        "lot_case": identity,
        "received": received,
        "added": added,
        "lot": lot,
        "origin": origin,
        "exporter": exporter,
        "notes": " ".join(notes[:4]),
        "stage": stages[0]["stage"] if stages and sources else None,
        "stage_probability": stages[0]["probability"] if stages and sources else 0.0,
        "source": sources[0]["fault"] if sources else None,
        "probability": sources[0]["probability"] if sources else 0.0,
        "held": next((level for level in ("stop", "hold") if level in levels), ""),
        "due": min(due) if due else None,
        "replaces": replaces,
        "example": example,
        "words": fold(" ".join(said))[:MOST_WORDS],
    }
