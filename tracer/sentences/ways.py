"""The ways to say each phrase, indexed by their words: what stands in a sentence finds the ways it may be part of."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tracer.knowledge.phrase import Phrase
from tracer.words.stems import stem
from tracer.words.tokens import fold_word, tokens
from tracer.words.tongue import RUNNING

NUMBER = "#"
"""Any number stands here, in figures or as a word: #_sours."""
JOINING = ("de",)
SHORTEST_INSIDE = 5
"""Letters of a word that may be found inside a German compound."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way to say a phrase: its slots, each with the words that fill it."""

    phrase: str
    slots: tuple[tuple[int, ...], ...]
    """Places of alternatives in the index."""
    needed: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Ways:
    """All ways of one language."""

    language: str
    ways: Sequence[Way]
    alternatives: Sequence[Sequence[str]]
    """Words of each alternative: stems, or a beginning marked with *."""
    weights: Sequence[float]
    """Of each alternative: the rarer among phrases, the more it tells."""
    users: Sequence[Sequence[tuple[int, int]]]
    """Of each alternative: the ways and slots it fills."""
    first: Mapping[str, Sequence[int]]
    """First word -> alternatives."""


def build_ways(language: str, phrases: Iterable[Phrase]) -> Ways:
    """The index of one language."""
    places: dict[tuple[str, ...], int] = {}
    users: list[list[tuple[int, int]]] = []
    phrases_of: list[set[str]] = []
    ways: list[Way] = []
    for phrase in phrases:
        for written in phrase.ways.get(language, ()):
            slots: list[tuple[int, ...]] = []
            needed: list[bool] = []
            for slot in written.split():
                optional = slot.endswith("?")
                filled = []
                for option in slot.rstrip("?").split("|"):
                    words = _words(option, language)
                    if not words:
                        continue
                    place = places.setdefault(words, len(places))
                    if place == len(users):
                        users.append([])
                        phrases_of.append(set())
                    users[place].append((len(ways), len(slots)))
                    phrases_of[place].add(phrase.id)
                    filled.append(place)
                if filled:
                    slots.append(tuple(dict.fromkeys(filled)))
                    needed.append(not optional)
            if slots:
                ways.append(Way(phrase.id, tuple(slots), tuple(needed)))
    count = 1 + len({way.phrase for way in ways})
    weights = [math.log((count + 1) / (1 + len(found))) for found in phrases_of]
    first: dict[str, list[int]] = {}
    for words, place in places.items():
        first.setdefault(words[0], []).append(place)
    return Ways(language, ways, list(places), weights, users, first)


def _words(option: str, language: str) -> tuple[str, ...]:
    """The words of one alternative as they are compared."""
    open_end = option.endswith("*")
    bare = option.rstrip("*").replace("_", " ")
    if language in RUNNING:
        text = fold_word(bare).replace(" ", "")
        return (text,) if text else ()
    found = [word for piece in bare.split() for word in ((NUMBER,) if piece == NUMBER else tokens(piece))]
    if not found:
        return ()
    kept = [word if word == NUMBER else stem(word, language) for word in found]
    if open_end:
        kept[-1] = found[-1] + "*"
    return tuple(kept)


def as_data(ways: Ways) -> dict[str, Any]:
    """The index as plain data."""
    return {
        "language": ways.language,
        "ways": [[way.phrase, way.slots, way.needed] for way in ways.ways],
        "alternatives": ways.alternatives,
        "weights": ways.weights,
        "users": ways.users,
        "first": ways.first,
    }


def from_data(data: Mapping[str, Any]) -> Ways | None:
    """The index read back, or None where the data do not fit."""
    try:
        return Ways(
            data["language"],
            [Way(phrase, tuple(map(tuple, slots)), tuple(needed)) for phrase, slots, needed in data["ways"]],
            data["alternatives"],
            data["weights"],
            data["users"],
            data["first"],
        )
    except (KeyError, TypeError, ValueError):
        return None
