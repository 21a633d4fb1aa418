"""The vocabulary kept under the user's cache folder, a file a language, of which only the pages are read where its words stand."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Ambiguity
from tracer.knowledge.kept import kept_at, read_json, write_json
from tracer.knowledge.pages import read_pages, write_pages
from tracer.words.known_lines import KnownLines, known_lines
from tracer.words.known_texts import KnownTexts, as_data, from_data
from tracer.words.thing_index import questions
from tracer.words.tongue import Meaning, Tongue
from tracer.words.vocabulary import UNSPECIFIC, Vocabulary, build_vocabulary


def vocabulary_of(base: KnowledgeBase) -> Vocabulary:
    """The vocabulary of a knowledge base: from the cache where all its languages are kept, else built and kept."""
    if base.sha256 and all(_path(name, base).exists() for name in base.languages):
        tongues = Kept(base)
        return Vocabulary(
            tongues,
            ChainMap(questions(base.things.values()), cast("dict[str, Ambiguity]", base.ambiguities)),
            frozenset(d.id for d in base.descriptors.values() if d.stop_tasting),
            frozenset(d.id for d in base.descriptors.values() if d.group == UNSPECIFIC),
            {d.lack_of: d.id for d in base.descriptors.values() if d.lack_of},
            next((d.id for d in base.descriptors.values() if d.not_clean), None),
            {d.id: d.seen_as for d in base.descriptors.values() if d.seen_as},
            base.languages,
            KnownLines(tuple(base.languages), lambda name: _lines(name, base)),
            {thing.id: thing.means for thing in base.things.values()},
        )
    found = _built(base)
    if base.sha256:
        for name, tongue in found.tongues.items():
            write_pages(_path(name, base), _as_tables(tongue))
        found = replace(found, lines=KnownLines(tuple(base.languages), lambda name: _lines(name, base)))
    return found


def _lines(language: str, base: KnowledgeBase) -> KnownTexts:
    """The known lines of a language, from the cache or indexed anew."""
    path = kept_at(f"lines.{language}", base.sha256)
    data = read_json(path)
    found = from_data(data) if data is not None else None
    if found is None:
        found = known_lines(
            language,
            base.descriptors.values(),
            base.ambiguities.values(),
            base.words.values(),
            base.things,
        )
        write_json(path, as_data(found))
    return found


def _path(language: str, base: KnowledgeBase) -> Path:
    return kept_at(f"words.{language}", base.sha256, "pages")


def _built(base: KnowledgeBase) -> Vocabulary:
    return build_vocabulary(
        base.descriptors.values(),
        base.ambiguities.values(),
        base.languages.values(),
        base.words.values(),
        base.things.values(),
    )


class Kept(Mapping[str, Tongue]):
    """Tongues by language, each read from its file when first asked for; a damaged file is made again."""

    def __init__(self, base: KnowledgeBase) -> None:
        self.base = base
        self.found: dict[str, Tongue] = {}

    def __getitem__(self, name: str) -> Tongue:
        if name not in self.base.languages:
            raise KeyError(name)
        if name not in self.found:
            tables = read_pages(_path(name, self.base), {"meanings": _meaning})
            tongue = _from_tables(tables) if tables is not None else None
            if tongue is None:
                self.found = dict(_built(self.base).tongues)
            else:
                self.found[name] = tongue
        return self.found[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.base.languages)

    def __len__(self) -> int:
        return len(self.base.languages)

    def __contains__(self, name: object) -> bool:
        return name in self.base.languages


_TABLES = (
    "meanings",
    "exact",
    "stemmed",
    "spelled",
    "fragments",
    "known",
    "by_letter",
    "unspaced",
    "things",
    "states",
)


def _as_tables(tongue: Tongue) -> dict[str, Mapping[Any, Any]]:
    tables: dict[str, Mapping[Any, Any]] = {name: getattr(tongue, name) for name in _TABLES}
    tables["meanings"] = {at: [m.language, m.kind, m.id, m.likeness] for at, m in tongue.meanings.items()}
    tables["known"] = dict.fromkeys(tongue.known, 1)
    return {**tables, "own": {"small": sorted(tongue.small), "longest": tongue.longest}}


def _from_tables(tables: Mapping[str, Mapping[Any, Any]]) -> Tongue | None:
    try:
        own = tables["own"]
        return Tongue(
            **{name: tables[name] for name in _TABLES},
            small=frozenset(own["small"]),
            longest=own["longest"],
        )
    except (KeyError, TypeError):
        return None


def _meaning(fields: list[Any]) -> Meaning:
    return Meaning(*fields)
