"""What a laboratory's figure means in the cup: concentration in the brew over the published thresholds.

    in the brew = content of the bean x dose x share extracted x share that survives roasting,   activity = in the brew / threshold,
each as a range: from the least with the highest threshold to the most with the lowest. The weight of the figure is the mean, over
that range, of a likelihood ratio that grows with the activity up to a limit either way (settings, `odour_activity`).
The odour activity value is usual in flavour chemistry (Grosch 1998, Nahrung 42:344-350; from memory); the ratio is judgement.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

import numpy as np
from numpy.typing import NDArray

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.compound import Compound, Threshold
from tracer.knowledge.settings import OdourActivity
from tracer.lots.lot import LaboratoryResult
from tracer.quantity import FACTORS, unit_name
from tracer.wording.sentence import say

IN_BREW, IN_BEAN, IN_WATER = FACTORS["ng/l"], FACTORS["ug/kg"], FACTORS["ng/kg"]
"""Units -> ng in a litre of brew, ng in a gram of bean, ng in a kilogram of water, which is a litre."""
STEPS = 21


@dataclass(frozen=True, slots=True)
class Activity:
    """A figure in the cup: ng/L in the brew, and how many times the threshold."""

    brew: tuple[float, float]
    threshold: tuple[float, float]
    times: tuple[float, float]


def activity(base: KnowledgeBase, result: LaboratoryResult) -> Activity | None:
    """The odour activity of a laboratory value, or None where its unit, matrix or threshold is not known."""
    compound, law = base.compounds[result.compound], base.settings.odour_activity
    ends = _ends(result)
    thresholds = [pair for one in compound.thresholds if (pair := _in_water(one)) is not None]
    if ends is None or not thresholds or result.unit is None:
        return None
    brew = _in_brew(ends, unit_name(result.unit), result.matrix, compound, law)
    if brew is None:
        return None
    threshold = (min(low for low, _ in thresholds), max(high for _, high in thresholds))
    return Activity(brew, threshold, (brew[0] / threshold[1], brew[1] / threshold[0]))


def _ends(result: LaboratoryResult) -> tuple[float, float] | None:
    if result.value is not None:
        return result.value, result.value
    amount = result.amount
    if amount is None or amount.word is not None or (amount.low is None and amount.high is None):
        return None
    low = 0.0 if amount.low is None else amount.low
    return low, low * 10 if amount.high is None else amount.high


def _in_water(threshold: Threshold) -> tuple[float, float] | None:
    unit = unit_name(threshold.unit)
    factor = IN_BREW.get(unit, IN_WATER.get(unit))
    if factor is None or not any(word in threshold.matrix.lower() for word in ("water", "brew")):
        return None
    low = threshold.low if threshold.low is not None else threshold.value
    high = threshold.high if threshold.high is not None else threshold.value
    return None if low is None or high is None else (low * factor, high * factor)


def _in_brew(
    ends: tuple[float, float], unit: str, matrix: str | None, compound: Compound, law: OdourActivity
) -> tuple[float, float] | None:
    if matrix in (None, "brew"):
        factor = IN_BREW.get(unit)
        if factor is not None:
            return ends[0] * factor, ends[1] * factor
    factor = IN_BEAN.get(unit)
    if factor is None or matrix not in ("green", "roasted"):
        return None
    kept = law.survives.get(compound.survives_roasting, (1.0, 1.0)) if matrix == "green" else (1.0, 1.0)
    least, most = (law.dose[end] * law.extracted[end] * kept[end] * factor for end in (0, 1))
    return ends[0] * least, ends[1] * most


def likelihood(found: Activity, law: OdourActivity) -> NDArray[np.float64]:
    """Likelihood of the figure for a compound that is absent, scattered, throughout."""
    low, high = (log10(max(end, 1e-6)) for end in found.times)
    sizes = np.clip(law.slope * np.linspace(low, high, STEPS), -log10(law.limit), log10(law.limit))
    size = float(sizes.mean())
    vector = 10 ** np.array([0.0, law.scattered * size, size])
    return np.asarray(vector / vector.max())


def told(base: KnowledgeBase, result: LaboratoryResult) -> str | None:
    """The sum in one line."""
    found = activity(base, result)
    if found is None:
        return None
    label = base.compounds[result.compound].label
    return say(
        "{label}: {brew} ng/L in the cup, {times} times the threshold ({threshold} ng/L in water or brew)",
        label=label,
        brew=_span(found.brew),
        times=_span(found.times),
        threshold=_span(found.threshold),
    )


def _span(ends: tuple[float, float]) -> str:
    low, high = (f"{end:.2g}" if end < 100 else f"{end:,.0f}" for end in ends)
    return low if low == high else say("{low} to {high}", low=low, high=high)
