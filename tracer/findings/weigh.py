"""Findings of a lot, and how they bear on each fault.

Of the findings in a group that bear on a fault only the strongest speaks (largest |log best|), for they read the same
circumstance twice; two that are as strong and say the opposite are a contradiction, and neither speaks. What came before the
fault, and a sign that was looked for and not seen, multiply its odds. A sign that was seen is an any-of child of its causes,
    P(seen) = 1 - (1 - q) prod (1 - p),
so that one cause explains it away for the others: with a leak q, a fault of ratio r alone has p = 1 - (1 - r q) / (1 - q).
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
    """The product of all, as if the fault were the only one: what it would be with no rival."""
    before: Range
    """The part that multiplies its odds; the rest are signs."""
    weighed: tuple[Weighed, ...]
    """By group, the speaking finding first."""
    contradicted: tuple[tuple[Finding, Finding], ...] = ()
    """Findings of one group that are as strong and say the opposite."""

    @property
    def speaking(self) -> tuple[Weighed, ...]:
        """The findings that count, one of each group."""
        return tuple(one for one in self.weighed if not one.silent)

    @property
    def silent(self) -> tuple[Weighed, ...]:
        """The findings a stronger one of their group spoke for."""
        return tuple(one for one in self.weighed if one.silent)


@dataclass(frozen=True, slots=True)
class Sign:
    """Something seen that any of several faults may give, or none of them."""

    name: str
    """The group of its findings."""
    leak: float
    strengths: tuple[tuple[str, Range], ...]
    """Fault -> P(it gives the sign)."""


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
    whole, before = Range(1.0, 1.0, 1.0), Range(1.0, 1.0, 1.0)
    weighed: list[Weighed] = []
    contradicted: list[tuple[Finding, Finding]] = []
    for group in _groups(fault, found, settings):
        against = _contrary(group)
        if against is not None:
            contradicted.append((group[0][0], against))
        else:
            finding, size = group[0]
            whole = _times(whole, size)
            if not is_sign(finding, fault, size):
                before = _times(before, size)
            elif finding.verb == "answer":
                spared = dict(finding.spared).get(fault, 1.0)
                before = _times(before, Range(spared, spared, spared))
        weighed += [
            Weighed(finding, size, place > 0 or against is not None)
            for place, (finding, size) in enumerate(group)
        ]
    return Combined(fault, whole, before, tuple(weighed), tuple(contradicted))


def _groups(fault: str, found: list[Finding], settings: Settings) -> list[list[tuple[Finding, Range]]]:
    """Findings of each group with their ratios on a fault, the strongest first."""
    by_group: dict[str, list[tuple[Finding, Range]]] = {}
    for finding in found:
        by_group.setdefault(finding.group, []).append((finding, _size(finding, fault, settings)))
    for group in by_group.values():
        group.sort(key=lambda pair: (-abs(log(pair[1].best)), pair[0].rule))
    return [group for _, group in sorted(by_group.items())]


def _contrary(group: list[tuple[Finding, Range]]) -> Finding | None:
    """A finding as strong as the first that says the opposite."""
    first = log(group[0][1].best)
    for finding, size in group[1:]:
        if first and abs(first + log(size.best)) < 1e-6:
            return finding
    return None


def _times(one: Range, other: Range) -> Range:
    return Range(one.low * other.low, one.best * other.best, one.high * other.high)


def is_sign(finding: Finding, fault: str, size: Range) -> bool:
    """Something seen that the fault may have given; what speaks against it, or came before it, is none."""
    if finding.verb == "answer":
        return fault in dict(finding.strengths)
    return finding.verb == "shows" and size.best > 1


def signs_of(found: Iterable[Finding], ratios: dict[str, Combined], settings: Settings) -> tuple[Sign, ...]:
    """The signs seen, by group, each with every fault it speaks for."""
    speaking: dict[str, list[tuple[str, Finding, Range]]] = {}
    for fault, combined in ratios.items():
        for one in combined.speaking:
            if is_sign(one.finding, fault, one.ratio):
                speaking.setdefault(one.finding.group, []).append((fault, one.finding, one.ratio))
    signs = []
    for group, members in sorted(speaking.items()):
        leak = min(
            settings.signs.leak_of(size.best) if finding.leak is None else finding.leak
            for _, finding, size in members
        )
        strengths = tuple(
            (
                fault,
                Range(*(_given_by(end, leak) for end in size))
                if finding.leak is None
                else _own(finding, fault),
            )
            for fault, finding, size in members
        )
        signs.append(Sign(group, leak, strengths))
    return tuple(signs)


def _given_by(ratio: float, leak: float) -> float:
    """P(the fault gives the sign) from its likelihood ratio and the sign's leak.

    >>> round(_given_by(5, 0.1), 4)
    0.4444
    """
    return min(0.98, max(0.0, 1 - (1 - ratio * leak) / (1 - leak)))


def _own(finding: Finding, fault: str) -> Range:
    strength = dict(finding.strengths)[fault]
    return Range(strength, strength, strength)


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
