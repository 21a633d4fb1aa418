"""Do tasters agree where nobody knows the truth: Krippendorff's alpha, with gaps, and its interval."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Value = Hashable
Level = Literal["nominal", "ordinal", "interval"]
Table = Sequence[Sequence[Value | None]]
"""One row a taster, one column a cup; None where the taster gave none."""


def krippendorff(table: Table, level: Level = "nominal") -> float | None:
    """Alpha = 1 - D_observed / D_expected over all pairs of values in a cup; None where nothing can differ.

    1 is full agreement, 0 what chance gives. Krippendorff, Content Analysis (formula from memory; check values read).
    """
    units = [[v for v in column if v is not None] for column in zip(*table, strict=True)]
    return _alpha([unit for unit in units if len(unit) > 1], level)


def _alpha(units: Sequence[Sequence[Value]], level: Level) -> float | None:
    values = sorted({v for unit in units for v in unit}, key=_order)
    if len(values) < 2:
        return None
    index = {v: i for i, v in enumerate(values)}
    together = np.zeros((len(values), len(values)))
    for unit in units:
        counts = np.bincount([index[v] for v in unit], minlength=len(values)).astype(float)
        together += (np.outer(counts, counts) - np.diag(counts)) / (len(unit) - 1)
    totals = together.sum(axis=1)
    number = totals.sum()
    apart = _distances(values, totals, level)
    observed = (together * apart).sum()
    expected = (np.outer(totals, totals) * apart).sum() / (number - 1)
    return None if expected == 0 else float(1 - observed / expected)


def _order(value: Value) -> tuple[int, float, str]:
    return (0, float(value), "") if isinstance(value, (int, float)) else (1, 0.0, str(value))


def _distances(values: Sequence[Value], totals: Array, level: Level) -> Array:
    size = len(values)
    if level == "nominal":
        return np.ones((size, size)) - np.eye(size)
    if level == "interval":
        numbers = np.array([float(v) for v in values])  # type: ignore[arg-type]
        return np.asarray((numbers[:, None] - numbers[None, :]) ** 2)
    reach = np.cumsum(totals)
    middle = reach - totals / 2
    return np.asarray((middle[:, None] - middle[None, :]) ** 2)


def interval(
    table: Table, level: Level = "nominal", times: int = 1000, seed: int = 1, width: float = 0.90
) -> tuple[float, float] | None:
    """Interval of alpha by drawing cups anew (bootstrap over cups); None where alpha itself is not defined."""
    units = [[v for v in column if v is not None] for column in zip(*table, strict=True)]
    units = [unit for unit in units if len(unit) > 1]
    if _alpha(units, level) is None:
        return None
    generator = np.random.default_rng(seed)
    found = []
    for _ in range(times):
        drawn = [units[i] for i in generator.integers(0, len(units), len(units))]
        alpha = _alpha(drawn, level)
        if alpha is not None:
            found.append(alpha)
    tail = (1 - width) / 2
    low, high = np.quantile(found, [tail, 1 - tail])
    return float(low), float(high)
