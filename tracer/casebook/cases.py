"""Cases: a lot as it was traced, the answers received, and how it was closed. Corrections are new entries."""

from __future__ import annotations

import datetime
import hashlib
import json
import sqlite3
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tracer.casebook.common import MADE_OF
from tracer.casebook.desk import catch_up
from tracer.casebook.file import opened
from tracer.issues import InputError
from tracer.wording.sentence import say

if TYPE_CHECKING:  # a list of cases needs none of them
    from tracer.knowledge.base import KnowledgeBase
    from tracer.lots.lot import Lot
    from tracer.report.document import Report

HOW = ("laboratory", "record", "experiment", "statement", "belief")
"""How a cause was confirmed: a laboratory result, a paper of the lot, a trial that reproduced or removed it, the statement of who did
it, or belief alone. Belief teaches nothing."""
TAKEN_BACK = ""
"""Instead of an answer: what was received to this question before counts no more."""
NONE, NOT_FOUND = "none", "not_found"
"""Closings that name no fault: the coffee was sound; the cause was never found."""


@dataclass(frozen=True, slots=True)
class Case:
    """A case in one line."""

    id: int
    added: str
    by: str
    lot: str
    verdict: str
    source: str | None
    stage: str | None
    probability: float
    origin: str
    exporter: str
    process: str
    closed: str | None
    how: str | None
    example: bool
    replaced: bool


@dataclass(frozen=True, slots=True)
class Received:
    """An answer received; one that is TAKEN_BACK undoes those before it to the same question."""

    at: str
    by: str
    enquiry: str
    answer: str
    note: str


@dataclass(frozen=True, slots=True)
class Closing:
    """How a case was closed; the last one counts."""

    at: str
    by: str
    fault: str
    how: str
    note: str


@dataclass(frozen=True)
class Whole:
    """Everything kept of a case."""

    case: Case
    sheet: str
    report: Mapping[str, Any]
    knowledge: str
    files: Mapping[str, bytes]
    received: tuple[Received, ...]
    closings: tuple[Closing, ...]


def now() -> str:
    """The present moment, UTC, to the second."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")


def insert_case(
    book: sqlite3.Connection,
    sheet: str,
    files: Mapping[str, bytes],
    lot: Lot,
    report: Report,
    base: KnowledgeBase,
    by: str,
    replaces: int | None = None,
    example: bool = False,
) -> int:
    """One case within a transaction of the caller."""
    from tracer.knowledge.cache import as_data

    if book.execute("SELECT 1 FROM knowledge WHERE sha256 = ?", (base.sha256,)).fetchone() is None:
        packed = zlib.compress(json.dumps(as_data(base), ensure_ascii=False, separators=(",", ":")).encode())
        book.execute("INSERT INTO knowledge VALUES (?, ?, ?)", (base.sha256, base.settings.version, packed))
    first = report.sources[0] if report.sources else None
    days = [cupping.on for cupping in lot.cuppings if cupping.on]
    identity = book.execute(
        "INSERT INTO lot_case (added, by, lot, sheet, report, knowledge, verdict, source, stage, probability, origin, exporter, process, cupped, "
        "replaces, example) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            now(),
            by,
            lot.lot,
            sheet,
            report.to_keep(),
            base.sha256,
            report.verdict,
            first.fault if first else None,
            first.stage if first else None,
            first.probability if first else 0.0,
            lot.origin or "",
            lot.exporter or "",
            lot.process or "",
            str(max(days)) if days else None,
            replaces,
            int(example),
        ),
    ).lastrowid
    assert identity is not None
    for name, content in files.items():
        book.execute(
            "INSERT INTO attachment (lot_case, name, sha256, packed) VALUES (?, ?, ?, ?)",
            (identity, name, hashlib.sha256(content).hexdigest(), zlib.compress(content)),
        )
    places = [*((one.stage, one.node) for one in lot.custody), *((MADE_OF, part) for part in lot.made_of)]
    book.executemany(
        "INSERT INTO passage (lot_case, stage, node) VALUES (?, ?, ?)",
        [(identity, *place) for place in places],
    )
    return identity


_NOW = "CASE WHEN s.id IS NULL THEN c.{name} ELSE s.{name} END"
_MOVING = ("source", "stage")
"""What an answer may change."""
_VERDICT = "coalesce((SELECT json_extract(r.report, '$.verdict') FROM received r WHERE r.lot_case = c.id ORDER BY r.id DESC LIMIT 1), c.verdict)"
_CASE = (
    f"SELECT c.id, c.added, c.by, c.lot, {_VERDICT}, {_NOW.format(name='source')}, {_NOW.format(name='stage')}, "
    f"{_NOW.format(name='probability')}, c.origin, c.exporter, c.process, k.fault, k.how, c.example, "
    "EXISTS (SELECT 1 FROM lot_case r WHERE r.replaces = c.id) FROM lot_case c "
    "LEFT JOIN closing k ON k.id = (SELECT max(id) FROM closing WHERE lot_case = c.id) "
    "LEFT JOIN standing s ON s.id = (SELECT max(id) FROM standing WHERE lot_case = c.id) "
)


def cases(path: Path, where: Mapping[str, str] | None = None, last: int | None = None) -> tuple[Case, ...]:
    """Cases in one line each as they stand after the last answer, the newest last; `where` filters by lot, source, stage, origin, exporter or process."""
    wanted = dict(where or {})
    clause = " AND ".join(
        f"{_NOW.format(name=name) if name in _MOVING else f'c.{name}'} = ?" for name in wanted
    )
    query = (
        _CASE
        + (f"WHERE {clause} " if clause else "")
        + "ORDER BY c.id DESC"
        + (f" LIMIT {int(last)}" if last else "")
    )
    catch_up(path)
    with opened(path) as book:
        rows = book.execute(query, tuple(wanted.values())).fetchall()
    return tuple(_case(row) for row in reversed(rows))


def _case(row: Sequence[Any]) -> Case:
    return Case(*(*row[:-2], bool(row[-2]), bool(row[-1])))


def values_of(path: Path, name: str) -> tuple[str, ...]:
    """What the cases have as lot, source, origin or exporter, as they stand after the last answer; the commonest first."""
    value = _NOW.format(name=name) if name in _MOVING else f"c.{name}"
    catch_up(path)
    with opened(path) as book:
        rows = book.execute(
            f"SELECT {value} AS v FROM lot_case c "
            "LEFT JOIN standing s ON s.id = (SELECT max(id) FROM standing WHERE lot_case = c.id) "
            "WHERE v IS NOT NULL AND v <> '' GROUP BY v ORDER BY count(*) DESC, v"
        ).fetchall()
    return tuple(row[0] for row in rows)


def count(path: Path) -> int:
    """How many cases are kept."""
    with opened(path) as book:
        return int(book.execute("SELECT count(*) FROM lot_case").fetchone()[0])


def whole(path: Path, identity: int) -> Whole:
    """Everything kept of a case. Raises InputError where there is none of this number."""
    with opened(path) as book:
        row = book.execute(_CASE + "WHERE c.id = ?", (identity,)).fetchone()
        if row is None:
            raise InputError.of(
                "CASE",
                say("no case {identity} is kept", identity=identity),
                say("See the numbers with: tracer cases"),
            )
        sheet, report, knowledge = book.execute(
            "SELECT sheet, report, knowledge FROM lot_case WHERE id = ?", (identity,)
        ).fetchone()
        files = book.execute("SELECT name, packed FROM attachment WHERE lot_case = ?", (identity,)).fetchall()
        received = book.execute(
            "SELECT at, by, enquiry, answer, note FROM received WHERE lot_case = ? ORDER BY id", (identity,)
        ).fetchall()
        closings = book.execute(
            "SELECT at, by, fault, how, note FROM closing WHERE lot_case = ? ORDER BY id", (identity,)
        ).fetchall()
    return Whole(
        _case(row),
        sheet,
        json.loads(report),
        knowledge,
        {name: zlib.decompress(packed) for name, packed in files},
        tuple(Received(*one) for one in received),
        tuple(Closing(*one) for one in closings),
    )


def knowledge_of(path: Path, sha256: str) -> KnowledgeBase | None:
    """The knowledge a case was traced with; None where this version of the tool cannot read it any more."""
    from tracer.knowledge.cache import from_data

    with opened(path) as book:
        row = book.execute("SELECT packed FROM knowledge WHERE sha256 = ?", (sha256,)).fetchone()
    return None if row is None else from_data(json.loads(zlib.decompress(row[0])))


def add_received(
    path: Path, identity: int, enquiry: str, answer: str, by: str, note: str, report: Report
) -> None:
    """Keep an answer with the ranking it led to."""
    with opened(path, write=True) as book:
        add_received_to(book, identity, enquiry, answer, by, note, report)


def add_received_to(
    book: sqlite3.Connection, identity: int, enquiry: str, answer: str, by: str, note: str, report: Report
) -> None:
    """An answer within a transaction of the caller."""
    book.execute(
        "INSERT INTO received (lot_case, at, by, enquiry, answer, note, report) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (identity, now(), by, enquiry, answer, note, report.to_keep()),
    )


def close(path: Path, identity: int, fault: str, how: str, by: str, note: str) -> None:
    """Close a case, or close it anew."""
    with opened(path, write=True) as book:
        if book.execute("SELECT 1 FROM lot_case WHERE id = ?", (identity,)).fetchone() is None:
            raise InputError.of(
                "CASE",
                say("no case {identity} is kept", identity=identity),
                say("See the numbers with: tracer cases"),
            )
        book.execute(
            "INSERT INTO closing (lot_case, at, by, fault, how, note) VALUES (?, ?, ?, ?, ?, ?)",
            (identity, now(), by, fault, how, note),
        )
