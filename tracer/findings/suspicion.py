"""A lot cupped as a matter of course: the priors stand as shares of all lots, without the factor of suspicion."""

from __future__ import annotations

from collections.abc import Iterable

from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.scale import Range, suspicion
from tracer.knowledge.strength import Strength
from tracer.wording.sentence import say

ROUTINE = "routine_cupping"
"""The finding that takes the suspicion off."""


def routine_findings(base: KnowledgeBase, known: Iterable[Fact]) -> tuple[Finding, ...]:
    """What undoes the factor of suspicion, for each fault that it raised; nothing where the lot counts as suspected."""
    law = base.settings.suspicion
    if law is None:
        return ()
    found = next((fact for fact in known if (fact.name, fact.value) == (law.record, law.routine)), None)
    if found is None:
        return ()
    by_size: dict[Range, list[str]] = {}
    for fault in base.faults.values():
        size = suspicion(fault, base.settings)
        if size.best != 1:
            by_size.setdefault(size, []).append(fault.id)
    return tuple(
        Finding(
            rule=ROUTINE,
            verb="favours",
            targets=tuple(faults),
            strength=Strength.model_validate(
                {"low": 1 / size.high, "best": 1 / size.best, "high": 1 / size.low, "basis": law.basis}
            ),
            group="suspicion",
            because=say("Nobody had anything to trace, so the shares of all lots cupped stand as they are."),
            label=say("cupped as routine"),
            facts=(found,),
            cites=law.cites,
        )
        for size, faults in by_size.items()
    )
