"""Is a group's trouble more than chance? The exact conditional test of 2 x 2 tables, one or several, and its correction.

Given the margins of a table the number of troubled lots in the group is hypergeometric (the one-sided exact test of Fisher); over
several tables the sum of these numbers is tested, whose law is the convolution of theirs (Mehta, Patel and Gray 1985, from memory).
Which groups can reach the limit at all, given how few their lots are, is known from the margins alone, so only those count in
the correction (Tarone 1990, from memory), taken step by step as Holm 1979 does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import lgamma

import numpy as np
from numpy.typing import NDArray

Table = tuple[int, int, int, int]
"""Lots, troubled lots, lots of the group, troubled lots of the group."""


@lru_cache(maxsize=4096)
def _law(lots: int, troubled: int, here: int) -> tuple[int, NDArray[np.float64]]:
    """Fewest troubled lots the group can have, and the probability of each number from there on."""
    low, high = max(0, here + troubled - lots), min(here, troubled)

    def ways(n: int, k: int) -> float:
        return lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1)

    logs = [
        ways(here, k) + ways(lots - here, troubled - k) - ways(lots, troubled) for k in range(low, high + 1)
    ]
    return low, np.exp(np.array(logs))


def exact(tables: Iterable[Table]) -> tuple[float, float]:
    """P(at least as many troubled lots in the group, over all tables), and the least this can be, given the margins.

    >>> p, least = exact([(8, 4, 4, 3)])
    >>> round(p, 6), round(least, 6)
    (0.242857, 0.014286)
    """
    law, start, seen = np.ones(1), 0, 0
    for lots, troubled, here, both in tables:
        if here == 0 or troubled == 0:
            continue
        seen += both
        low, own = _law(lots, troubled, here)
        start += low
        law = own if len(law) == 1 else np.convolve(law, own)
    return min(1.0, float(law[seen - start :].sum())), float(law[-1])


def able(least: Sequence[float], limit: float) -> int:
    """How many tests the correction counts: the smallest k such that no more than k of them can reach limit / k.

    >>> able([0.5, 0.5, 0.001], 0.05)
    1
    """
    kept = np.sort(np.asarray(least))
    for k in range(1, len(kept) + 1):
        if int(np.searchsorted(kept, limit / k, side="right")) <= k:
            return k
    return max(1, len(kept))
