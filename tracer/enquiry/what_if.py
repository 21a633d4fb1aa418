"""Enquiries whose answers are events of the chain: a control, an earlier sample, another roast, cupped or heard of.

What such an answer would change is what it does change: the lot is weighed with the event added, and
    P(answer | e) is in proportion to P(e, what that event shows), over the answers that show something.
An answer that shows nothing ("none kept") and one that no event stands for come as often as the enquiry's table says.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from tracer.inference.leaning import leaned
from tracer.inference.lot import WeighedLot
from tracer.inference.network import ImpossibleEvidenceError
from tracer.inference.reports import raw_likelihood
from tracer.inference.said import silence
from tracer.inference.sources import sweep
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.lots.compared import answers_compared
from tracer.lots.lot import Lot

Array = NDArray[np.float64]
Again = Callable[[Lot], WeighedLot]
"""Weigh a lot that has had one more answer; the cases it reads like have not been heard yet."""


def is_event(base: KnowledgeBase, lot: Lot, enquiry: Enquiry) -> bool:
    """True if an answer to the enquiry would be an event of this lot's chain."""
    return any(
        enquiry.id in answers_compared(lot.answered(enquiry.id, answer), base) for answer in enquiry.row
    )


def by_events(
    base: KnowledgeBase,
    lot: Lot,
    again: Again,
    enquiry: Enquiry,
    faults: tuple[frozenset[str], ...],
    table: tuple[Array, Array],
    leaning: Mapping[str, float],
) -> tuple[Array, Array, dict[int, WeighedLot]]:
    """P(answer, e) and P(answer, no live path from each set of faults, e), shapes (A,) and (A, sets), up to one factor; and the
    lot as it would be after each answer that shows something.

    `table` holds the same as the enquiry's own figures have it, `leaning` how the lot's stages are leaned by the cases it reads like;
    the lots returned are not leaned yet.
    """
    total, free = np.array(table[0] / table[0].sum()), np.array(table[1] / table[0].sum())
    shown: dict[int, float] = {}
    dead: dict[int, Array] = {}
    lots: dict[int, WeighedLot] = {}
    for place, answer in enumerate(enquiry.answers):
        what_if = lot.answered(enquiry.id, answer)
        if enquiry.id in answers_compared(what_if, base):
            try:
                one = again(what_if)
                weighed = leaned(base, one, leaning).weighed
                sets = [frozenset(p for name in some for p in one.whole.fault[name]) for some in faults]
                on = np.ones((1, len(weighed.network.structure.faults)))
                whole, none = sweep(weighed.network, weighed.evidence, weighed.traced, sets, on)
            except ImpossibleEvidenceError:
                continue
            lots[place] = one
            shown[place] = float(whole[0]) * _scale(base, one)
            dead[place] = none[0] / whole[0]
    if shown:
        rest = sum(total[place] for place in shown)
        for place, value in shown.items():
            total[place] = max(rest * value / sum(shown.values()), 1e-300)
            free[place] = total[place] * dead[place]
    return total, free, lots


def _scale(base: KnowledgeBase, one: WeighedLot) -> float:
    """What the likelihoods of the comparisons were divided by, so that those of two answers can be set side by side."""
    settings, scale = base.settings, 1.0
    for number, event in enumerate(one.chain.events):
        if event.kind == "comparison":
            raw = raw_likelihood([silence(settings, event, number, "")], settings.tasters, settings.cups)
            held = sum(
                node in one.weighed.evidence.heard
                for (_, place), node in one.whole.heard.items()
                if place == number
            )
            scale *= float(raw.max()) ** held
    return scale
