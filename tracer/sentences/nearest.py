"""The known sentences that a new one is nearest to, and how much they say for each phrase."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracer.sentences.match import Token, read_tokens
from tracer.words.known_texts import KnownTexts, index_of

NEAREST = 400
"""Known sentences that are looked at. Tried on the open sentences of tests/reading, as the shares."""
SHARES = (1.0, 0.5, 0.25, 0.12, 0.06)
"""What the nearest sentences of a phrase add to it, the nearest first."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """How much a sentence is like those that say a phrase."""

    weight: float
    sentences: tuple[int, ...]
    """Those nearest to it."""


def likeness_of(words: Sequence[Token], known: KnownTexts) -> dict[str, Likeness]:
    """Phrase -> its likeness by the sentences nearest to these words."""
    best: dict[str, list[tuple[int, float]]] = {}
    for sentence, likeness in known.nearest(words, NEAREST):
        of = best.setdefault(known.label(sentence), [])
        if len(of) < len(SHARES):
            of.append((sentence, likeness))
    return {
        phrase: Likeness(
            sum(share * likeness for share, (_, likeness) in zip(SHARES, of, strict=False)),
            tuple(sentence for sentence, _ in of),
        )
        for phrase, of in best.items()
    }


def sentences_of(language: str, said: Iterable[tuple[str, str]]) -> KnownTexts:
    """The index over known sentences of a language, each with the phrase it says."""
    return index_of((phrase, read_tokens(text, language)) for phrase, text in said)
