"""The compiled knowledge, kept as JSON under the user's cache folder by content hash.

Reading YAML takes most of a cold start; JSON of the same entries is read in a few milliseconds.
A cache that is missing, old, damaged or not writable is never an error: the YAML is read again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from functools import cached_property
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tracer.issues import Place
from tracer.knowledge.base import KINDS, Change, KnowledgeBase
from tracer.knowledge.collector import paused
from tracer.knowledge.kept import kept_at, read_json, write_json
from tracer.knowledge.load import content_hash, load_or_fail
from tracer.knowledge.pages import Paged, read_pages, write_pages
from tracer.knowledge.settings import Settings
from tracer.knowledge.shipped import knowledge_folder

LAZY = ("words", "phrases", "sentences", "precedents", "translations", "ambiguities", "sources", "letters")
"""Kinds of which a verb needs none, or few entries: each kept in a file of its own and read when somebody looks."""


@paused()
def load_cached(folder: Path | None = None, houses: Sequence[Path] = ()) -> KnowledgeBase:
    """The knowledge base, from the cache where its content hash is known, else from YAML."""
    folder = folder or knowledge_folder()
    if not all(house.is_dir() for house in houses):
        return load_or_fail(folder, houses)
    digest = content_hash([folder, *houses])
    path = kept_at("knowledge", digest)
    base = _read(path, digest)
    if base is None:
        base = load_or_fail(folder, houses)
        for kind in LAZY:
            write_pages(
                _lazy_path(kind, digest),
                {kind: _as_data(base, kind), "order": {"ids": list(base.kind(kind))}},
            )
        write_json(path, as_data(base))
    return base


class Lazy(Mapping[str, Any]):
    """Entries of one kind, each read from the cache when it is first looked at."""

    def __init__(self, kind: str, path: Path) -> None:
        self.kind, self.path = kind, path

    @cached_property
    def tables(self) -> dict[str, Paged[Any]]:
        """The entries, and their ids in order; of a file that was taken away or damaged since, none."""
        found = read_pages(self.path, {self.kind: KINDS[self.kind].model_validate})
        return found if found is not None else {}

    def __getitem__(self, key: str) -> Any:
        if key not in self:
            raise KeyError(key)
        return self.tables[self.kind][key]

    def __contains__(self, key: object) -> bool:
        return key in self.tables.get(self.kind, {})

    def __iter__(self) -> Iterator[str]:
        return iter(self.tables["order"]["ids"] if self.tables else ())

    def __len__(self) -> int:
        return len(self.tables.get(self.kind, {}))


def _lazy_path(kind: str, digest: str) -> Path:
    return kept_at(kind, digest, "pages")


def _as_data(base: KnowledgeBase, kind: str) -> dict[str, Any]:
    return {
        key: entry.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        for key, entry in base.kind(kind).items()
    }


def as_data(base: KnowledgeBase, whole: bool = False) -> dict[str, Any]:
    """The knowledge as plain data that JSON can hold; `from_data` reads it back.

    Without `whole` the lazy kinds are left out: they are read back from this machine's cache.
    """
    data: dict[str, Any] = {kind: _as_data(base, kind) for kind in KINDS if whole or kind not in LAZY}
    data["settings"] = base.settings.model_dump(mode="json", by_alias=True)
    data["sha256"] = base.sha256
    data["houses"] = base.houses
    data["changes"] = [asdict(change) for change in base.changes]
    return data


def from_data(data: dict[str, Any]) -> KnowledgeBase | None:
    """The knowledge read back, or None where the data do not fit this version of the models."""
    try:
        entries: dict[str, Any] = {
            kind: {key: model.model_validate(value) for key, value in data[kind].items()}
            for kind, model in KINDS.items()
            if kind in data or kind not in LAZY
        }
        for kind in LAZY:
            if kind in entries:
                continue
            path = _lazy_path(kind, data["sha256"])
            if not path.exists():
                return None
            entries[kind] = Lazy(kind, path)
        return KnowledgeBase(
            settings=Settings.model_validate(data["settings"]),
            **entries,
            sha256=data["sha256"],
            houses=tuple(data["houses"]),
            changes=tuple(_change(item) for item in data["changes"]),
        )
    except (ValueError, KeyError, TypeError, ValidationError):
        return None


def _read(path: Path, digest: str) -> KnowledgeBase | None:
    data = read_json(path)
    if data is None or data.get("sha256") != digest:
        return None
    return from_data(data)


def _change(item: dict[str, Any]) -> Change:
    return Change(**{**item, "shipped": Place(**item["shipped"]), "house": Place(**item["house"])})
