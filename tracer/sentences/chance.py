"""How probably a way that is wholly there means what it was written for: what is less likely right than not is only asked."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import exp, log, log1p

from tracer.knowledge.settings import SureReading
from tracer.sentences.match import Match, Token

MOST_TELLING = 5
"""Telling words of a way that count."""
LEAST = 0.2
"""What the words of the sentence add at least: less is told apart no further."""


def chance_right(match: Match, words: Sequence[Token], small: Collection[int], law: SureReading) -> float:
    """Probability that a careful person would put it on the sheet.

    `small` are the places of small words: articles, prepositions, words that only join. Logistic regression; its figures and
    what they were made from stand in settings.yaml under `reading`.
    """
    score = (
        law.constant
        + law.weight * log(max(match.score, 0.5))
        + law.alike * log(max(match.beside, LEAST))
        + law.loose * log1p(match.loose)
        + law.clauses * (len({words[at].clause for at in match.places}) > 1)
        + law.telling * min(len(match.places - set(small)), MOST_TELLING)
    )
    return 1 / (1 + exp(-score))
