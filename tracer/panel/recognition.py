"""One taster on one note: four counts, and what they say. Without blanks there is no false-alarm rate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from tracer.rate import Rate, binomial

_NORMAL = NormalDist()
CLEAR = 0.25
"""A criterion beyond this, either way, is told as a leaning."""


@dataclass(frozen=True, slots=True)
class Counts:
    """Cups with the note named and missed, cups without it named and left alone."""

    hits: int
    misses: int
    false_alarms: int
    correct_rejections: int

    @property
    def with_note(self) -> int:
        """Cups that had it."""
        return self.hits + self.misses

    @property
    def without_note(self) -> int:
        """Cups that had it not: blanks, and references of other notes."""
        return self.false_alarms + self.correct_rejections

    def __add__(self, other: Counts) -> Counts:
        return Counts(
            self.hits + other.hits,
            self.misses + other.misses,
            self.false_alarms + other.false_alarms,
            self.correct_rejections + other.correct_rejections,
        )


def loglinear(counts: Counts) -> tuple[float, float]:
    """Hit and false-alarm rate with half a cup added to every cell: never 0 or 1, and never without a value.

    Log-linear correction: (x + 0.5) / (n + 1), always applied (Hautus 1995, from memory; the rule was read on a page).
    """
    return (counts.hits + 0.5) / (counts.with_note + 1), (counts.false_alarms + 0.5) / (
        counts.without_note + 1
    )


def sensitivity(hit: float, false_alarm: float) -> float:
    """d' = z(H) - z(F): how well the note is told from its absence, whatever the taster's caution."""
    return _NORMAL.inv_cdf(hit) - _NORMAL.inv_cdf(false_alarm)


def criterion(hit: float, false_alarm: float) -> float:
    """c = -(z(H) + z(F)) / 2: above 0 holds back, below 0 names too much."""
    return -(_NORMAL.inv_cdf(hit) + _NORMAL.inv_cdf(false_alarm)) / 2


@dataclass(frozen=True, slots=True)
class Score:
    """What four counts say of one taster on one note."""

    counts: Counts
    hit: Rate
    false_alarm: Rate
    sensitivity: float
    criterion: float
    leaning: str
    """even, misses or shouts; unclear where there are too few cups of either kind."""


def score(counts: Counts, hit_prior: Rate, false_alarm_prior: Rate, fewest: int = 3) -> Score:
    """Rates as Beta laws over a prior, d' and c after the log-linear correction, and the leaning in words."""
    hit, false_alarm = loglinear(counts)
    c = criterion(hit, false_alarm)
    if counts.with_note < fewest or counts.without_note < fewest:
        leaning = "unclear"
    else:
        leaning = "misses" if c > CLEAR else "shouts" if c < -CLEAR else "even"
    return Score(
        counts,
        hit_prior.after(counts.hits, counts.with_note),
        false_alarm_prior.after(counts.false_alarms, counts.without_note),
        sensitivity(hit, false_alarm),
        c,
        leaning,
    )


def passes(rule: tuple[int, int], right: float) -> float:
    """Chance that a taster who is right with this probability passes a rule such as 9 of 12."""
    needed, cups = rule
    return math.fsum(binomial(k, cups, right) for k in range(needed, cups + 1))
