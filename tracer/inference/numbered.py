"""Reports that name the cups: two tasters on the same cup count as such.

The cups of a table are bad or not, each with the share s of the state; every taster hits a bad cup with an own rate h and names
the note in a good one with an own rate f. For a pattern of bad cups, with i of b bad and j of g good cups named,
    P(taster | pattern) = (1 - c) B(i; b, hit) B(j; g, false alarm) + c B(i + j; b + g, false alarm),
B the Beta-binomial chance of these very cups, and
    lambda(state) = sum over patterns E[s^b (1 - s)^g] prod over tasters P(taster | pattern).
Cups that the same tasters named are alike: a pattern only says how many bad ones are among each such sort, and stands for as many
patterns as there are ways to choose them. Twenty clean cups around one named by all are 2 x 20 patterns, not a million.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import comb, lgamma, prod

import numpy as np
from numpy.typing import NDArray

from tracer.knowledge.taster_settings import Cups, Mixture, Tasters
from tracer.lots.observed import Observation

Whole = NDArray[np.int64] | NDArray[np.int16]
MOST = 2**18
"""Patterns up to which they are listed: any naming of eighteen cups, and most of more."""


@dataclass(frozen=True, slots=True)
class Rates:
    """A taster's Beta laws of hits and false alarms, and the chance that they cannot smell the note."""

    hit: tuple[float, float]
    false_alarm: tuple[float, float]
    cannot_smell: float


def is_numbered(group: Sequence[Observation]) -> bool:
    """True where every find of a table names its cups, of the same cups, and their patterns are few enough to list."""
    finds = [one for one in group if one.found != 0]
    return (
        bool(finds)
        and all(one.which and one.found == len(one.which) for one in finds)
        and len({one.cups for one in group}) == 1
        and max(cup for one in finds for cup in one.which) <= group[0].cups
        and prod(size + 1 for size in sorts(group).values()) <= MOST
    )


def sorts(group: Sequence[Observation]) -> dict[tuple[bool, ...], int]:
    """How many cups each sort has: whom of the tasters they were named by."""
    named = [set(one.which) for one in group]
    return Counter(tuple(cup in own for own in named) for cup in range(1, group[0].cups + 1))


def kept(observation: Observation, tasters: Tasters) -> float:
    """Share of a report's evidence that is kept."""
    return tasters.doubtful if observation.doubtful else 1.0


def false_alarm_factor(observation: Observation, tasters: Tasters) -> float:
    """A false alarm is rarely called strong."""
    return tasters.intensity.get(observation.intensity, 1.0) if observation.found != 0 else 1.0


def by_number(
    group: Sequence[Observation], laws: Sequence[Rates], tasters: Tasters, cups: Cups
) -> NDArray[np.float64]:
    """Likelihood of the reports of one table, for the states absent, scattered, throughout, as its logarithm: that of these very
    cups among hundreds is smaller than a number can be.
    """
    count, sizes = group[0].cups, sorts(group)
    patterns, ways = _patterns(tuple(sizes.values()))
    bad = patterns.sum(axis=1, dtype=np.int64)
    value = np.zeros(len(patterns))
    for place, (observation, law) in enumerate(zip(group, laws, strict=True)):
        hits = patterns @ np.array([sort[place] for sort in sizes], dtype=np.int16)
        named = len(set(observation.which))
        alarms = named - hits
        seen = _these(hits, bad, law.hit) * _these(alarms, count - bad, law.false_alarm)
        blind = _these(np.full(1, named), np.full(1, count), law.false_alarm)[0]
        chance = (1 - law.cannot_smell) * seen + law.cannot_smell * blind
        if observation.unasked:
            chance = (1 - tasters.names) + tasters.names * chance
        factor = np.where(bad == 0, false_alarm_factor(observation, tasters), 1.0)
        value += np.log(factor * chance) * kept(observation, tasters)
    best = value.max()
    weights = (ways * _of(mixture, bad, count) for mixture in (cups.scattered, cups.throughout))
    found = [float((np.exp(value - best) * weight).sum()) for weight in weights]
    return np.array([value[0], *(best + np.log(found))])


def _patterns(sizes: tuple[int, ...]) -> tuple[NDArray[np.int16], NDArray[np.float64]]:
    """How many of each sort are bad, the pattern without a bad cup first, and in how many ways.

    >>> patterns, ways = _patterns((1, 2))
    >>> patterns.tolist(), ways.tolist()
    ([[0, 0], [0, 1], [0, 2], [1, 0], [1, 1], [1, 2]], [1.0, 2.0, 1.0, 1.0, 2.0, 1.0])
    """
    shape = tuple(size + 1 for size in sizes)
    patterns = np.indices(shape, dtype=np.int16).reshape(len(sizes), -1).T
    ways = np.ones(len(patterns))
    for place, size in enumerate(sizes):
        ways *= np.array([comb(size, chosen) for chosen in range(size + 1)], dtype=float)[patterns[:, place]]
    return patterns, ways


def _of(mixture: Mixture, bad: Whole, count: int) -> NDArray[np.float64]:
    """P(this very pattern) under a mixture of shares."""
    total = sum(one.share for one in mixture)
    parts = [one.share / total * _these(bad, np.full_like(bad, count), (one.a, one.b)) for one in mixture]
    return np.asarray(sum(parts))


def _these(named: Whole, of: Whole, law: tuple[float, float]) -> NDArray[np.float64]:
    """Chance that these very cups are named: the Beta-binomial one, divided among the choices of as many cups.

    >>> float(round(_these(np.array([1]), np.array([2]), (1.0, 1.0))[0], 4))
    0.1667
    """
    a, b = law
    most = int(of.max()) + 1
    with_a, with_b, with_both = (np.array([lgamma(k + x) for k in range(most)]) for x in (a, b, a + b))
    logs = with_a[named] + with_b[of - named] - with_both[of]
    return np.asarray(np.exp(logs + lgamma(a + b) - lgamma(a) - lgamma(b)))
