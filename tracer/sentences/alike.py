"""Phrases that a sentence is alike to by its words, whichever way they come from: offered only to be read, never as sure.

People say a thing in words that no way lists whole, but each word stands in some way of the phrase. All ways of a phrase in a
language make one bag of words; a word of the sentence counts by how few phrases know it (inverse document frequency, Spärck Jones
1972) and by how much of the phrase it is.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tracer.knowledge.language import Language
from tracer.sentences.match import Match, Token, denials_in, denied_at, keys_of
from tracer.sentences.ways import RUNNING, Ways

OFFERED = 5
"""Phrases offered at most: tried on the open sentences of tests/reading, as the figures below."""
FACTOR = 0.5
"""What a bag of words weighs beside a way."""
OFTEN = 1.0
"""Ways in which a word must stand to count nearly in full."""
FEWEST = 2
"""Words of a sentence that must be known to the phrase."""
LEAST = 4.0
"""Weight below which it is not worth reading: most sentences say nothing of the sheet."""
SHARE = 0.7
"""Told as the share of a way that was found; below 1, so never sure."""


@dataclass(frozen=True, slots=True)
class Bags:
    """The words of every phrase of a language."""

    weights: Mapping[str, Mapping[str, float]]
    """Word or beginning -> phrase -> what it tells of it."""


def bags_of(ways: Ways) -> Bags:
    """The bags of a language."""
    counts: dict[str, dict[str, float]] = {}
    for way in ways.ways:
        for slot, needed in zip(way.slots, way.needed, strict=True):
            for place in slot:
                for word in ways.alternatives[place]:
                    of = counts.setdefault(word, {})
                    of[way.phrase] = of.get(way.phrase, 0.0) + (1.0 if needed else 0.5)
    phrases = 1 + len({way.phrase for way in ways.ways})
    return Bags(
        {
            word: {
                phrase: math.log(phrases / (1 + len(of))) * (1 - math.exp(-count / OFTEN))
                for phrase, count in of.items()
            }
            for word, of in counts.items()
        }
    )


def alike(
    words: Sequence[Token], bags: Bags, language: Language, found: Collection[Match]
) -> Iterator[Match]:
    """Phrases whose words stand in a sentence, with those that a way already offers better left out."""
    if language.id in RUNNING:
        return
    scores: dict[str, float] = {}
    places: dict[str, set[int]] = {}
    for at, word in enumerate(words):
        best: dict[str, float] = {}
        for key in keys_of(word):
            for phrase, weight in bags.weights.get(key, {}).items():
                best[phrase] = max(weight, best.get(phrase, 0.0))
        for phrase, weight in best.items():
            scores[phrase] = scores.get(phrase, 0.0) + weight
            places.setdefault(phrase, set()).add(at)
    known = {one.phrase: one for one in found}
    ranked = sorted(
        (-FACTOR * score, phrase)
        for phrase, score in scores.items()
        if len(places[phrase]) >= FEWEST and FACTOR * score >= LEAST
    )
    denials = denials_in(words, language, language.id)
    for score, phrase in ranked[:OFFERED]:
        own = known.get(phrase)
        if own is None or (own.share < 1 and own.score < -score):
            stands = places[phrase]
            denied = denied_at(stands, words, denials, language.id)
            yield Match(phrase, -score, SHARE, frozenset(stands), denied)
