"""What the cups and bags of a sample can and cannot show, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.history.sampling import bags_found, cups_needed, highest_rate_missed, pattern, rate_interval
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.observed import Heard

TELLING = 3
"""log10 of a likelihood ratio from which a pattern of cups is told: tasters miss cups too."""


def sampling_lines(base: KnowledgeBase, lot: Lot, heard: Heard) -> tuple[str, ...]:
    """Sentences on the notes found, on those looked for and not found, and on the bags drawn."""
    return (*_found(base, heard), *_not_found(base, heard), *_bags(base, lot))


def _found(base: KnowledgeBase, heard: Heard) -> Iterator[str]:
    limits = base.settings.physics.sampling
    for name in heard.reported():
        rows = [o for o in heard.observations if o.descriptor == name and o.found is not None]
        found, cups = sum(o.found or 0 for o in rows), sum(o.cups for o in rows)
        if not cups:
            continue
        low, high = rate_interval(found, cups, limits.confidence)
        label = base.descriptors[name].label
        text = f"{label}: {found} of {cups} cups stand for a share of {low:.0%} to {high:.0%} of cups ({limits.confidence:.0%} exact)"
        if found:
            weight = pattern(
                found, cups, limits.whole_lot_rate, limits.single_bean_rate, limits.beans_a_cup[1]
            )
            if abs(weight) >= TELLING:
                what = "a cause in the whole lot" if weight > 0 else "single bad beans"
                text += f"; so counted, it looks like {what}"
        yield text + "."


def _not_found(base: KnowledgeBase, heard: Heard) -> Iterator[str]:
    limits = base.settings.physics.sampling
    reported = set(heard.reported())
    cups: dict[str, int] = {}
    for o in heard.observations:
        if o.found == 0 and o.descriptor not in reported:
            cups[o.descriptor] = cups.get(o.descriptor, 0) + o.cups
    if cups:
        least = min(cups.values())
        missed = highest_rate_missed(least, limits.confidence)
        needed = cups_needed(limits.telling_share, limits.confidence)
        yield (
            f"What was looked for in {least} cups and not found may still be in up to {missed:.0%} of cups; to see a note of one cup in "
            f"{1 / limits.telling_share:.0f} takes {needed} cups ({limits.confidence:.0%})."
        )


def _bags(base: KnowledgeBase, lot: Lot) -> Iterator[str]:
    values = {r.record: r.value for r in lot.records if isinstance(r.value, (int, float))}
    if "bags_in_lot" not in values or "bags_sampled" not in values:
        return
    bags, drawn = int(values["bags_in_lot"]), int(values["bags_sampled"])
    if drawn > bags:
        yield f"{drawn} bags drawn from {bags} cannot be: check the two counts."
        return
    for share in (0.01, 0.05):
        bad = max(1, round(bags * share))
        chance = bags_found(bags, bad, drawn)
        yield f"With {drawn} of {bags} bags drawn, {bad} bad bag{'s' * (bad != 1)} would be met with a chance of {chance:.0%}."
