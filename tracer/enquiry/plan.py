"""What to ask or test next, by expected information about the source stages.

For each stage s let X_s be "a live path runs from a fault of s to a reported note". The gain of an
enquiry is sum over s of I(X_s; answer) in bits, plus the same for "none of these": each term is
    h(sum_a P(a) q_a) - sum_a P(a) h(q_a),   q_a = P(X_s | e, a),   h the binary entropy,
never below 0. It is a score for ordering, not the joint information about all stages at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.enquiry.effects import Effect, effects, settled
from tracer.inference.gain import expected_gain
from tracer.inference.network import Evidence, Network
from tracer.inference.sources import Row, sweep
from tracer.knowledge.base import KnowledgeBase

LEAST = 0.0005
"""Bits below which an enquiry is not worth a line."""


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """A possible answer and what it would change."""

    answer: str
    label: str
    probability: float
    top_source: str
    top_stage: str
    top_stage_probability: float


@dataclass(frozen=True, slots=True)
class AskLine:
    """A question or test, with what it is worth."""

    id: str
    kind: str
    ask_of: str
    stage: str
    text: str
    gain_bits: float
    gain_per_cost: float
    cost: str
    days: float
    record: str
    answers: tuple[AnswerLine, ...]
    caution: str | None
