"""Reports that name the cups: two tasters on the same cup count as such.

The cups of a table are bad or not, each with the share s of the state; every taster hits a bad cup with an own rate h and names
the note in a good one with an own rate f. For a pattern of bad cups, with i of b bad and j of g good cups named,
    P(taster | pattern) = (1 - c) B(i; b, hit) B(j; g, false alarm) + c B(i + j; b + g, false alarm),
B the Beta-binomial chance of these very cups, and
    lambda(state) = sum over patterns E[s^b (1 - s)^g] prod over tasters P(taster | pattern),
listed in full up to twelve cups.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, lgamma

import numpy as np
from numpy.typing import NDArray

from tracer.knowledge.taster_settings import Cups, Mixture, Tasters
from tracer.lots.observed import Observation

MOST = 12
"""Cups up to which the patterns are listed."""


@dataclass(frozen=True, slots=True)
class Rates:
    """A taster's Beta laws of hits and false alarms, and the chance that they cannot smell the note."""

    hit: tuple[float, float]
    false_alarm: tuple[float, float]
    cannot_smell: float


def is_numbered(group: Sequence[Observation]) -> bool:
    """True where every find of a table names its cups, and the table is small enough to list."""
    finds = [one for one in group if one.found != 0]
    return (
        bool(finds)
        and all(one.which and one.found == len(one.which) for one in finds)
        and len({one.cups for one in group}) == 1
        and group[0].cups <= MOST
        and max(cup for one in finds for cup in one.which) <= group[0].cups
    )


def kept(observation: Observation, tasters: Tasters) -> float:
    """Share of a report's evidence that is kept."""
    return tasters.doubtful if observation.doubtful else 1.0


def false_alarm_factor(observation: Observation, tasters: Tasters) -> float:
    """A false alarm is rarely called strong."""
    return tasters.intensity.get(observation.intensity, 1.0) if observation.found != 0 else 1.0


def by_number(
    group: Sequence[Observation], laws: Sequence[Rates], tasters: Tasters, cups: Cups
) -> NDArray[np.float64]:
    """Likelihood of the reports of one table, for the states absent, scattered, throughout."""
    count = group[0].cups
    patterns = (np.arange(2**count)[:, None] >> np.arange(count)) & 1
    bad = patterns.sum(axis=1)
    value = np.ones(len(patterns))
    for observation, law in zip(group, laws, strict=True):
        named = np.zeros(count, dtype=np.int64)
        named[[cup - 1 for cup in observation.which]] = 1
        hits = patterns @ named
        alarms = named.sum() - hits
        seen = _these(hits, bad, law.hit) * _these(alarms, count - bad, law.false_alarm)
        blind = _these(np.full(1, named.sum()), np.full(1, count), law.false_alarm)[0]
        chance = (1 - law.cannot_smell) * seen + law.cannot_smell * blind
        if observation.unasked:
            chance = (1 - tasters.names) + tasters.names * chance
        factor = np.where(bad == 0, false_alarm_factor(observation, tasters), 1.0)
        value = value * (factor * chance) ** kept(observation, tasters)
    absent = float(value[0])
    return np.array(
        [
            absent,
            *(
                float((value * _of(mixture, bad, count)).sum())
                for mixture in (cups.scattered, cups.throughout)
            ),
        ]
    )


def _of(mixture: Mixture, bad: NDArray[np.int64], count: int) -> NDArray[np.float64]:
    """P(this very pattern) under a mixture of shares."""
    total = sum(one.share for one in mixture)
    parts = [one.share / total * _these(bad, np.full_like(bad, count), (one.a, one.b)) for one in mixture]
    return np.asarray(sum(parts))


def _these(named: NDArray[np.int64], of: NDArray[np.int64], law: tuple[float, float]) -> NDArray[np.float64]:
    """Chance that these very cups are named: the Beta-binomial one, divided among the choices of as many cups.

    >>> float(round(_these(np.array([1]), np.array([2]), (1.0, 1.0))[0], 4))
    0.1667
    """
    a, b = law
    pairs = {(int(k), int(n)) for k, n in zip(named, of, strict=True)}
    table = {
        (k, n): exp(
            lgamma(k + a) + lgamma(n - k + b) - lgamma(n + a + b) + lgamma(a + b) - lgamma(a) - lgamma(b)
        )
        for k, n in pairs
    }
    return np.array([table[int(k), int(n)] for k, n in zip(named, of, strict=True)])
