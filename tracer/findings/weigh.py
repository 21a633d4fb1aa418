"""Findings of a lot, and how they shift the odds of each fault.

Odds after = odds before x the product over groups of one likelihood ratio each: of the findings in a group that
bear on the fault only the strongest speaks (largest |log best|), for they read the same circumstance twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import log

from tracer.findings.dialect import said
from tracer.findings.engine import Engine, fire
from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.knowledge.rule import Rule
from tracer.knowledge.scale import Range, link, ratio
from tracer.knowledge.settings import Settings


@dataclass(frozen=True, slots=True)
class Weighed:
    """A finding with its likelihood ratio; silent where another of its group speaks."""

    finding: Finding
    ratio: Range
    silent: bool


@dataclass(frozen=True, slots=True)
class Combined:
    """What all findings together do to the odds of one fault."""

    fault: str
    ratio: Range
    weighed: tuple[Weighed, ...]
    """By group, the speaking finding first."""

    @property
    def speaking(self) -> tuple[Weighed, ...]:
        """The findings that count, one of each group."""
        return tuple(one for one in self.weighed if not one.silent)

    @property
    def silent(self) -> tuple[Weighed, ...]:
        """The findings a stronger one of their group spoke for."""
        return tuple(one for one in self.weighed if one.silent)


def findings(
    rules: Iterable[Rule],
    facts: Iterable[Fact],
    faults_of: Callable[[str], tuple[str, ...]],
    engine: Engine | None = None,
) -> tuple[Finding, ...]:
    """One finding for each conclusion of each rule that fires, by rule id and then in the rule's own order.

    `faults_of` gives the faults of a stage.
    """
    rules = rules if isinstance(rules, tuple) else tuple(rules)
    by_id = {rule.id: rule for rule in rules}
    found: list[Finding] = []
    for firing in fire(rules, facts, engine):
        rule = by_id[firing.rule]
        for conclusion in rule.then:
            about = said(conclusion, faults_of)
            if about is not None:
                found.append(
                    Finding(
                        rule.id,
                        *about,
                        strength=conclusion.strength,
                        group=conclusion.group or rule.id,
                        because=rule.because,
                        label=rule.label,
                        facts=firing.facts,
                        cites=rule.cites,
                    )
                )
    return tuple(found)


def likelihood_ratios(found: Iterable[Finding], settings: Settings) -> dict[str, Combined]:
    """For each fault some finding bears on, sorted: the combined ratio, who speaks and who is silent.

    The ends of the combined ratio are the products of the ends.
    """
    by_fault: dict[str, list[Finding]] = {}
    for finding in found:
        if finding.verb not in ("expects", "warns"):
            for fault in finding.targets:
                by_fault.setdefault(fault, []).append(finding)
    return {fault: _combined(fault, by_fault[fault], settings) for fault in sorted(by_fault)}


def _combined(fault: str, found: list[Finding], settings: Settings) -> Combined:
    by_group: dict[str, list[tuple[Finding, Range]]] = {}
    for finding in found:
        by_group.setdefault(finding.group, []).append((finding, _size(finding, fault, settings)))
    low = best = high = 1.0
    weighed: list[Weighed] = []
    for _, group in sorted(by_group.items()):
        group.sort(key=lambda pair: (-abs(log(pair[1].best)), pair[0].rule))
        speaks = group[0][1]
        low, best, high = low * speaks.low, best * speaks.best, high * speaks.high
        weighed += [Weighed(finding, size, place > 0) for place, (finding, size) in enumerate(group)]
    return Combined(fault, Range(low, best, high), tuple(weighed))


def _size(finding: Finding, fault: str, settings: Settings) -> Range:
    own = dict(finding.ratios).get(fault)
    return ratio(finding.strength, settings) if own is None else Range(own, own, own)


def expected(found: Iterable[Finding], settings: Settings) -> dict[str, Range]:
    """For each note that is normal for this coffee, sorted: the chance of it with no fault at all.

    Within a group the strongest speaks; groups add up as independent chances, 1 - product of (1 - chance).
    """
    by_note: dict[str, dict[str, Range]] = {}
    for finding in found:
        if finding.verb != "expects" or finding.strength is None:
            continue
        chance = link(finding.strength, settings)
        for note in finding.targets:
            groups = by_note.setdefault(note, {})
            groups[finding.group] = max(groups.get(finding.group, chance), chance, key=lambda one: one.best)
    return {note: _any_of(groups.values()) for note, groups in sorted(by_note.items())}


def _any_of(chances: Iterable[Range]) -> Range:
    low = best = high = 1.0
    for chance in chances:
        low, best, high = low * (1 - chance.low), best * (1 - chance.best), high * (1 - chance.high)
    return Range(1 - low, 1 - best, 1 - high)
