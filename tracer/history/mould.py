"""Growth of storage moulds on coffee: an upper bound for taint, integrated after a lag. It says nothing of toxin."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from tracer.knowledge.physics import MouldGrowth

Array = npt.NDArray[np.float64]


def cardinal(x: Any, least: float, best: float, most: float, power: int = 2) -> Array:
    """Cardinal model of Rosso: 0 at `least` and `most`, 1 at `best`.

    (x - max)(x - min)^n / {(opt - min)^(n-1) [(opt - min)(x - opt) - (opt - max)((n - 1) opt + min - n x)]}
    """
    x = np.asarray(x, dtype=float)
    inside = (x > least) & (x < most)
    safe = np.where(inside, x, best)
    above = (safe - most) * (safe - least) ** power
    below = (best - least) ** (power - 1) * (
        (best - least) * (safe - best) - (best - most) * ((power - 1) * best + least - power * safe)
    )
    return np.asarray(np.where(inside, above / below, 0.0))


def growth_rate(temperature: Any, aw: Any, growth: MouldGrowth) -> Array:
    """Growth, mm a day, at a temperature (C) and water activity.

    The published curve at 30 C, moved along aw by a (cosh(b (T - 30)) - 1): the shift of the published limits of
    growth. Moving the one along the other is a house construction. No growth at or below 0 C and above `warmest`.
    """
    temperature = np.asarray(temperature, dtype=float)
    least, best, most = growth.aw
    a, b = growth.shift
    moved = np.minimum(np.asarray(aw, dtype=float), best) - a * (np.cosh(b * (temperature - 30)) - 1)
    rate = growth.fastest * cardinal(moved, least, best, most)
    return np.asarray(np.where((temperature > 0) & (temperature < growth.warmest), rate, 0.0))


def lag(aw: Any, growth: MouldGrowth) -> Array:
    """Hours before growth begins at a constant water activity."""
    (wet, dry), (short, long) = growth.lag_aw, growth.lag_hours
    return np.asarray(np.interp(aw, [dry, wet], [long, short]))


def growth_index(temperature: Array, aw: Array, step: float, growth: MouldGrowth) -> Array:
    """Growth (mm) so far after each step of `step` hours, begun only once the lag is over.

    The share of the lag that is over is the sum of step / lag(aw), counted only where mould grows at all; a dry
    spell longer than the settings say begins it anew. `aw` may have several columns, one for each case.
    """
    rates = growth_rate(temperature if aw.ndim == 1 else temperature[:, None], aw, growth)
    dry_aw, dry_hours = growth.dry_spell
    passed = np.zeros(aw.shape[1:])
    dry = np.zeros(aw.shape[1:])
    total = np.zeros(aw.shape[1:])
    found = np.empty(aw.shape)
    share = np.where(rates > 0, step / lag(aw, growth), 0.0)
    for index in range(len(aw)):
        dry = np.where(aw[index] < dry_aw, dry + step, 0.0)
        passed = np.where(dry > dry_hours, 0.0, passed + share[index])
        total = total + np.where(passed >= 1, rates[index] * step / 24, 0.0)
        found[index] = total
    return found
