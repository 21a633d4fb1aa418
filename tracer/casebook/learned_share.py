"""What cases teach of the share of all lots that have a fault.

Lots cupped as routine, and those cupped clean that nobody traced further, are a sample of all lots; the other cases are lots that somebody
wanted traced, of which more have a fault by the factor of suspicion. Each is counted on its own scale,
    q = odds of p times the suspicion.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracer.casebook.taught import Taught
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Fault
from tracer.knowledge.scale import raised, suspicion
from tracer.rate import Rate


@dataclass(frozen=True)
class Counts:
    """Lots that teach, and those of each fault: cupped as routine or clean, and suspected."""

    plain: int
    suspected: int
    of_plain: Mapping[str, int]
    of_suspected: Mapping[str, int]

    def confirmed(self, fault: str) -> int:
        """Cases of a fault."""
        return self.of_plain.get(fault, 0) + self.of_suspected.get(fault, 0)


def counts(taught: Sequence[Taught], base: KnowledgeBase) -> Counts:
    """How many lots teach, and of which fault. A lot cupped clean that nobody closed was not suspected."""
    law = base.settings.suspicion
    plain = [
        one
        for one in taught
        if not one.closed
        or (law and any((row.record, row.value) == (law.record, law.routine) for row in one.lot.records))
    ]
    of_plain = Counter(one.fault for one in plain if one.fault)
    of_all = Counter(one.fault for one in taught if one.fault)
    return Counts(len(plain), len(taught) - len(plain), of_plain, of_all - of_plain)


def learned_share(
    fault: Fault, p: float, weight: float, counted: Counts, base: KnowledgeBase
) -> tuple[float, float, float]:
    """Share of all lots with a fault once lots have taught, and its ends."""
    factor = suspicion(fault, base.settings).best
    lots = Rate(p * weight, (1 - p) * weight).after(counted.of_plain.get(fault.id, 0), counted.plain)
    q, weight = raised(lots.mean, factor), weight + counted.plain
    rate = Rate(q * weight, (1 - q) * weight).after(counted.of_suspected.get(fault.id, 0), counted.suspected)
    after, low, high = (raised(x, 1 / factor) for x in (rate.mean, *rate.interval()))
    return after, low, high
