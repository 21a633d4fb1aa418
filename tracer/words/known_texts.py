"""Known texts of a language, found again by how much of their words and spelling a new one shares.

A text is the stems of its words, of two words side by side, and the runs of four letters in its words; each weighs
    (1 + log n) (1 + log((1 + N) / (1 + d))),   n its count here, d of N the texts that have it,
words and letters each scaled to length 1 (tf-idf; Salton and Buckley 1988). Likeness is the sum of both cosines: 2 for the same text.
"""

from __future__ import annotations

import math
from base64 import b64decode, b64encode
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

LETTERS = 4
"""Letters of a run: so much of a misspelt or inflected word is found again. Tried on the open sentences of tests/reading."""
FEWEST = 2
"""Texts that must have a word or run for it to be kept: one that stands once finds little."""


class Word(Protocol):
    """A word as texts are compared by it."""

    @property
    def folded(self) -> str:
        """In lower case without marks."""

    @property
    def stem(self) -> str:
        """Without its ending."""


@dataclass(frozen=True)
class KnownTexts:
    """The index of one language: for each word or run, the texts that have it and its weight there."""

    places: Mapping[str, int]
    """Word, pair of words or run -> its place."""
    starts: NDArray[np.int32]
    """Where the texts of each begin; one more at the end."""
    texts: NDArray[np.int32]
    weights: NDArray[np.float32]
    rarity: NDArray[np.float32]
    """What each weighs in a new text, once."""
    labels: Sequence[str]
    label_of: NDArray[np.int32]
    """Of each text, the place of its label."""

    def nearest(self, words: Sequence[Word], count: int) -> list[tuple[int, float]]:
        """The likest texts with their likeness, likest first; only such as share something."""
        found = np.zeros(len(self.label_of), dtype=np.float32)
        for features in parts_of(words):
            known = [(self.places[one], told) for one, told in features.items() if one in self.places]
            told = np.array(
                [(1 + math.log(times)) * self.rarity[at] for at, times in known], dtype=np.float32
            )
            length = float(np.sqrt((told**2).sum()))
            for (at, _), weight in zip(known, told, strict=True):
                here = slice(self.starts[at], self.starts[at + 1])
                found[self.texts[here]] += weight / length * self.weights[here]
        size = min(count, len(found))
        near = np.argpartition(-found, size - 1)[:size] if size else np.zeros(0, dtype=np.int64)
        likest = sorted(
            (int(one) for one in near if found[one] > 0), key=lambda one: (-float(found[one]), one)
        )
        return [(one, float(found[one])) for one in likest]

    def label(self, text: int) -> str:
        """What a text was kept under."""
        return self.labels[int(self.label_of[text])]

    def rarity_of(self, word: Word) -> float:
        """How rare a word is among the known texts: 1 for one that stands in all; 0 for one that is not known."""
        place = self.places.get(_word(word))
        return float(self.rarity[place]) if place is not None else 0.0

    def shared(self, words: Sequence[Word], texts: Sequence[int]) -> frozenset[int]:
        """Places of the words that some of these texts have too."""
        wanted = np.array(texts, dtype=np.int32)
        return frozenset(
            at
            for at, word in enumerate(words)
            if (place := self.places.get(_word(word))) is not None
            and np.isin(wanted, self.texts[self.starts[place] : self.starts[place + 1]]).any()
        )


def parts_of(words: Sequence[Word]) -> tuple[Counter[str], Counter[str]]:
    """What a text is compared by: its words and pairs of words, and the runs of letters in its words."""
    stems = [_word(word) for word in words]
    told = Counter(stems)
    told.update(f"{one} {other}" for one, other in pairwise(stems))
    runs: Counter[str] = Counter()
    for word in words:
        padded = f" {word.folded} "
        runs.update(f"~{padded[at : at + LETTERS]}" for at in range(max(1, len(padded) - LETTERS + 1)))
    return told, runs


def _word(word: Word) -> str:
    return "#" if word.folded.isdigit() else word.stem


def index_of(known: Iterable[tuple[str, Sequence[Word]]]) -> KnownTexts:
    """The index over known texts of a language, each with its label."""
    labels: dict[str, int] = {}
    label_of: list[int] = []
    every: list[tuple[Counter[str], Counter[str]]] = []
    for label, words in known:
        label_of.append(labels.setdefault(label, len(labels)))
        every.append(parts_of(words))
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
    return KnownTexts(
        places,
        np.cumsum([0, *map(len, columns)], dtype=np.int32),
        np.array([number for column in columns for number, _ in column], dtype=np.int32),
        np.array([weight for column in columns for _, weight in column], dtype=np.float32),
        np.array(rarity, dtype=np.float32),
        list(labels),
        np.array(label_of, dtype=np.int32),
    )


_ARRAYS = {
    "starts": np.int32,
    "texts": np.int32,
    "weights": np.float32,
    "rarity": np.float32,
    "label_of": np.int32,
}


def as_data(index: KnownTexts) -> dict[str, Any]:
    """The index as plain data."""
    data: dict[str, Any] = {name: b64encode(getattr(index, name).tobytes()).decode() for name in _ARRAYS}
    return {**data, "places": list(index.places), "labels": list(index.labels)}


def from_data(data: Mapping[str, Any]) -> KnownTexts | None:
    """The index read back, or None where the data do not fit."""
    try:
        arrays: dict[str, Any] = {
            name: np.frombuffer(b64decode(data[name]), dtype=kind) for name, kind in _ARRAYS.items()
        }
        return KnownTexts(
            places={one: at for at, one in enumerate(data["places"])}, labels=data["labels"], **arrays
        )
    except (KeyError, TypeError, ValueError):
        return None
