"""Over time: when a reference is due again, when a taster has drifted, and how an old calibration fades."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence


def recall(days: float, half_life: float) -> float:
    """Share still known after so many days: 2^(-t/h)."""
    return 2 ** (-days / half_life)


def named_right(days: float, half_life: float, alternatives: int) -> float:
    """Chance of the right name among m after so many days, guesses included: 1/m + (1 - 1/m) 2^(-t/h)."""
    return 1 / alternatives + (1 - 1 / alternatives) * recall(days, half_life)


def days_until(target: float, half_life: float) -> float:
    """Days until recall falls to a target: -h log2(target).

    >>> round(days_until(0.8, 60), 5)
    19.31569
    """
    return -half_life * math.log2(target)


def half_life_from(known: float, days: float) -> float:
    """Half-life from a share known after so many days."""
    return -days / math.log2(known)


def lower_tail(correct: int, trials: int, rate: float) -> float:
    """P(X <= correct): small where a taster does worse than their own norm. Exact, since trials are few."""
    return math.fsum(math.comb(trials, k) * rate**k * (1 - rate) ** (trials - k) for k in range(correct + 1))


def alarm(correct: int, trials: int, norm: float, limit: float) -> bool:
    """True where so few right, or fewer, would happen by chance no oftener than `limit` at the taster's norm."""
    return trials > 0 and lower_tail(correct, trials, norm) <= limit


def alarm_at(trials: int, norm: float, limit: float) -> int | None:
    """The most right answers that still raise the alarm; None where no result does.

    >>> alarm_at(12, 0.75, 0.005)
    4
    """
    raised = [k for k in range(trials + 1) if alarm(k, trials, norm, limit)]
    return raised[-1] if raised else None


def kept(age_days: float, half_life: float) -> float:
    """Share of what a calibration taught that is still believed after so many days."""
    return recall(max(0.0, age_days), half_life)


def due(last: datetime.date, every_days: int) -> datetime.date:
    """Day on which the next calibration is due."""
    return last + datetime.timedelta(days=every_days)


def smoothed(values: Sequence[float], target: float, weight: float) -> list[float]:
    """Exponentially weighted moving average of session results, beginning at the target."""
    found, now = [], target
    for value in values:
        now = weight * value + (1 - weight) * now
        found.append(now)
    return found
