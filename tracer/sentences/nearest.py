"""Known sentences of a language, found again by how much of their words and spelling a new one shares.

A sentence is the stems of its words, of two words side by side, and the runs of four letters in its words; each weighs
    (1 + log n) (1 + log((1 + N) / (1 + d))),   n its count here, d of N the sentences that have it,
words and letters each scaled to length 1 (tf-idf; Salton and Buckley 1988). Likeness is the sum of both cosines: 2 for the same sentence.
"""

from __future__ import annotations

import math
from base64 import b64decode, b64encode
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracer.sentences.match import Token, read_tokens

LETTERS = 4
"""Letters of a run: so much of a misspelt or inflected word is found again. Tried on the open sentences of tests/reading, as the figures below."""
NEAREST = 400
"""Known sentences that are looked at."""
SHARES = (1.0, 0.5, 0.25, 0.12, 0.06)
"""What the nearest sentences of a phrase add to it, the nearest first."""
FEWEST = 2
"""Sentences that must have a word or run for it to be kept: one that stands once finds little."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """How much a sentence is like those that say a phrase."""

    weight: float
    sentences: tuple[int, ...]
    """Those nearest to it."""


@dataclass(frozen=True)
class Nearest:
    """The index of one language: for each word or run, the sentences that have it and its weight there."""

    places: Mapping[str, int]
    """Word, pair of words or run -> its place."""
    starts: NDArray[np.int32]
    """Where the sentences of each begin; one more at the end."""
    sentences: NDArray[np.int32]
    weights: NDArray[np.float32]
    rarity: NDArray[np.float32]
    """What each weighs in a new sentence, once."""
    phrases: Sequence[str]
    phrase_of: NDArray[np.int32]
    """Of each sentence, the place of the phrase it says."""

    def likeness(self, words: Sequence[Token]) -> dict[str, Likeness]:
        """Phrase -> its likeness by the sentences nearest to these words."""
        found = np.zeros(len(self.phrase_of), dtype=np.float32)
        for features in parts_of(words):
            known = [(self.places[one], count) for one, count in features.items() if one in self.places]
            told = np.array(
                [(1 + math.log(count)) * self.rarity[at] for at, count in known], dtype=np.float32
            )
            length = float(np.sqrt((told**2).sum()))
            for (at, _), weight in zip(known, told, strict=True):
                here = slice(self.starts[at], self.starts[at + 1])
                found[self.sentences[here]] += weight / length * self.weights[here]
        best: dict[str, list[int]] = {}
        size = min(NEAREST, len(found))
        near = np.argpartition(-found, size - 1)[:size] if size else np.zeros(0, dtype=np.int64)
        for at in sorted(
            (int(one) for one in near if found[one] > 0), key=lambda one: (-float(found[one]), one)
        ):
            of = best.setdefault(self.phrases[self.phrase_of[at]], [])
            if len(of) < len(SHARES):
                of.append(at)
        return {
            phrase: Likeness(
                sum(share * float(found[at]) for share, at in zip(SHARES, of, strict=False)), tuple(of)
            )
            for phrase, of in best.items()
        }

    def rarity_of(self, word: Token) -> float:
        """How rare a word is among the known sentences: 1 for one that stands in all; 0 for one that is not known."""
        place = self.places.get(_word(word))
        return float(self.rarity[place]) if place is not None else 0.0

    def shared(self, words: Sequence[Token], sentences: Sequence[int]) -> frozenset[int]:
        """Places of the words that some of these sentences have too."""
        wanted = np.array(sentences, dtype=np.int32)
        return frozenset(
            at
            for at, word in enumerate(words)
            if (place := self.places.get(_word(word))) is not None
            and np.isin(wanted, self.sentences[self.starts[place] : self.starts[place + 1]]).any()
        )


def parts_of(words: Sequence[Token]) -> tuple[Counter[str], Counter[str]]:
    """What a sentence is compared by: its words and pairs of words, and the runs of letters in its words."""
    stems = [_word(word) for word in words]
    told = Counter(stems)
    told.update(f"{one} {other}" for one, other in pairwise(stems))
    runs: Counter[str] = Counter()
    for word in words:
        padded = f" {word.folded} "
        runs.update(f"~{padded[at : at + LETTERS]}" for at in range(max(1, len(padded) - LETTERS + 1)))
    return told, runs


def _word(word: Token) -> str:
    return "#" if word.folded.isdigit() else word.stem


def nearest_of(language: str, said: Iterable[tuple[str, str]]) -> Nearest:
    """The index over known sentences of a language, each with the phrase it says."""
    phrases: dict[str, int] = {}
    phrase_of: list[int] = []
    every: list[tuple[Counter[str], Counter[str]]] = []
    for phrase, text in said:
        phrase_of.append(phrases.setdefault(phrase, len(phrases)))
        every.append(parts_of(read_tokens(text, language)))
    among: Counter[str] = Counter(one for parts in every for part in parts for one in part)
    places: dict[str, int] = {}
    for one, count in among.items():
        if count >= FEWEST:
            places[one] = len(places)
    rarity = [1 + math.log((1 + len(every)) / (1 + among[one])) for one in places]
    columns: list[list[tuple[int, float]]] = [[] for _ in places]
    for number, parts in enumerate(every):
        for part in parts:
            told = {
                places[one]: (1 + math.log(count)) * rarity[places[one]]
                for one, count in part.items()
                if one in places
            }
            length = math.sqrt(sum(weight**2 for weight in told.values()))
            for place, weight in told.items():
                columns[place].append((number, weight / length))
    starts = np.cumsum([0, *map(len, columns)], dtype=np.int32)
    return Nearest(
        places,
        starts,
        np.array([number for column in columns for number, _ in column], dtype=np.int32),
        np.array([weight for column in columns for _, weight in column], dtype=np.float32),
        np.array(rarity, dtype=np.float32),
        list(phrases),
        np.array(phrase_of, dtype=np.int32),
    )


_ARRAYS = {
    "starts": np.int32,
    "sentences": np.int32,
    "weights": np.float32,
    "rarity": np.float32,
    "phrase_of": np.int32,
}


def nearest_as_data(index: Nearest) -> dict[str, Any]:
    """The index as plain data."""
    data: dict[str, Any] = {name: b64encode(getattr(index, name).tobytes()).decode() for name in _ARRAYS}
    return {**data, "places": list(index.places), "phrases": list(index.phrases)}


def nearest_from_data(data: Mapping[str, Any]) -> Nearest | None:
    """The index read back, or None where the data do not fit."""
    try:
        arrays: dict[str, Any] = {
            name: np.frombuffer(b64decode(data[name]), dtype=kind) for name, kind in _ARRAYS.items()
        }
        return Nearest(
            places={one: at for at, one in enumerate(data["places"])}, phrases=data["phrases"], **arrays
        )
    except (KeyError, TypeError, ValueError):
        return None
