"""The answers received to a case that count: the last to each question, unless taken back or not of this knowledge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tracer.casebook.cases import TAKEN_BACK, Received
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot


def with_answers(lot: Lot, received: Sequence[Received], base: KnowledgeBase) -> Lot:
    """The lot with the answers received so far; of several to one question the last counts, and none that is set aside."""
    answers = dict(lot.answers)
    answers.update(
        {one.enquiry: one.answer for one in still_standing(received) if not is_set_aside(one, base)}
    )
    return replace(lot, answers=tuple(answers.items()))


def is_set_aside(one: Received, base: KnowledgeBase) -> bool:
    """True for an answer that this knowledge has no question for, or not this answer to it."""
    if one.answer == TAKEN_BACK:
        return False
    enquiry = base.enquiries.get(one.enquiry)
    return enquiry is None or one.answer not in enquiry.answers


def still_standing(received: Sequence[Received]) -> tuple[Received, ...]:
    """The answers that count: the last to each question, unless it was taken back.

    >>> one, back = Received("", "", "q", "yes", ""), Received("", "", "q", TAKEN_BACK, "")
    >>> still_standing([one, back]), still_standing([back, one]) == (one,)
    ((), True)
    """
    last = {one.enquiry: one for one in received}
    return tuple(one for one in last.values() if one.answer != TAKEN_BACK)
