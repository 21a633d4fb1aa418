"""Is there a difference at all: triangle, 3-AFC, duo-trio, paired, tetrad, two-out-of-five, by the exact binomial."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

from tracer.rate import binomial
from tracer.wording.sentence import say

_NORMAL = NormalDist()
_PANELS = 400
_REACH = 8.5


@dataclass(frozen=True, slots=True)
class Method:
    """A test: its standard, the chance of a right guess, and whether both tails count."""

    id: str
    label: str
    guess: float
    standard: str
    two_sided: bool = False


METHODS = {
    method.id: method
    for method in (
        Method("triangle", say("triangle: which of three is odd"), 1 / 3, "ISO 4120"),
        Method(
            "three_afc",
            say("3-AFC: which of three is strongest in the named note"),
            1 / 3,
            say("method of ISO 13301"),
        ),
        Method("duo_trio", say("duo-trio: which of two equals the reference"), 1 / 2, "ISO 10399"),
        Method("paired", say("paired: which of two is stronger in the named note"), 1 / 2, "ISO 5495"),
        Method(
            "paired_two_sided",
            say("paired: is there a difference either way"),
            1 / 2,
            "ISO 5495",
            two_sided=True,
        ),
        Method("tetrad", say("tetrad: sort four into two pairs"), 1 / 3, say("method of the textbooks")),
        Method(
            "two_of_five", say("two out of five: which two are alike"), 1 / 10, say("method of the textbooks")
        ),
    )
}


def at_least(correct: int, trials: int, rate: float) -> float:
    """P(X >= correct) for a binomial: the p-value at the chance of a guess.

    >>> round(at_least(15, 20, 0.5), 8)
    0.02069473
    """
    if correct <= 0:
        return 1.0
    return math.fsum(binomial(k, trials, rate) for k in range(correct, trials + 1))


def p_value(correct: int, trials: int, method: Method) -> float:
    """Chance of so many right answers, or more, by guessing; both tails for a two-sided test."""
    if not method.two_sided:
        return at_least(correct, trials, method.guess)
    return min(1.0, 2 * at_least(max(correct, trials - correct), trials, method.guess))


def critical_number(trials: int, method: Method, alpha: float = 0.05) -> int | None:
    """Fewest right answers that are significant, or None where even all right is not."""
    return next(
        (x for x in range(trials + 1) if p_value(x, trials, method) <= alpha and x > trials * method.guess),
        None,
    )


def power(trials: int, method: Method, right: float, alpha: float = 0.05) -> float:
    """Chance that the test is significant if each answer is right with this probability."""
    needed = critical_number(trials, method, alpha)
    return 0.0 if needed is None else at_least(needed, trials, right)


def trials_needed(
    method: Method, right: float, wanted: float = 0.8, alpha: float = 0.05, most: int = 2000
) -> tuple[int, int] | None:
    """First number of trials that reaches a power, and the number from which it never falls below it again.

    Power is saw-toothed in the number of trials. None where more than `most` would be needed.
    """
    first: int | None = None
    stable: int | None = None
    quiet = 0
    for trials in range(2, most + 1):
        if power(trials, method, right, alpha) >= wanted:
            first = first or trials
            stable = stable or trials
            quiet += 1
            if quiet > 60:
                return (first, stable) if first is not None and stable is not None else None
        else:
            stable, quiet = None, 0
    return None


def right_by_share(share: float, method: Method) -> float:
    """Chance of a right answer if this share of people can tell and the rest guess: g + d (1 - g)."""
    return method.guess + share * (1 - method.guess)


def share_who_tell(right: float, method: Method) -> float:
    """Share of people who can tell, from the chance of a right answer; at least 0."""
    return max(0.0, (right - method.guess) / (1 - method.guess))


def similarity(correct: int, trials: int, method: Method, share: float) -> float:
    """P(so few right or fewer) if this share could tell: small means that fewer can. Not significant is not the same."""
    return 1 - at_least(correct + 1, trials, right_by_share(share, method))


def _integral(f: Callable[[float], float], low: float, high: float) -> float:
    step = (high - low) / _PANELS
    inner = math.fsum((4 if i % 2 else 2) * f(low + i * step) for i in range(1, _PANELS))
    return (f(low) + inner + f(high)) * step / 3


def right_by_distance(distance: float, method: Method) -> float:
    """Chance of a right answer where the two coffees lie d' apart: the psychometric function of the test.

    Ennis 1993 and Brockhoff and Christensen 2010 (formulas read in a package's vignette; the tetrad's from memory).
    """
    phi, cdf = _NORMAL.pdf, _NORMAL.cdf
    d = distance
    if method.id in ("paired", "paired_two_sided"):
        return cdf(d / math.sqrt(2))
    if method.id == "three_afc":
        return _integral(lambda z: phi(z - d) * cdf(z) ** 2, -_REACH, _REACH + d)
    if method.id == "duo_trio":
        a, b = cdf(d / math.sqrt(2)), cdf(d / math.sqrt(6))
        return 1 - a - b + 2 * a * b
    if method.id == "tetrad":
        return 1 - 2 * _integral(
            lambda z: phi(z) * (2 * cdf(z) * cdf(z - d) - cdf(z - d) ** 2), -_REACH, _REACH
        )
    if method.id == "triangle":
        root, lift = math.sqrt(3), d * math.sqrt(2 / 3)
        return 2 * _integral(lambda z: (cdf(-z * root + lift) + cdf(-z * root - lift)) * phi(z), 0.0, _REACH)
    raise ValueError(f"no distance is defined here for {method.id}")


@cache
def distance(right: float, method: Method) -> float:
    """d' from the chance of a right answer; 0 at or below the chance of a guess."""
    if right <= method.guess:
        return 0.0
    low, high = 0.0, 12.0
    for _ in range(70):
        middle = (low + high) / 2
        low, high = (middle, high) if right_by_distance(middle, method) < right else (low, middle)
    return (low + high) / 2


def distance_error(correct: int, trials: int, method: Method) -> float | None:
    """Standard error of d' by the delta method; None where no more were right than by guessing, or all were."""
    right = correct / trials
    if right <= method.guess or correct == trials:
        return None
    d, step = distance(right, method), 1e-4
    slope = (right_by_distance(d + step, method) - right_by_distance(d - step, method)) / (2 * step)
    return math.sqrt(right * (1 - right) / trials) / slope
