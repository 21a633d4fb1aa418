"""One lot, weighed: everything it says, its network and its evidence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tracer.findings.finding import Finding
from tracer.findings.gathered import Gathered
from tracer.findings.weigh import Combined, Sign
from tracer.inference.assemble import Whole
from tracer.inference.chain import Chain
from tracer.inference.evidence import Weighed
from tracer.inference.not_listed import Unlisted
from tracer.knowledge.base import KnowledgeBase


@dataclass(frozen=True)
class WeighedLot(Gathered):
    """One lot with everything it says set against the knowledge, before any question is put to it."""

    chain: Chain
    whole: Whole
    """The network of such a chain, before anything is known of the lot."""
    ratios: dict[str, Combined]
    signs: tuple[Sign, ...]
    marks: frozenset[str]
    """What its record says, as cases are compared."""
    leaning: Mapping[str, float]
    """Likelihood ratio of each stage from published and closed cases; empty where they are left out."""
    weighed: Weighed
    unlisted: Unlisted | None = None
    """What is needed of a cause that is not listed; None where nothing is traced, or the lot was not yet placed."""


def damage(base: KnowledgeBase, findings: Iterable[Finding]) -> frozenset[str]:
    """Names of the signs that were seen on the beans themselves."""
    marked = {record.id for record in base.records.values() if record.damage}
    return frozenset(
        finding.group
        for finding in findings
        if finding.verb == "shows" and any(fact.name in marked for fact in finding.facts)
    )
