"""What the cups and bags of a sample can and cannot show, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.history.sampling import bags_found, cups_needed, highest_rate_missed, pattern, rate_interval
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.observed import Heard
from tracer.wording.sentence import say

TELLING = 3
"""log10 of a likelihood ratio from which a pattern of cups is told: tasters miss cups too."""


def sampling_lines(base: KnowledgeBase, lot: Lot, heard: Heard) -> tuple[str, ...]:
    """Sentences on the notes found, on those looked for and not found, and on the bags drawn."""
    return (*_assumed(heard), *_found(base, heard), *_not_found(base, heard), *_bags(base, lot))


def _assumed(heard: Heard) -> Iterator[str]:
    cups = {o.cups for o in heard.observations if o.assumed and o.found}
    if cups:
        yield say(
            "The sheet does not say how many cups there were: {usual}, as usual, are taken, and nothing is said of the share of cups.",
            usual=max(cups),
        )


def _found(base: KnowledgeBase, heard: Heard) -> Iterator[str]:
    limits = base.settings.physics.sampling
    for name in heard.reported():
        rows = [
            o for o in heard.observations if o.descriptor == name and o.found is not None and not o.assumed
        ]
        found, cups = sum(o.found or 0 for o in rows), sum(o.cups for o in rows)
        if not cups:
            continue
        low, high = rate_interval(found, cups, limits.confidence)
        label = base.descriptors[name].label
        text = say(
            "{label}: {found} of {cups} cups stand for a share of {low:.0%} to {high:.0%} of cups ({confidence:.0%} exact)",
            label=label,
            found=found,
            cups=cups,
            low=low,
            high=high,
            confidence=limits.confidence,
        )
        if found:
            weight = pattern(
                found, cups, limits.whole_lot_rate, limits.single_bean_rate, limits.beans_a_cup[1]
            )
            if abs(weight) >= TELLING:
                what = say("a cause in the whole lot") if weight > 0 else say("single bad beans")
                text += say("; so counted, it looks like {what}", what=what)
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
            say(
                "What was looked for in {least} cups and not found may still be in up to {missed:.0%} of cups; to see a note of one cup in {telling_share:.0f} takes {needed} cups ({confidence:.0%}).",
                least=least,
                missed=missed,
                telling_share=1 / limits.telling_share,
                needed=needed,
                confidence=limits.confidence,
            )
        )


def _bags(base: KnowledgeBase, lot: Lot) -> Iterator[str]:
    values = {r.record: r.value for r in lot.records if isinstance(r.value, (int, float))}
    if "bags_in_lot" not in values or "bags_sampled" not in values:
        return
    bags, drawn = int(values["bags_in_lot"]), int(values["bags_sampled"])
    if drawn > bags:
        yield say("{drawn} bags drawn from {bags} cannot be: check the two counts.", drawn=drawn, bags=bags)
        return
    for share in (0.01, 0.05):
        bad = max(1, round(bags * share))
        chance = bags_found(bags, bad, drawn)
        yield say(
            "With {drawn} of {bags} bags drawn, 1 bad bag would be met with a chance of {chance:.0%}."
            if bad == 1
            else "With {drawn} of {bags} bags drawn, {bad} bad bags would be met with a chance of {chance:.0%}.",
            drawn=drawn,
            bags=bags,
            bad=bad,
            chance=chance,
        )
