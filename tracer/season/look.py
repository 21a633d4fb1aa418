"""Every comparison of a season: its groups, and the kinds of trouble they are compared by."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.knowledge.base import KnowledgeBase
from tracer.season.excess import ANY, LIMIT, Looked, excesses
from tracer.season.groups import groups
from tracer.season.lots import SeasonLot


def look(lots: Sequence[SeasonLot], base: KnowledgeBase, limit: float = LIMIT) -> Looked:
    """Groups with more trouble than chance among the lots that were tasted; numbers of lots count these alone."""
    cupped = tasted(lots)
    found = groups(cupped, base)
    kinds = {" ".join(shared.stages) for group in found for shared in group.shared}
    trouble = {
        kind: np.array(
            [lot.troubled and (kind == ANY or lot.stage in kind.split()) for lot in cupped], dtype=bool
        )
        for kind in {ANY, *kinds}
    }
    return excesses(found, trouble, limit)


def tasted(lots: Sequence[SeasonLot]) -> tuple[SeasonLot, ...]:
    """The lots that were tasted."""
    return tuple(lot for lot in lots if lot.tasted)
