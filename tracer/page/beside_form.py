"""Who shares the note, what other coffees show, what stood beside it, what a laboratory found: rows of a form, and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tracer.casebook.tasting import listed
from tracer.issues import InputError
from tracer.lots.form import HOW, LEVELS, MATRICES, OTHERS, RESULTS, SHOWN
from tracer.wording.sentence import say

SPARE = 2
"""Empty rows for what is added."""
COLUMNS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "pattern": {"level": LEVELS, "share": (), "of": ()},
    "comparisons": {"with": OTHERS, "shows": SHOWN, "name": ()},
    "contact": {"with": (), "stage": (), "how": HOW},
    "laboratory": {"compound": (), "value": (), "unit": (), "matrix": MATRICES, "result": RESULTS},
}
"""Section of the sheet -> column -> what may be chosen; nothing where it is written."""


@dataclass(frozen=True, slots=True)
class Section:
    """Rows of one section."""

    name: str
    rows: tuple[Mapping[str, str], ...]
    filled: int


def sections(data: Mapping[str, Any]) -> tuple[Section, ...]:
    """What a sheet says of each, with spare rows."""
    found = []
    for name, columns in COLUMNS.items():
        rows = [{column: _text(row.get(column)) for column in columns} for row in _rows(name, data)]
        spare = [dict.fromkeys(columns, "")] * SPARE
        found.append(Section(name, (*rows, *spare), len(rows)))
    return tuple(found)


def sent_sections(data: Mapping[str, Any], given: Mapping[str, str]) -> tuple[Section, ...]:
    """The rows as they were sent, to be mended where something is wrong."""
    return tuple(
        Section(one.name, tuple(_sent(one.name, place, given) for place in range(len(one.rows))), one.filled)
        for one in sections(data)
    )


def _sent(name: str, place: int, given: Mapping[str, str]) -> dict[str, str]:
    return {column: given.get(f"{name}:{place}:{column}", "").strip() for column in COLUMNS[name]}


def _rows(name: str, data: Mapping[str, Any]) -> list[dict[str, Any]]:
    held = [one for one in listed(data.get(name)) if isinstance(one, dict)]
    if name != "pattern":
        return held
    return [
        {"level": level, "share": share, "of": one.get("of")}
        for one in held
        for level, share in one.items()
        if level in LEVELS
    ]


def _text(value: Any) -> str:
    return "" if value is None or isinstance(value, (dict, list)) else str(value)


def with_sections(data: Mapping[str, Any], given: Mapping[str, str]) -> dict[str, Any]:
    """The sheet's data with the rows of the form; a row that was emptied is taken out, and what no form shows stays."""
    made = dict(data)
    for name, columns in COLUMNS.items():
        old = _rows(name, data)
        sent = [_sent(name, place, given) for place in range(len(old) + SPARE)]
        shown = [{column: _text(row.get(column)) for column in columns} for row in old]
        if not any(f"{name}:{place}:{column}" in given for place in range(len(sent)) for column in columns):
            continue
        if sent[: len(old)] == shown and not any(any(row.values()) for row in sent[len(old) :]):
            continue
        rows = [
            {**(old[place] if place < len(old) else {}), **row}
            for place, row in enumerate(sent)
            if any(row.values())
        ]
        others = [one for one in listed(data.get(name)) if not isinstance(one, dict)]
        mended = _pattern(data, rows) if name == "pattern" else [_whole(row) for row in rows]
        made[name] = [*others, *mended]
        if not made[name]:
            del made[name]
    return made


def _whole(row: Mapping[str, Any]) -> dict[str, Any]:
    return {column: value for column, value in row.items() if value not in ("", None)}


def _pattern(data: Mapping[str, Any], rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Levels gathered by the note they speak of; since when it is so stays with its note."""
    held = [one for one in listed(data.get("pattern")) if isinstance(one, dict)]
    since = {_text(one.get("of")): one["since"] for one in held if one.get("since") is not None}
    found: dict[str, dict[str, Any]] = {}
    for row in rows:
        note = _text(row.get("of"))
        entry = found.setdefault(note, {"of": note} if note else {})
        if note in since:
            entry["since"] = since[note]
        level, share = _text(row.get("level")), _text(row.get("share"))
        if not level or not share:
            remedy = say("Choose what shares it, and write how much of it: one, some, all, none, or 2 of 10.")
            raise InputError.of("", say("a row of who shares the note is half filled in"), remedy)
        entry[level] = share
    return list(found.values())
