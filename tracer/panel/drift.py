"""Over time: when a reference is due again, when a taster has drifted, and how an old calibration fades."""

from __future__ import annotations

import datetime
import math

from tracer.rate import binomial


def recall(days: float, half_life: float) -> float:
    """Share still known after so many days: 2^(-t/h)."""
    return 2 ** (-days / half_life)


def lower_tail(correct: int, trials: int, rate: float) -> float:
    """P(X <= correct): small where a taster does worse than their own norm. Exact, since trials are few."""
    return math.fsum(binomial(k, trials, rate) for k in range(correct + 1))


def alarm(correct: int, trials: int, norm: float, limit: float) -> bool:
    """True where so few right, or fewer, would happen by chance no oftener than `limit` at the taster's norm."""
    return trials > 0 and lower_tail(correct, trials, norm) <= limit


def kept(age_days: float, half_life: float) -> float:
    """Share of what a calibration taught that is still believed after so many days."""
    return recall(max(0.0, age_days), half_life)


def due(last: datetime.date, every_days: int) -> datetime.date:
    """Day on which the next calibration is due."""
    return last + datetime.timedelta(days=every_days)
