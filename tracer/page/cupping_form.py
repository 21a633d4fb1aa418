"""One cupping of a sheet as a form, and back into the sheet: who tasted, what each found in which cups, what was not there."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tracer.casebook.tasting import appended, listed
from tracer.page.uploads import day_or_text

SPARE = 2
"""Empty rows for notes that are added."""


@dataclass(frozen=True, slots=True)
class NoteRow:
    """A note as the form shows it."""

    words: str = ""
    cups: str = ""
    intensity: str = ""


@dataclass(frozen=True, slots=True)
class TasterRows:
    """A taster's notes, with spare rows; what was looked for and not there is one text."""

    taster: str = ""
    language: str = ""
    notes: tuple[NoteRow, ...] = ()
    absent: str = ""
    checked_all: bool = False


@dataclass(frozen=True, slots=True)
class CuppingFields:
    """A cupping as the form shows it, with a spare taster."""

    on: str
    sample: str
    cups: str
    drawn_by: str
    table: str
    """The file that holds its notes; they are mended there."""
    tasters: tuple[TasterRows, ...]


def cuppings_of(data: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The cuppings of a sheet that a form can hold; a single one counts as a list of one."""
    return [dict(one) for one in listed(data.get("cuppings")) if isinstance(one, dict)]


def fields_of(cupping: Mapping[str, Any]) -> CuppingFields:
    """What the form begins with."""
    tasters = tuple(_taster(one) for one in listed(cupping.get("tasters")) if isinstance(one, dict))
    spare = TasterRows(notes=(NoteRow(),) * SPARE)
    head = {name: _text(cupping.get(name)) for name in ("on", "sample", "cups", "drawn_by", "table")}
    return CuppingFields(**head, tasters=(*tasters, spare))


def _taster(one: Mapping[str, Any]) -> TasterRows:
    notes = tuple(_note(note) for note in listed(one.get("notes")))
    absent = "; ".join(_note(note).words for note in listed(one.get("not_found")))
    return TasterRows(
        _text(one.get("taster")),
        _text(one.get("language")),
        (*notes, *(NoteRow(),) * SPARE),
        absent,
        _text(one.get("checked_all")) == "yes",
    )


def _note(note: Any) -> NoteRow:
    if not isinstance(note, dict):
        return NoteRow(_text(note))
    return NoteRow(_text(note.get("note")), _text(note.get("cups")), _text(note.get("intensity")))


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return "" if value is None or isinstance(value, dict) else str(value)


def with_cupping(data: Mapping[str, Any], number: int, given: Mapping[str, str]) -> dict[str, Any]:
    """The sheet's data with a cupping as the form has it; a number beyond the last adds one, an emptied note is taken out.

    What the form does not show stays as it was.
    """
    held = cuppings_of(data)
    old = held[number] if number < len(held) else {}
    made = _put(old, {"on": _day(given.get("on", "")), "sample": given.get("sample", "").strip()})
    made = _put(made, {"drawn_by": given.get("drawn_by", "").strip(), "cups": counted(given.get("cups", ""))})
    before = [dict(one) for one in listed(old.get("tasters")) if isinstance(one, dict)]
    tasters = []
    for place in range(len(before) + 1):
        name = given.get(f"taster:{place}", "").strip()
        one = _mended(before[place] if place < len(before) else {}, place, given)
        if name and (place < len(before) or one.get("notes") or one.get("not_found")):
            tasters.append({"taster": name, **{key: value for key, value in one.items() if key != "taster"}})
    made = _put(made, {"tasters": tasters})
    if number < len(held):
        return {**data, "cuppings": [*held[:number], made, *held[number + 1 :]]}
    return {**data, "cuppings": appended(data.get("cuppings"), made)}


def _mended(old: Mapping[str, Any], place: int, given: Mapping[str, str]) -> dict[str, Any]:
    had = listed(old.get("notes"))
    notes = []
    for row in range(len(had) + SPARE):
        fields = {
            name: given.get(f"{name}:{place}:{row}", "").strip() for name in ("words", "cups", "intensity")
        }
        if fields["words"]:
            notes.append(_note_of(had[row] if row < len(had) else None, fields))
    absent = [one.strip() for one in re.split("[;\n]", given.get(f"absent:{place}", "")) if one.strip()]
    known = {_note(one).words: one for one in listed(old.get("not_found"))}
    return _put(
        old,
        {
            "language": given.get(f"language:{place}", "").strip(),
            "notes": notes,
            "not_found": [known.get(one, one) for one in absent],
            "checked_all": "yes" if given.get(f"checked:{place}") == "yes" else "",
        },
    )


def _note_of(had: Any, fields: Mapping[str, str]) -> Any:
    """A note with what the form says; what words mean holds only for the words that were asked about."""
    before = _note(had)
    if had is not None and (before.words, before.cups, before.intensity) == tuple(fields.values()):
        return had
    kept = dict(had) if isinstance(had, dict) and before.words == fields["words"] else {}
    made = _put(
        kept,
        {"note": fields["words"], "cups": counted(fields["cups"]), "intensity": fields["intensity"]},
    )
    return made if len(made) > 1 else fields["words"]


def counted(written: str) -> int | list[int] | str:
    """So many cups, the cups by number, or a share in words."""
    text = written.strip()
    parts = [one.strip() for one in text.split(",")]
    if all(re.fullmatch("[0-9]{1,5}", one) for one in parts):
        numbers = [int(one) for one in parts]
        return numbers if len(numbers) > 1 else numbers[0]
    return text


def _day(written: str) -> Any:
    return day_or_text(written.strip()) if written.strip() else ""


def _put(old: Mapping[str, Any], fields: Mapping[str, Any]) -> dict[str, Any]:
    """A mapping with other values; an empty one is taken out."""
    made = dict(old)
    for name, value in fields.items():
        if value in ("", []):
            made.pop(name, None)
        else:
            made[name] = value
    return made


def shown_tasters(given: Mapping[str, str], held: Sequence[TasterRows]) -> tuple[TasterRows, ...]:
    """The rows as they were sent, to be mended where something is wrong."""
    return tuple(
        TasterRows(
            given.get(f"taster:{place}", ""),
            given.get(f"language:{place}", ""),
            tuple(
                NoteRow(*(given.get(f"{name}:{place}:{row}", "") for name in ("words", "cups", "intensity")))
                for row in range(len(one.notes))
            ),
            given.get(f"absent:{place}", ""),
            given.get(f"checked:{place}") == "yes",
        )
        for place, one in enumerate(held)
    )
