"""The casebook file: opening, its schema and versions, and errors a user can act on.

SQLite with a write-ahead log and full synchronisation: what was acknowledged is on disk. Rows are only added; triggers
refuse to change or delete one. `standing` is no record: it is made of the others (`tracer/casebook/desk.py`).
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tracer.issues import InputError
from tracer.wording.sentence import say

VARIABLE = "TRACER_CASEBOOK"
WAIT = 30.0
"""Seconds to wait for another writer."""
_MARK = 0x54524352
"""Application id in the file's header, so that no other database is taken for a casebook."""

MIGRATIONS: tuple[str, ...] = (
    """
    CREATE TABLE session (
        id INTEGER PRIMARY KEY, at TEXT NOT NULL, name TEXT NOT NULL, kind TEXT NOT NULL, by TEXT NOT NULL, note TEXT NOT NULL,
        replaces INTEGER REFERENCES session(id), knowledge TEXT NOT NULL, added TEXT NOT NULL
    );
    CREATE TABLE served (
        id INTEGER PRIMARY KEY, session INTEGER NOT NULL REFERENCES session(id), taster TEXT NOT NULL, code TEXT NOT NULL,
        sample TEXT NOT NULL, given TEXT NOT NULL, named TEXT NOT NULL, multiple REAL, repeated INTEGER NOT NULL
    );
    CREATE INDEX served_session ON served(session);
    CREATE INDEX served_taster ON served(taster);
    CREATE TABLE drill (
        id INTEGER PRIMARY KEY, at TEXT NOT NULL, person TEXT NOT NULL, card TEXT NOT NULL, right INTEGER NOT NULL
    );
    CREATE INDEX drill_person ON drill(person);
    """,
    """
    CREATE TABLE knowledge (sha256 TEXT PRIMARY KEY, version TEXT NOT NULL, packed BLOB NOT NULL);
    CREATE TABLE lot_case (
        id INTEGER PRIMARY KEY, added TEXT NOT NULL, by TEXT NOT NULL, lot TEXT NOT NULL, sheet TEXT NOT NULL, report TEXT NOT NULL,
        knowledge TEXT NOT NULL REFERENCES knowledge(sha256), verdict TEXT NOT NULL, source TEXT, stage TEXT, probability REAL NOT NULL,
        origin TEXT NOT NULL, exporter TEXT NOT NULL, process TEXT NOT NULL, cupped TEXT, replaces INTEGER REFERENCES lot_case(id)
    );
    CREATE INDEX case_lot ON lot_case(lot);
    CREATE TABLE attachment (
        id INTEGER PRIMARY KEY, lot_case INTEGER NOT NULL REFERENCES lot_case(id), name TEXT NOT NULL, sha256 TEXT NOT NULL, packed BLOB NOT NULL
    );
    CREATE INDEX attachment_case ON attachment(lot_case);
    CREATE TABLE received (
        id INTEGER PRIMARY KEY, lot_case INTEGER NOT NULL REFERENCES lot_case(id), at TEXT NOT NULL, by TEXT NOT NULL, enquiry TEXT NOT NULL,
        answer TEXT NOT NULL, note TEXT NOT NULL, report TEXT NOT NULL
    );
    CREATE INDEX received_case ON received(lot_case);
    CREATE TABLE closing (
        id INTEGER PRIMARY KEY, lot_case INTEGER NOT NULL REFERENCES lot_case(id), at TEXT NOT NULL, by TEXT NOT NULL, fault TEXT NOT NULL,
        how TEXT NOT NULL, note TEXT NOT NULL
    );
    CREATE INDEX closing_case ON closing(lot_case);
    CREATE TABLE passage (
        id INTEGER PRIMARY KEY, lot_case INTEGER NOT NULL REFERENCES lot_case(id), stage TEXT NOT NULL, node TEXT NOT NULL
    );
    CREATE INDEX passage_node ON passage(node);
    CREATE INDEX passage_case ON passage(lot_case);
    """,
    """
    CREATE TABLE cupping_table (
        id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE, opened TEXT NOT NULL, by TEXT NOT NULL, settings TEXT NOT NULL
    );
    CREATE TABLE seat (
        id INTEGER PRIMARY KEY, cupping_table INTEGER NOT NULL REFERENCES cupping_table(id), at TEXT NOT NULL, taster TEXT NOT NULL,
        folded TEXT NOT NULL, key_sha256 TEXT NOT NULL
    );
    CREATE INDEX seat_table ON seat(cupping_table);
    CREATE TABLE tasting (
        id INTEGER PRIMARY KEY, seat INTEGER NOT NULL REFERENCES seat(id), at TEXT NOT NULL, revision INTEGER NOT NULL, late INTEGER NOT NULL,
        body TEXT NOT NULL
    );
    CREATE INDEX tasting_seat ON tasting(seat);
    CREATE TABLE table_event (
        id INTEGER PRIMARY KEY, cupping_table INTEGER NOT NULL REFERENCES cupping_table(id), at TEXT NOT NULL, kind TEXT NOT NULL,
        seat INTEGER REFERENCES seat(id), lot_case INTEGER REFERENCES lot_case(id)
    );
    CREATE INDEX table_event_table ON table_event(cupping_table);
    """,
    """
    ALTER TABLE lot_case ADD COLUMN example INTEGER NOT NULL DEFAULT 0;
    DROP TRIGGER IF EXISTS lot_case_update;
    UPDATE lot_case SET example = 1 WHERE by = 'example';
    CREATE INDEX case_replaces ON lot_case(replaces);
    CREATE TABLE cast_off (
        id INTEGER PRIMARY KEY, lot_case INTEGER NOT NULL REFERENCES lot_case(id), at TEXT NOT NULL, by TEXT NOT NULL
    );
    CREATE INDEX cast_off_case ON cast_off(lot_case);
    CREATE TABLE standing (
        id INTEGER PRIMARY KEY, lot_case INTEGER NOT NULL, received INTEGER, added TEXT NOT NULL, lot TEXT NOT NULL, origin TEXT NOT NULL,
        exporter TEXT NOT NULL, notes TEXT NOT NULL, stage TEXT, stage_probability REAL NOT NULL, source TEXT, probability REAL NOT NULL,
        held TEXT NOT NULL, due TEXT, replaces INTEGER, example INTEGER NOT NULL, words TEXT NOT NULL
    );
    CREATE INDEX standing_case ON standing(lot_case);
    CREATE INDEX standing_example ON standing(example, lot_case);
    CREATE INDEX standing_received ON standing(received);
    CREATE INDEX standing_replaces ON standing(replaces);
    """,
    """
    ALTER TABLE tasting ADD COLUMN sample INTEGER NOT NULL DEFAULT 0;
    ALTER TABLE table_event ADD COLUMN sample INTEGER;
    ALTER TABLE table_event ADD COLUMN body TEXT;
    """,
    """
    CREATE TABLE shared_link (
        id INTEGER PRIMARY KEY, lot_case INTEGER NOT NULL REFERENCES lot_case(id), at TEXT NOT NULL, by TEXT NOT NULL, secret_sha256 TEXT,
        withdraws INTEGER REFERENCES shared_link(id)
    );
    CREATE INDEX shared_link_case ON shared_link(lot_case);
    CREATE INDEX shared_link_secret ON shared_link(secret_sha256);
    """,
)
"""One step for each version of the schema; a file is brought up to date when it is opened."""
_TABLES = (
    "session",
    "served",
    "drill",
    "knowledge",
    "lot_case",
    "attachment",
    "received",
    "closing",
    "passage",
    "cupping_table",
    "seat",
    "tasting",
    "table_event",
    "cast_off",
    "shared_link",
)


def default_path() -> Path:
    """Where the casebook is kept unless the user names another file."""
    from platformdirs import user_data_dir

    return Path(
        os.environ.get(VARIABLE) or Path(user_data_dir("tracer", appauthor=False)) / "casebook.sqlite"
    )


def explain(path: Path, error: Exception) -> InputError:
    """A database error as a problem with its mend."""
    text = str(error)
    if "locked" in text or "busy" in text:
        return InputError.of(
            path,
            say("another program is writing to the casebook"),
            say("Wait a little and try again; nothing was lost."),
        )
    if "full" in text or "disk I/O" in text:
        return InputError.of(
            path,
            say("the disk is full or cannot be written"),
            say("Make room and try again; what was kept before is whole."),
        )
    if "readonly" in text or "unable to open" in text:
        return InputError.of(
            path,
            say("the casebook cannot be opened for writing"),
            say("Check the folder and its rights, or name another with --casebook."),
        )
    if "not a database" in text or "malformed" in text or "corrupt" in text:
        return InputError.of(
            path,
            say("the casebook is damaged or no casebook"),
            say("Restore it from a back-up; do not write to it."),
        )
    return InputError.of(path, say("the casebook refused: {text}", text=text), say("Nothing was changed."))


@contextmanager
def opened(path: Path, write: bool = False) -> Iterator[sqlite3.Connection]:
    """The casebook, brought up to the present schema. With `write`, one transaction: all of it is kept, or nothing.

    Raises InputError with what to do. A file that is not there is made only for writing; for reading it is empty.
    """
    try:
        connection = _patiently(path, write)
    except (sqlite3.Error, OSError) as error:
        raise explain(path, error) from None
    try:
        if write:
            connection.execute("BEGIN IMMEDIATE")
        yield connection
        if write:
            connection.execute("COMMIT")
    except OverflowError:
        _back(connection)
        raise InputError.of(
            path, say("a number is larger than any that is kept here"), say("Check the number.")
        ) from None
    except sqlite3.Error as error:
        _back(connection)
        raise explain(path, error) from None
    except BaseException:
        _back(connection)
        raise
    finally:
        connection.close()


def _back(connection: sqlite3.Connection) -> None:
    if connection.in_transaction:
        try:
            connection.execute("ROLLBACK")
        except sqlite3.Error:
            return


def _patiently(path: Path, write: bool) -> sqlite3.Connection:
    """Open the file; while another process is making it, SQLite says locked at once, so it is tried again."""
    until = time.monotonic() + WAIT
    while True:
        try:
            return _connect(path, write)
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _connect(path: Path, write: bool) -> sqlite3.Connection:
    new = not path.exists() or path.stat().st_size == 0
    if new and not write:
        connection = sqlite3.connect(":memory:", isolation_level=None)
    elif not write and not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        connection = _copy_in_memory(path)
    else:
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
    try:
        connection.execute(f"PRAGMA busy_timeout = {int(WAIT * 1000)}")
        connection.execute("PRAGMA foreign_keys = ON")
        # In one transaction: another process may be making the file right now.
        connection.execute("BEGIN")
        mark = connection.execute("PRAGMA application_id").fetchone()[0]
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        foreign = mark not in (0, _MARK) or (mark == 0 and _has_tables(connection))
        connection.execute("COMMIT")
        if foreign:
            raise InputError.of(
                path, say("this is a database of another program"), say("Name another file with --casebook.")
            )
        if version > len(MIGRATIONS):
            raise InputError.of(
                path,
                say(
                    "the casebook was written by a newer tracer (schema {version}, this one knows {known})",
                    version=version,
                    known=len(MIGRATIONS),
                ),
                say("Update tracer."),
            )
        if connection.execute("PRAGMA journal_mode").fetchone()[0] not in ("wal", "memory"):
            connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        if version < len(MIGRATIONS):
            _migrate(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _copy_in_memory(path: Path) -> sqlite3.Connection:
    """A casebook that can be read and not written, as on a disk of copies; an older one is brought up to date in memory alone."""
    copy = sqlite3.connect(":memory:", isolation_level=None)
    for way in (
        "mode=ro",
        "immutable=1",
    ):  # without rights to its log, only a file that nobody writes can be read
        source = sqlite3.connect(f"{path.resolve().as_uri()}?{way}", uri=True, timeout=WAIT)
        try:
            source.backup(copy)
            return copy
        except sqlite3.OperationalError:
            if way == "immutable=1":
                raise
        finally:
            source.close()
    return copy


def _has_tables(connection: sqlite3.Connection) -> bool:
    return bool(connection.execute("SELECT count(*) FROM sqlite_master WHERE type = 'table'").fetchone()[0])


def _migrate(connection: sqlite3.Connection) -> None:
    connection.execute("BEGIN IMMEDIATE")
    # Another process may have done it while this one waited.
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    for step in MIGRATIONS[version:]:
        for statement in step.split(";"):
            if statement.strip():
                connection.execute(statement)
    for table in _TABLES:
        for verb in ("UPDATE", "DELETE"):
            connection.execute(
                f"CREATE TRIGGER IF NOT EXISTS {table}_{verb.lower()} BEFORE {verb} ON {table} "
                "BEGIN SELECT RAISE(ABORT, 'the casebook is only added to'); END"
            )
    connection.execute(f"PRAGMA application_id = {_MARK}")
    connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
    connection.execute("COMMIT")
