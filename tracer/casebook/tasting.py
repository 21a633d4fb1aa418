"""What is said at a cupping table: each taster's notes cup by cup, and the lot sheet they make."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Literal

import yaml
from pydantic import Field

from tracer.casebook.table_facts import Line, Strict, TableFacts
from tracer.knowledge.yamlfile import parse_yaml
from tracer.lots.fields import MOST_CUPS

MOST_NOTES = 100


class TastedNote(Strict):
    """One note: the taster's words, what they mean where the taster was asked back, and the cups that have it."""

    words: Annotated[Line, Field(min_length=1)]
    means: Annotated[str, Field(max_length=80, pattern=r"^[a-z][a-z0-9_]*$")] | None = None
    cups: tuple[Annotated[int, Field(ge=1, le=MOST_CUPS)], ...] = Field(default=(), max_length=30)
    """Numbers of the cups, from 1; none where the taster did not say."""
    how_many: Annotated[int, Field(ge=1, le=MOST_CUPS)] | None = None
    """How many cups, where the taster did not say which."""
    share: Literal["most", "half", "some"] | None = None
    """A share of the cups in words, where the taster gave no number."""
    intensity: Literal["slight", "moderate", "strong"] | None = None
    found: bool = True
    """False: looked for and not there."""


class Tasted(Strict):
    """Everything one taster says at one table; sent whole each time."""

    language: Annotated[str, Field(max_length=8, pattern=r"^[a-z]{0,8}$")] = ""
    checked_all: bool = False
    done: bool = False
    notes: tuple[TastedNote, ...] = Field(default=(), max_length=MOST_NOTES)


Said = Sequence[tuple[str, Tasted]]
"""Tasters with what they said of one sample."""


def sheet_data(facts: TableFacts, tasted: Said) -> dict[str, Any]:
    """The lot sheet of a table of one lot as plain data; a field that is not known is left out."""
    return flight_sheet(facts, 0, {0: tasted})


def cupping_data(facts: TableFacts, tasted: Said) -> dict[str, Any]:
    """A table of one lot as one entry under `cuppings` of a lot sheet."""
    return flight_cupping(facts, 0, {0: tasted})


def flight_sheet(facts: TableFacts, sample: int, said: Mapping[int, Said], table: str = "") -> dict[str, Any]:
    """The lot sheet of one sample of a flight; `table` is what the lots of a flight share."""
    one = facts.samples[sample]
    lot = {"lot": one.lot, "species": one.species, "process": one.process, "origin": one.origin}
    return {**_known(lot), "cuppings": [flight_cupping(facts, sample, said, table)]}


def flight_cupping(
    facts: TableFacts, sample: int, said: Mapping[int, Said], table: str = ""
) -> dict[str, Any]:
    """One sample of a flight as an entry under `cuppings`, with the clean control of the flight and its own repeats."""
    one = facts.samples[sample]
    head = {"on": facts.on, "sample": facts.sample, "drawn_by": one.drawn_by, "cups": facts.cups}
    entry: dict[str, Any] = _known({**head, "bench": table if facts.flight else ""})
    entry["tasters"] = [_taster(name, tasted, facts.cups) for name, tasted in said.get(sample, ())]
    controls = [
        row
        for place, other in enumerate(facts.flight)
        if other.kind == "control"
        for row in said.get(place, ())
    ]
    if controls:
        entry["control"] = _counted(controls, facts.cups)
    repeats = [
        {"name": facts.mark(place), "kin": "same_lot", **_counted(said[place], facts.cups)}
        for place, other in enumerate(facts.flight)
        if other.repeats == sample and said.get(place)
    ]
    return {**entry, "beside": repeats} if repeats else entry


def _counted(tasted: Said, cups: int) -> dict[str, Any]:
    """What several tasters said of one coffee, as one entry: words that are alike are added up."""
    found: dict[tuple[str, str | None], int | None] = {}
    for _, one in tasted:
        for note in (note for note in one.notes if note.found):
            number = len({cup for cup in note.cups if cup <= cups}) or note.how_many
            before = found.get((note.words, note.means), 0)
            found[note.words, note.means] = (
                None if number is None or before is None else before + min(number, cups)
            )
    denied = dict.fromkeys(
        note.words
        for _, one in tasted
        for note in one.notes
        if not note.found and (note.words, note.means) not in found
    )
    languages = {one.language for _, one in tasted}
    notes = [
        _known({"note": words, "means": means, "cups": number}) for (words, means), number in found.items()
    ]
    rest = {"not_found": list(denied), "language": languages.pop() if len(languages) == 1 else ""}
    return {"cups": cups * len(tasted), "notes": notes, **_known(rest)}


def sheet_text(data: Mapping[str, Any]) -> str:
    """A lot sheet as YAML, in the order of its fields."""
    return yaml.dump(dict(data), Dumper=_Writer, sort_keys=False, allow_unicode=True, width=110)


class _Writer(yaml.SafeDumper):
    """Writes what the sheet's own reader reads back the same: no aliases, and quotes round text that begins as a number."""

    def ignore_aliases(self, data: Any) -> bool:
        return True

    def represent_str(self, data: str) -> yaml.ScalarNode:
        style = "'" if data[:1] in "+-.0123456789" else None
        return self.represent_scalar("tag:yaml.org,2002:str", data, style=style)


_Writer.add_representer(str, _Writer.represent_str)


def sheet_values(text: str) -> dict[str, Any]:
    """A sheet's plain data, as its own reader has it; remarks are not part of it.

    >>> sheet_values("lot: A\\ncuppings: [{on: 2026-03-09}]")["cuppings"][0]["on"].year
    2026
    """
    data = parse_yaml(text, "lot.yaml").data
    return dict(data) if isinstance(data, dict) else {}


def appended(before: Any, item: Any) -> list[Any]:
    """A list of the sheet with one more item; a single value counts as a list of one, as the sheet's reader has it.

    >>> appended(None, 1), appended(1, 2), appended([1, 2], 3)
    ([1], [1, 2], [1, 2, 3])
    """
    return [*listed(before), item]


def listed(value: Any) -> list[Any]:
    """A field of the sheet that may hold one or several, as a list."""
    return value if isinstance(value, list) else [] if value is None else [value]


def with_meaning(text: str, place: str, means: str) -> str | None:
    """The sheet with `means` beside the note that stands at a place (file:line:column); None where no note stands there."""
    document = parse_yaml(text, "lot.yaml")
    at = place.rsplit(":", 2)[-2:]
    paths = [path for path, one in document.places.items() if [str(one.line), str(one.column)] == at]
    noted = [path for path in paths if len(path) >= 2 and path[-2] in ("notes", "not_found")]
    if not place.startswith("lot.yaml:") or not noted or not isinstance(document.data, dict):
        return None
    holder: Any = document.data
    for step in noted[0][:-1]:
        holder = holder[step]
    note = holder[noted[0][-1]]
    holder[noted[0][-1]] = {**(note if isinstance(note, dict) else {"note": note}), "means": means}
    return sheet_text(document.data)


def _taster(name: str, tasted: Tasted, cups: int) -> dict[str, Any]:
    found = [_note(note, cups) for note in tasted.notes if note.found]
    absent = [_note(note, cups) for note in tasted.notes if not note.found]
    row = {"taster": name, "language": tasted.language, "notes": found, "not_found": absent}
    return {**_known(row), "checked_all": True} if tasted.checked_all else _known(row)


def _note(note: TastedNote, cups: int) -> str | dict[str, Any]:
    fields = _known(
        {
            "note": note.words,
            "means": note.means,
            "cups": _cups(note, cups) if note.found else None,
            "intensity": note.intensity,
        }
    )
    return note.words if len(fields) == 1 else fields


def _cups(note: TastedNote, cups: int) -> list[int] | int | str | None:
    """The cups by number where the taster said which: two tasters who found it in the same cup say more than two counts."""
    numbers = sorted({cup for cup in note.cups if cup <= cups})
    if numbers:
        return "all" if len(numbers) == cups else numbers
    return min(note.how_many, cups) if note.how_many else note.share


def _known(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value not in (None, "", [], ())}
