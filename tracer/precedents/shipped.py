"""The cases of a knowledge base with their marks, and the model of them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.kept import kept_at
from tracer.knowledge.pages import read_pages, write_pages
from tracer.knowledge.shipped import knowledge_folder
from tracer.precedents.model import Model, Weights, fit

READINGS = Path("precedents") / "readings.json"
"""Marks of each case as its record is read, beside the cases: made by `python -m tracer.precedents.read`."""


def readings(base: KnowledgeBase) -> dict[str, frozenset[str]]:
    """Marks of every case, of the shipped folder and the houses; a case without any was never read."""
    found: dict[str, frozenset[str]] = {}
    for text in _texts(base):
        try:
            data = json.loads(text)
        except ValueError:
            continue
        found |= {case: frozenset(map(str, marks)) for case, marks in data.items()}
    return found


def _texts(base: KnowledgeBase) -> list[bytes]:
    paths = (folder / READINGS for folder in (knowledge_folder(), *map(Path, base.houses)))
    return [path.read_bytes() for path in paths if path.exists()]


def kept_model(base: KnowledgeBase) -> Model:
    """The model of all cases, from the cache where it is kept, else fitted and kept."""
    if not base.sha256:
        return model_of(base)
    digest = hashlib.sha256(b"\0".join([base.sha256.encode(), *_texts(base)])).hexdigest()
    path = kept_at("model", digest, "pages")
    tables = read_pages(path)
    if tables is not None:
        return _from_tables(tables)
    found = model_of(base)
    write_pages(path, _as_tables(found))
    return found


def _as_tables(model: Model) -> dict[str, Mapping[str, Any]]:
    return {
        "understood": model.understood.columns,
        "words": model.words.columns,
        "rare": model.rare,
        "holding": model.holding,
        "own": {"stages": model.stages, "cases": model.cases, "sizes": model.sizes},
    }


def _from_tables(tables: Mapping[str, Mapping[str, Any]]) -> Model:
    own = tables["own"]
    return Model(
        tuple(own["stages"]),
        Weights(tables["understood"], len(own["stages"])),
        Weights(tables["words"], len(own["stages"])),
        tables["rare"],
        tables["holding"],
        tuple(own["cases"]),
        tuple(own["sizes"]),
    )


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
