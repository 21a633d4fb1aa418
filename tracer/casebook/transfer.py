"""The casebook out and in: one JSON Lines file that a person can read, and a back-up of the file itself."""

from __future__ import annotations

import base64
import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tracer.casebook.file import MIGRATIONS, explain, opened
from tracer.casebook.imported import what_hinders
from tracer.issues import InputError, Place
from tracer.whole_file import appearing
from tracer.wording.sentence import say

TABLES = (
    "knowledge",
    "session",
    "served",
    "drill",
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
"""In an order in which every row comes after those it refers to."""


def export_lines(path: Path) -> Iterator[str]:
    """The whole casebook, a JSON object a line; the first says what it is."""
    with opened(path) as book:
        yield json.dumps({"casebook": len(MIGRATIONS)})
        for table in TABLES:
            cursor = book.execute(f"SELECT * FROM {table} ORDER BY rowid")
            names = [column[0] for column in cursor.description]
            for row in cursor:
                yield json.dumps(
                    {"table": table, **dict(zip(names, map(_out, row), strict=True))}, ensure_ascii=False
                )


def _out(value: Any) -> Any:
    return {"base64": base64.b64encode(value).decode()} if isinstance(value, bytes) else value


def _in(value: Any) -> Any:
    return base64.b64decode(value["base64"]) if isinstance(value, dict) else value


def import_lines(path: Path, source: Path) -> dict[str, int]:
    """Read an export into an empty casebook: all of it, or nothing. Rows read by table."""
    with opened(path, write=True) as book:
        if any(book.execute(f"SELECT 1 FROM {table} LIMIT 1").fetchone() for table in TABLES):
            raise InputError.of(
                path, say("the casebook is not empty"), say("Import into a new file: --casebook NEW.sqlite.")
            )
        columns = {table: {row[1] for row in book.execute(f"PRAGMA table_info({table})")} for table in TABLES}
        read: dict[str, int] = dict.fromkeys(TABLES, 0)
        for number, data in _lines(source):
            place = Place(str(source), number)
            if number == 1:
                if type(data.get("casebook")) is not int or not 1 <= data["casebook"] <= len(MIGRATIONS):
                    raise InputError.of(
                        place,
                        say("this is no export of a casebook, or one of a newer tracer"),
                        say("Export it again, or update tracer."),
                    )
                continue
            table = data.pop("table", None)
            if not isinstance(table, str) or table not in columns or not set(data) <= columns[table]:
                raise InputError.of(
                    place,
                    say("the row does not fit the casebook"),
                    say("Nothing was imported. Export the file again."),
                )
            hinders = what_hinders(table, data)
            if hinders:
                raise InputError.of(place, hinders, say("Nothing was imported. Export the file again."))
            names = sorted(data)
            try:
                book.execute(
                    f"INSERT INTO {table} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})",
                    [_in(data[name]) for name in names],
                )
            except (sqlite3.IntegrityError, ValueError, KeyError) as error:
                raise InputError.of(
                    place,
                    say("the row cannot be kept: {error}", error=error),
                    say("Nothing was imported. Export the file again."),
                ) from None
            read[table] += 1
    return read


def _lines(source: Path) -> Iterator[tuple[int, dict[str, Any]]]:
    try:
        with source.open(encoding="utf-8-sig") as file:
            for number, line in enumerate(file, 1):
                try:
                    data = json.loads(line)
                except (ValueError, RecursionError):
                    data = None
                if not isinstance(data, dict):
                    raise InputError.of(
                        Place(str(source), number),
                        say("the line is no JSON object"),
                        say("Nothing was imported. Export the file again."),
                    )
                yield number, data
    except (OSError, UnicodeDecodeError) as error:
        raise InputError.of(
            source, say("cannot be read: {error}", error=error), say("Check the name and the file.")
        ) from None


def back_up(path: Path, target: Path) -> None:
    """Copy a casebook while it is in use, whole and checked; the target is replaced only once the copy is sound."""
    if not target.parent.is_dir():
        message, remedy = say("the folder does not exist"), say("Name a file in a folder that exists.")
        raise InputError.of(target, message, remedy)
    try:
        with appearing(target, 0o600) as part:
            told = _copied(path, part)
            if told != "ok":
                message = say("the copy is not sound: {told}", told=told)
                raise InputError.of(path, message, say("Check the casebook itself."))
    except sqlite3.Error as error:
        raise explain(target, error) from None
    except OSError as error:
        message = say("cannot be written: {strerror}", strerror=error.strerror)
        remedy = say("Give a file in a folder that exists and can be written.")
        raise InputError.of(target, message, remedy) from None


def _copied(path: Path, part: Path) -> str:
    """Copy the casebook into a file; what the check of the copy says."""
    with opened(path) as book:
        copy = sqlite3.connect(part)
        try:
            book.backup(copy)
            told = str(copy.execute("PRAGMA quick_check").fetchone()[0])
            copy.execute("PRAGMA journal_mode = DELETE")
        finally:
            copy.close()
    return told
