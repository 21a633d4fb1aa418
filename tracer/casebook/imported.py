"""What each row of an export may hold: kinds, lengths, days, names and packed parts, so that no row hurts whoever reads it later."""

from __future__ import annotations

import base64
import binascii
import datetime
import hashlib
import json
import unicodedata
import zlib
from collections.abc import Callable, Mapping
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

from tracer.casebook.cases import HOW, TAKEN_BACK
from tracer.wording.sentence import say

Check = Callable[[Any], bool]
MOST_UNPACKED = 300_000_000
_SHORT, _LONG = 4_000, 20_000_000
_LARGEST = 2**53


def _number(value: Any) -> bool:
    return type(value) is int and 0 <= value < _LARGEST


def _positive(value: Any) -> bool:
    return _number(value) and value > 0


def _figure(value: Any) -> bool:
    return type(value) in (int, float) and abs(value) < _LARGEST


def _words(value: Any) -> bool:
    return (
        isinstance(value, str)
        and len(value) <= _SHORT
        and not any(unicodedata.category(sign) in ("Cc", "Cs") and sign not in "\n\t" for sign in value)
    )


def _name(value: Any) -> bool:
    return _words(value) and bool(value.strip()) and "\n" not in value


def _text(value: Any) -> bool:
    return (
        isinstance(value, str) and len(value) <= _LONG and not any(0xD800 <= ord(c) <= 0xDFFF for c in value)
    )


def _moment(value: Any) -> bool:
    try:
        datetime.datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return False
    return _name(value)


def _day(value: Any) -> bool:
    try:
        datetime.date.fromisoformat(value)
    except (TypeError, ValueError):
        return False
    return True


def _json(holds: Check) -> Check:
    def check(value: Any) -> bool:
        try:
            return _text(value) and holds(json.loads(value))
        except (ValueError, RecursionError):
            return False

    return check


def _yes_or_no(value: Any) -> bool:
    return value in (0, 1)


def _answer(value: Any) -> bool:
    """An answer's id, or that an answer was taken back."""
    return value == TAKEN_BACK or _name(value)


def _listed(value: Any) -> bool:
    return isinstance(value, list) and len(value) <= 200 and all(map(_name, value))


def _mapped(value: Any) -> bool:
    return isinstance(value, dict)


def _seated(value: Any) -> bool:
    return isinstance(value, dict) and isinstance(value.get("done"), bool)


def _report(value: Any) -> bool:
    """What the screens of a kept case read of its report."""
    return (
        isinstance(value, dict)
        and _words(value.get("verdict_text"))
        and isinstance(value.get("knowledge"), dict)
        and _words(value["knowledge"].get("version"))
        and isinstance(value.get("sources"), list)
        and all(
            isinstance(one, dict) and _figure(one.get("probability")) and _words(one.get("label")) and _words(one.get("fault"))
            for one in value["sources"]
        )
    )  # fmt: skip


def _beside(value: Any) -> bool:
    """A file's name in the folder of the sheet or below it."""
    parts = (*PurePosixPath(value).parts, *PureWindowsPath(value).parts) if _name(value) else ("..",)
    return ".." not in parts and not PurePosixPath(value).is_absolute() and not PureWindowsPath(value).drive


def unpacked(value: Any) -> bytes | None:
    """What a packed part holds; None where it is damaged or far too large."""
    if not (isinstance(value, dict) and set(value) == {"base64"} and isinstance(value["base64"], str)):
        return None
    try:
        opener = zlib.decompressobj()
        found = opener.decompress(base64.b64decode(value["base64"], validate=True), MOST_UNPACKED)
    except (ValueError, binascii.Error, zlib.error):
        return None
    return found if opener.eof and not opener.unused_data else None


def _packed(value: Any) -> bool:
    return unpacked(value) is not None


def _or_none(check: Check) -> Check:
    return lambda value: value is None or check(value)


ROWS: Mapping[str, Mapping[str, Check]] = {
    "knowledge": {"sha256": _name, "version": _name, "packed": _packed},
    "session": {
        "id": _positive, "at": _day, "name": _words, "kind": _name, "by": _words, "note": _words, "replaces": _or_none(_positive),
        "knowledge": _name, "added": _moment,
    },
    "served": {
        "id": _positive, "session": _positive, "taster": _name, "code": _name, "sample": _name, "given": _json(_listed),
        "named": _json(_listed), "multiple": _or_none(_figure), "repeated": _number,
    },
    "drill": {"id": _positive, "at": _moment, "person": _name, "card": _name, "right": _number},
    "lot_case": {
        "id": _positive, "added": _moment, "by": _words, "lot": _name, "sheet": _text, "report": _json(_report), "knowledge": _name,
        "verdict": _name, "source": _or_none(_name), "stage": _or_none(_name), "probability": _figure, "origin": _words,
        "exporter": _words, "process": _words, "cupped": _or_none(_day), "replaces": _or_none(_positive), "example": _yes_or_no,
    },
    "attachment": {"id": _positive, "lot_case": _positive, "name": _beside, "sha256": _name, "packed": _packed},
    "received": {
        "id": _positive, "lot_case": _positive, "at": _moment, "by": _words, "enquiry": _name, "answer": _answer, "note": _words,
        "report": _json(_report),
    },
    "closing": {
        "id": _positive, "lot_case": _positive, "at": _moment, "by": _words, "fault": _name, "how": HOW.__contains__, "note": _words,
    },
    "cast_off": {"id": _positive, "lot_case": _positive, "at": _moment, "by": _words},
    "shared_link": {
        "id": _positive, "lot_case": _positive, "at": _moment, "by": _words, "secret_sha256": _or_none(_name),
        "withdraws": _or_none(_positive),
    },
    "passage": {"id": _positive, "lot_case": _positive, "stage": _name, "node": _name},
    "cupping_table": {"id": _positive, "code": _name, "opened": _moment, "by": _words, "settings": _json(_mapped)},
    "seat": {
        "id": _positive, "cupping_table": _positive, "at": _moment, "taster": _name, "folded": _name, "key_sha256": _name,
    },
    "tasting": {
        "id": _positive, "seat": _positive, "at": _moment, "revision": _number, "late": _number, "body": _json(_seated),
        "sample": _number,
    },
    "table_event": {
        "id": _positive, "cupping_table": _positive, "at": _moment, "kind": _name, "seat": _or_none(_positive),
        "lot_case": _or_none(_positive), "sample": _or_none(_number), "body": _or_none(_text),
    },
}  # fmt: skip
"""Table -> column -> what it may hold."""


def what_hinders(table: str, row: Mapping[str, Any]) -> str | None:
    """Why a row of an export cannot be kept, or None."""
    for column, value in row.items():
        try:
            sound = ROWS[table][column](value)
        except (TypeError, RecursionError):
            sound = False
        if not sound:
            return say(
                "'{column}' of a row of '{table}' does not hold what it should", column=column, table=table
            )
    if table == "attachment" and hashlib.sha256(unpacked(row.get("packed")) or b"").hexdigest() != row.get(
        "sha256"
    ):
        return say("a kept file is not what was kept: its checksum differs")
    if table == "knowledge" and not _readable(unpacked(row.get("packed")) or b""):
        return say("the kept knowledge is damaged")
    if row.get("replaces") is not None and row["replaces"] >= row.get("id", 0):
        return say("a row cannot replace a later one")
    return None


def _readable(packed: bytes) -> bool:
    try:
        return isinstance(json.loads(packed), dict)
    except (ValueError, RecursionError):
        return False
