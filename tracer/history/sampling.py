"""What cups and bags can and cannot show: exact counts, no approximation."""

from __future__ import annotations

import math
from collections.abc import Callable

from tracer.rate import binomial


def bags_found(bags: int, bad: int, sampled: int) -> float:
    """Chance that a draw of bags holds at least one bad bag: 1 - C(N - K, n) / C(N, n).

    >>> round(bags_found(320, 3, 32), 6)
    0.271763
    """
    if not 0 <= bad <= bags or not 0 <= sampled <= bags:
        raise ValueError("bad and sampled bags lie from 0 to the number of bags")
    return 1 - math.comb(bags - bad, sampled) / math.comb(bags, sampled)


def cup_rate(bean_rate: float, beans_a_cup: int) -> float:
    """Share of cups with at least one bad bean: 1 - (1 - p)^beans."""
    return 1 - (1 - bean_rate) ** beans_a_cup


def highest_rate_missed(cups: int, confidence: float = 0.95) -> float:
    """Share of cups that could have it although none of these showed it: 1 - (1 - c)^(1/n).

    >>> round(highest_rate_missed(5), 5)
    0.45072
    """
    return 1.0 if cups < 1 else 1 - (1 - confidence) ** (1 / cups)


def cups_needed(rate: float, confidence: float = 0.95) -> int:
    """Cups needed to see something of this rate at least once.

    >>> cups_needed(0.05)
    59
    """
    if not 0 < rate <= 1:
        raise ValueError("a rate lies above 0 and up to 1")
    return 1 if rate == 1 else math.ceil(math.log(1 - confidence) / math.log(1 - rate))


def at_least(k: int, n: int, p: float) -> float:
    """P(X >= k) for a binomial of n and p."""
    return math.fsum(binomial(i, n, p) for i in range(k, n + 1))


def rate_interval(found: int, cups: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact interval of Clopper and Pearson for a share of cups.

    >>> [round(x, 6) for x in rate_interval(1, 5)]
    [0.005051, 0.716418]
    """
    tail = (1 - confidence) / 2
    low = 0.0 if found == 0 else _solve(lambda p: at_least(found, cups, p) - tail)
    high = 1.0 if found == cups else _solve(lambda p: at_least(found + 1, cups, p) - (1 - tail))
    return low, high


def _solve(rising: Callable[[float], float]) -> float:
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if rising(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def pattern(found: int, cups: int, whole_lot_rate: float, single_bean_rate: float, beans_a_cup: int) -> float:
    """log10 of how much likelier k of n cups are for a cause in all of the lot than for one in single beans."""
    speck = cup_rate(single_bean_rate, beans_a_cup)

    def likelihood(p: float) -> float:
        return max(binomial(found, cups, p), 1e-300)

    return math.log10(likelihood(whole_lot_rate) / likelihood(speck))
