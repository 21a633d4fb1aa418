"""Intervals of the answer: every stated figure drawn at once within its range.

The draws are points of an additive recurrence (Roberts 2018, the R-sequence; from memory), so that few of them cover the
ranges evenly. A figure's best value is the middle of its draws: below it they run evenly to the low end, above it to the high
end, priors, leaks and ratios in their logarithm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tracer.findings.weigh import Combined, Sign
from tracer.inference.assemble import Whole
from tracer.inference.network import Network

Array = NDArray[np.float64]
DRAWS = 64
INTERVAL = (0.1, 0.9)


def points(count: int, dimensions: int) -> Array:
    """Evenly spread points in the unit cube, shape (count, dimensions).

    >>> points(64, 2).mean(axis=0).round(1)
    array([0.5, 0.5])
    """
    root = 2.0
    for _ in range(40):
        root = (1 + root) ** (1 / (dimensions + 1))
    steps = (1 / root) ** np.arange(1, dimensions + 1)
    return np.asarray((0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0)


def _within(u: Array, low: Array, best: Array, high: Array) -> Array:
    return np.where(u < 0.5, low + (best - low) * 2 * u, best + (high - best) * (2 * u - 1))


def drawn(
    network: Network,
    whole: Whole,
    ratios: Mapping[str, Combined],
    signs: Sequence[Sign],
    steady: Array,
    count: int = DRAWS,
) -> Network:
    """The network of a lot with its priors, links, ratios, signs and their leaks drawn `count` times; `steady` multiplies the odds of each fault."""
    numbers = network.numbers
    faults, links = whole.prior.shape[1], whole.law.shape[1]
    strengths = [strength for sign in signs for _, strength in sign.strengths]
    places = [whole.main(name) for name in ratios]
    ends = np.log(np.array([[combined.before[end] for combined in ratios.values()] for end in range(3)]))
    sizes = (faults, links, len(places), len(strengths), len(signs))
    u = points(count, max(1, sum(sizes)))
    at = np.cumsum((0, *sizes))
    prior = np.exp(_within(u[:, at[0] : at[1]], *np.log(whole.prior)))
    odds = prior / (1 - prior) * steady
    if places:
        odds[:, places] *= np.exp(_within(u[:, at[2] : at[3]], *ends))
    law = _within(u[:, at[1] : at[2], None], *whole.law)
    changed = replace(numbers, prior=odds / (1 + odds), fault=law)
    if strengths:
        low, best, high = np.array(strengths).T
        leak = np.log(np.array([sign.leak for sign in signs]).T)
        changed = replace(
            changed,
            sign_fault=_within(u[:, at[3] : at[4]], low, best, high),
            sign_leak=np.concatenate(
                [
                    np.exp(_within(u[:, at[4] : at[5]], *leak)),
                    np.repeat(numbers.sign_leak[:, len(signs) :], count, axis=0),
                ],
                axis=1,
            ),
        )
    return network.with_numbers(changed)


def interval(values: Array) -> tuple[Array, Array]:
    """10 and 90 % points of each column, between two draws in proportion.

    >>> interval(np.array([[3.0], [1.0], [2.0]]))
    (array([1.2]), array([2.8]))
    """
    ordered = np.sort(values, axis=0)
    at = np.array(INTERVAL) * (len(ordered) - 1)
    below = at.astype(int)
    above = np.minimum(below + 1, len(ordered) - 1)
    part = (at - below)[:, None]
    low, high = ordered[below] * (1 - part) + ordered[above] * part
    return np.asarray(low), np.asarray(high)
