"""A rate as a Beta law: mean, tail and quantiles, without any library beyond the standard one."""

from __future__ import annotations

import math
from dataclasses import dataclass

_STEPS = 300
_TINY = 1e-300


def binomial(found: int, of: int, p: float) -> float:
    """P(exactly `found` of `of`) at rate p, by logarithms, so that no count is too large.

    >>> round(binomial(2, 5, 0.5), 6), binomial(0, 1200, 0.0)
    (0.3125, 1.0)
    """
    if p <= 0 or p >= 1:
        return float(found == (0 if p <= 0 else of))
    ways = math.lgamma(of + 1) - math.lgamma(found + 1) - math.lgamma(of - found + 1)
    return math.exp(ways + found * math.log(p) + (of - found) * math.log1p(-p))


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate known as Beta(a, b): a - and b - are counts with the prior's in them.

    >>> Rate(14, 6).mean
    0.7
    """

    a: float
    b: float

    @property
    def mean(self) -> float:
        """a / (a + b)."""
        return self.a / (self.a + self.b)

    @property
    def weight(self) -> float:
        """a + b: how many observations it is worth."""
        return self.a + self.b

    def after(self, successes: float, trials: float) -> Rate:
        """The law after so many successes in so many trials."""
        return Rate(self.a + successes, self.b + trials - successes)

    def interval(self, level: float = 0.90) -> tuple[float, float]:
        """Equal-tailed interval.

        >>> [round(x, 4) for x in Rate(14, 6).interval()]
        [0.5242, 0.8525]
        """
        tail = (1 - level) / 2
        return self.quantile(tail), self.quantile(1 - tail)

    def quantile(self, probability: float) -> float:
        """The value below which the rate lies with this probability, by halving."""
        low, high = 0.0, 1.0
        for _ in range(80):
            middle = (low + high) / 2
            if below(middle, self.a, self.b) < probability:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    def below(self, value: float) -> float:
        """P(rate < value)."""
        return below(value, self.a, self.b)


def below(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function I_x(a, b), by its continued fraction (Lentz's method; any handbook)."""
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    if x > (a + 1) / (a + b + 2):
        return 1 - below(1 - x, b, a)
    c, d = 1.0, 1 - (a + b) * x / (a + 1)
    d = 1 / (d if abs(d) > _TINY else _TINY)
    fraction = d
    for m in range(1, _STEPS):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d, c = _next(1 + even * d), 1 + even / c
        fraction *= (1 / d) * c
        d = 1 / d
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d, c = _next(1 + odd * d), 1 + odd / c
        change = (1 / d) * c
        fraction *= change
        d = 1 / d
        if abs(change - 1) < 1e-15:
            break
    return math.exp(log_front) * fraction / a


def _next(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
