"""What is known of a lot as a form: a field for each record of the knowledge, by stage, and back into the sheet."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Record
from tracer.lots.sheet import asked_for

HEAD = ("species", "process", "origin", "crop", "exporter", "contract")
"""Plain fields at the top of a sheet."""


@dataclass(frozen=True, slots=True)
class Field:
    """One record and what the sheet says of it now."""

    record: Record
    value: str


@dataclass(frozen=True, slots=True)
class Part:
    """The records of a stage, of the green or of the bench."""

    id: str
    label: str
    asks: str
    fields: tuple[Field, ...]

    @property
    def filled(self) -> int:
        """How many are filled in."""
        return sum(bool(one.value) for one in self.fields)


def head(data: Mapping[str, Any]) -> dict[str, str]:
    """The plain fields at the top."""
    return {name: _text(data.get(name)) for name in HEAD}


def parts(data: Mapping[str, Any], base: KnowledgeBase) -> tuple[Part, ...]:
    """Every record that a sheet asks for, in the order of the chain, then green and bench."""
    history = data.get("history") or {}
    found = [
        _part(base, stage.id, stage.label, stage.ask_of, history.get(stage.id), stage.id)
        for stage in base.stages.values()
    ]
    for section in ("green", "bench"):
        found.append(_part(base, section, section, "", data.get(section), None))
    return tuple(part for part in found if part.fields)


def first_asked(found: Sequence[Part], wanted: Sequence[str]) -> tuple[tuple[Field, ...], tuple[Part, ...]]:
    """The empty fields that matter most for what was found, in their order; and the parts without them."""
    empty = {field.record.id: field for part in found for field in part.fields if not field.value}
    first = {name: empty[name] for name in dict.fromkeys(wanted) if name in empty}
    rest = [
        replace(part, fields=tuple(one for one in part.fields if one.record.id not in first))
        for part in found
    ]
    return tuple(first.values()), tuple(part for part in rest if part.fields)


def _part(base: KnowledgeBase, identity: str, label: str, asks: str, values: Any, stage: str | None) -> Part:
    section = "history" if stage else identity
    given = values if isinstance(values, dict) else {}
    fields = tuple(
        Field(record, _text(given.get(record.id)))
        for record in base.records.values()
        if record.section == section and (stage is None or record.stage == stage) and asked_for(record)
    )
    return Part(identity, label, asks, fields)


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None or isinstance(value, (dict, list)) else str(value)


def filled(data: Mapping[str, Any], base: KnowledgeBase, given: Mapping[str, str]) -> dict[str, Any]:
    """The sheet's data with what the form says; an emptied field is taken out, everything else stays."""
    made: dict[str, Any] = dict(data)
    for name in HEAD:
        _put(made, name, given.get(name))
    history: dict[str, Any] = {k: dict(v or {}) for k, v in (made.get("history") or {}).items()}
    for part in parts(data, base):
        target = history.setdefault(part.id, {}) if part.id in base.stages else dict(made.get(part.id) or {})
        for field in part.fields:
            written = given.get(f"record:{field.record.id}")
            if written is not None and written.strip() != field.value:
                _put(target, field.record.id, written)
        if part.id not in base.stages:
            made[part.id] = target
    made["history"] = {stage: values for stage, values in history.items() if values}
    return {name: value for name, value in made.items() if value not in ({}, None)}


def _put(target: dict[str, Any], name: str, written: str | None) -> None:
    if written is None:
        return
    if not written.strip():
        target.pop(name, None)
        return
    try:
        target[name] = datetime.date.fromisoformat(written.strip())
    except ValueError:
        target[name] = written.strip()
