"""The cases of a knowledge base with their marks, and the model of them."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from pathlib import Path

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.shipped import knowledge_folder
from tracer.precedents.model import Model, fit

READINGS = Path("precedents") / "readings.json"
"""Marks of each case as its record is read, beside the cases: made by `python -m tracer.precedents.read`."""


def readings(base: KnowledgeBase) -> dict[str, frozenset[str]]:
    """Marks of every case, of the shipped folder and the houses; a case without any was never read."""
    found: dict[str, frozenset[str]] = {}
    for folder in (knowledge_folder(), *map(Path, base.houses)):
        path = folder / READINGS
        if path.exists():
            try:
                data = json.loads(path.read_text(encoding="utf-8"))
            except ValueError:
                continue
            found |= {case: frozenset(map(str, marks)) for case, marks in data.items()}
    return found


def model_of(
    base: KnowledgeBase, without: Collection[str] = (), marks: Mapping[str, Collection[str]] | None = None
) -> Model:
    """The model of all cases but those of some groups."""
    cases = [case for case in base.precedents.values() if case.group not in without]
    return fit(
        cases,
        readings(base) if marks is None else marks,
        tuple(base.stages),
        base.settings.precedents.smoothing,
    )
