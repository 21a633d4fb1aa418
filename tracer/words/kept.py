"""The vocabulary kept under the user's cache folder, a file a language, read when a line in that language comes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.kept import kept_at, read_json, write_json
from tracer.words.known_lines import KnownLines, known_lines
from tracer.words.known_texts import KnownTexts, as_data, from_data
from tracer.words.thing_index import questions
from tracer.words.tongue import Meaning, Tongue
from tracer.words.vocabulary import UNSPECIFIC, Vocabulary, build_vocabulary


def vocabulary_of(base: KnowledgeBase) -> Vocabulary:
    """The vocabulary of a knowledge base: from the cache where all its languages are kept, else built and kept."""
    if base.sha256 and all(kept_at(f"words.{name}", base.sha256).exists() for name in base.languages):
        tongues = Kept(base)
        return Vocabulary(
            tongues,
            {**base.ambiguities, **questions(base.things.values())},
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
            write_json(kept_at(f"words.{name}", base.sha256), _as_data(tongue))
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
            data = read_json(kept_at(f"words.{name}", self.base.sha256))
            tongue = _from_data(data) if data is not None else None
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


_PLAIN = ("exact", "stemmed", "spelled", "fragments", "longest", "by_letter", "unspaced", "things", "states")


def _as_data(tongue: Tongue) -> dict[str, Any]:
    data: dict[str, Any] = {name: getattr(tongue, name) for name in _PLAIN}
    data["meanings"] = [[m.language, m.kind, m.id, m.likeness] for m in tongue.meanings]
    data["known"], data["small"] = sorted(tongue.known), sorted(tongue.small)
    return data


def _from_data(data: dict[str, Any]) -> Tongue | None:
    try:
        return Tongue(
            meanings=[Meaning(*one) for one in data["meanings"]],
            known=frozenset(data["known"]),
            small=frozenset(data["small"]),
            **{name: data[name] for name in _PLAIN},
        )
    except (KeyError, TypeError):
        return None
