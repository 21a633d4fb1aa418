"""Phrases that a sentence is alike to by its words, whichever way they come from: offered only to be read, never as sure.

People say a thing in words that no way lists whole. The ways of a phrase and whole sentences that say it (knowledge/sentences) make one bag
of words; a word w of the sentence speaks for phrase p by
    log( (n_pw + a u_w) / (N_p + a) / u_w ),   u_w its share of all words, a the smoothing (Dirichlet prior; Zhai and Lafferty 2004),
where that is above 0. What the bag says is added to the ways of the sentence too, to place them, not to make them sure.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from tracer.knowledge.language import Language
from tracer.sentences.match import Match, Token, denials_in, denied_at, keys_of, read_tokens
from tracer.sentences.ways import RUNNING, Ways

OFFERED = 5
"""Phrases offered at most: tried on the open sentences of tests/reading, as the figures below."""
FACTOR = 0.5
"""What a bag of words weighs beside a way."""
BESIDE = 0.15
"""What it adds to a way: more places kept sentences no better and finds causes for lots that had none."""
SMOOTHING = 20.0
"""Words of the language at large that are added to every phrase."""
MOST_BY_WAYS = 2.0
"""How often the ways of a phrase may count a word."""
FEWEST = 2
"""Words of a sentence that must be known to the phrase."""
LEAST = 6.0
"""Weight below which it is not worth reading: most sentences say nothing of the sheet."""
SHARE = 0.7
"""Told as the share of a way that was found; below 1, so never sure."""


@dataclass(frozen=True, slots=True)
class Bags:
    """The words of every phrase of a language."""

    weights: Mapping[str, Mapping[str, float]]
    """Word or beginning -> phrase -> what it tells of it."""


def bags_of(ways: Ways, sentences: Iterable[tuple[str, str]] = ()) -> Bags:
    """The bags of a language, from its ways and from whole sentences, each with the phrase it says."""
    counts: dict[str, dict[str, float]] = {}
    for way in ways.ways:
        for slot, needed in zip(way.slots, way.needed, strict=True):
            for place in slot:
                for word in ways.alternatives[place]:
                    of = counts.setdefault(word, {})
                    of[way.phrase] = min(of.get(way.phrase, 0.0) + (1.0 if needed else 0.5), MOST_BY_WAYS)
    for phrase, text in sentences:
        for word in {token.stem for token in read_tokens(text, ways.language)}:
            of = counts.setdefault(word, {})
            of[phrase] = of.get(phrase, 0.0) + 1.0
    size: dict[str, float] = {}
    for of in counts.values():
        for phrase, count in of.items():
            size[phrase] = size.get(phrase, 0.0) + count
    whole = sum(size.values()) + len(counts)
    weights: dict[str, dict[str, float]] = {}
    for word, of in counts.items():
        usual = (sum(of.values()) + 1) / whole
        told = {
            phrase: round(math.log((count + SMOOTHING * usual) / (size[phrase] + SMOOTHING) / usual), 2)
            for phrase, count in of.items()
        }
        weights[word] = {phrase: weight for phrase, weight in told.items() if weight > 0}
    return Bags(weights)


def alike(words: Sequence[Token], bags: Bags, language: Language, found: Collection[Match]) -> list[Match]:
    """What a sentence may say by its ways, each placed by all its words too, and phrases that only its words are alike to."""
    if language.id in RUNNING:
        return list(found)
    scores, places = _scores(words, bags)
    made = [replace(one, beside=BESIDE * scores.get(one.phrase, 0.0)) for one in found]
    known = {one.phrase: one for one in made}
    ranked = sorted(
        (-FACTOR * score, phrase)
        for phrase, score in scores.items()
        if len(places[phrase]) >= FEWEST and FACTOR * score >= LEAST
    )
    denials = denials_in(words, language, language.id)
    for score, phrase in ranked[:OFFERED]:
        own = known.get(phrase)
        if own is None or (own.share < 1 and own.score + own.beside < -score):
            stands = places[phrase]
            denied = denied_at(stands, words, denials, language.id)
            made.append(Match(phrase, -score, SHARE, frozenset(stands), denied))
    return made


def _scores(words: Sequence[Token], bags: Bags) -> tuple[dict[str, float], dict[str, set[int]]]:
    """Weight of every phrase by the words of a sentence, and where they stand."""
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
    return scores, places
