"""Findings on figures that are not exact: a rule speaks only where it speaks over the whole range.

A bound is open to what the record can be. Each ranged fact is put at its low and at its high end in turn, the others at their
best; a finding that does not stand at every end is left out and told.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from tracer.findings.engine import Engine
from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.findings.weigh import findings
from tracer.knowledge.rule import Rule

Ends = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Split:
    """A rule that would speak at one end of a range and not at the other."""

    rule: str
    record: str


def steady_findings(
    rules: tuple[Rule, ...],
    facts: tuple[Fact, ...],
    spans: Mapping[str, Ends],
    faults_of: Callable[[str], tuple[str, ...]],
    engine: Engine | None = None,
) -> tuple[tuple[Finding, ...], tuple[Split, ...]]:
    """Findings that stand over all ranges, and the rules that do not. `spans` has the ends of each ranged fact."""
    found = findings(rules, facts, faults_of, engine)
    split: list[Split] = []
    for record, ends in spans.items():
        at_ends = []
        for end in ends:
            moved = tuple(replace(fact, value=end) if fact.name == record else fact for fact in facts)
            at_ends.append({one.rule for one in findings(rules, moved, faults_of, "plain")})
        standing = at_ends[0] & at_ends[1]
        loose = {one.rule for one in found} | at_ends[0] | at_ends[1]
        split += [Split(rule, record) for rule in sorted(loose - standing)]
        found = tuple(one for one in found if one.rule in standing)
    return found, tuple(split)
