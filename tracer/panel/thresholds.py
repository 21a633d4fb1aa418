"""A taster's threshold for a note: ascending 3-AFC, best estimate (ASTM E679)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, stdev


@dataclass(frozen=True, slots=True)
class GroupThreshold:
    """Best estimates of a group: geometric mean, and the spread of log10 between tasters."""

    individual: Mapping[str, float]
    group: float
    spread: float | None
    """Standard deviation of log10; None for one taster."""
    at_the_ends: tuple[str, ...]
    """Tasters right everywhere or wrong at the top: the series does not reach their threshold."""


def best_estimate(concentrations: Sequence[float], answers: Sequence[bool]) -> tuple[float, bool]:
    """Best estimate of one taster, and whether it lies beyond an end of the series.

    Geometric mean of the highest concentration missed and the next higher one. All right: lowest / sqrt(step). Missed at the
    top: highest x sqrt(step). Early lucky hits do not count.
    """
    if len(concentrations) != len(answers) or len(concentrations) < 2:
        raise ValueError("a series has at least two concentrations and one answer for each")
    if any(b <= a for a, b in pairwise(concentrations)) or concentrations[0] <= 0:
        raise ValueError("concentrations rise and lie above 0")
    missed = [i for i, right in enumerate(answers) if not right]
    if not missed:
        return concentrations[0] / math.sqrt(concentrations[1] / concentrations[0]), True
    last = missed[-1]
    if last == len(answers) - 1:
        return concentrations[-1] * math.sqrt(concentrations[-1] / concentrations[-2]), True
    return math.sqrt(concentrations[last] * concentrations[last + 1]), False


def group_threshold(concentrations: Sequence[float], answers: Mapping[str, Sequence[bool]]) -> GroupThreshold:
    """Best estimates of all tasters on one series."""
    found = {taster: best_estimate(concentrations, right) for taster, right in answers.items()}
    logs = [math.log10(value) for value, _ in found.values()]
    return GroupThreshold(
        {taster: value for taster, (value, _) in found.items()},
        10 ** fmean(logs),
        stdev(logs) if len(logs) > 1 else None,
        tuple(taster for taster, (_, beyond) in found.items() if beyond),
    )


def series(top: float, factor: float, levels: int) -> tuple[float, ...]:
    """A geometric series of concentrations, rising to `top`.

    >>> series(40.5, 3, 4)
    (1.5, 4.5, 13.5, 40.5)
    """
    return tuple(top / factor**step for step in range(levels - 1, -1, -1))
