"""Findings of a lot, and how they bear on each fault.

Of the findings in a group that bear on a fault only the strongest speaks (largest |log best|), for they read the same
circumstance twice; two that are as strong and say the opposite are a contradiction, and neither speaks. What came before the
fault, and a sign that was looked for and not seen, multiply its odds. A sign that was seen is an any-of child of its causes,
    P(seen) = 1 - (1 - q) prod (1 - p),
so that one cause explains it away for the others; with leak q and strength p its ratio on a fault alone is
(1 - (1 - q)(1 - p)) / q.
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
from tracer.knowledge.scale import Range, link, ratio, share_seen_anyhow
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
    leak: Range
    strengths: tuple[tuple[str, Range], ...]
    """Fault -> P(it gives the sign)."""
    trust: float = 1.0
    """Probability that it was seen; else it says nothing."""


def findings(
    rules: Iterable[Rule],
    facts: Iterable[Fact],
    faults_of: Callable[[str], tuple[str, ...]],
    engine: Engine | None = None,
) -> tuple[Finding, ...]:
    """One finding for each conclusion of each rule that fires, by rule id and then in the rule's own order.

    `faults_of` gives the faults of a stage.
    """
    rules = tuple(rules)
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
                        leak=conclusion.leak,
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
        against = _contrary(group, log(settings.signs.as_telling))
        if against is not None:
            contradicted.append((group[0][0], against))
        else:
            finding, size = group[0]
            whole = _times(whole, size)
            if not is_sign(finding, fault):
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
        by_group.setdefault(finding.group, []).append((finding, ratio_of(finding, fault, settings)))
    for group in by_group.values():
        group.sort(key=lambda pair: (-abs(log(pair[1].best)), pair[0].rule))
    return [group for _, group in sorted(by_group.items())]


def _contrary(group: list[tuple[Finding, Range]], near: float) -> Finding | None:
    """A finding about as strong as the first that says the opposite."""
    first = log(group[0][1].best)
    for finding, size in group[1:]:
        if first * log(size.best) < 0 and abs(first + log(size.best)) <= near:
            return finding
    return None


def _times(one: Range, other: Range) -> Range:
    return Range(one.low * other.low, one.best * other.best, one.high * other.high)


def is_sign(finding: Finding, fault: str) -> bool:
    """Something seen that the fault may have given; what speaks against it, or came before it, is none."""
    return finding.verb == "shows" or fault in dict(finding.strengths)


def signs_of(found: Iterable[Finding], ratios: dict[str, Combined], settings: Settings) -> tuple[Sign, ...]:
    """The signs seen, by group, each with every fault it speaks for; the leak is that of the rarest of its findings."""
    speaking: dict[str, list[tuple[str, Finding]]] = {}
    for fault, combined in ratios.items():
        for one in combined.speaking:
            if is_sign(one.finding, fault):
                speaking.setdefault(one.finding.group, []).append((fault, one.finding))
    signs = []
    for group, members in sorted(speaking.items()):
        leak = min((_leak(finding, settings) for _, finding in members), key=lambda one: one.best)
        given = tuple((fault, _given_beside(leak, finding, fault, settings)) for fault, finding in members)
        signs.append(Sign(group, leak, given, max(finding.trust for _, finding in members)))
    return tuple(signs)


def _given_beside(leak: Range, finding: Finding, fault: str, settings: Settings) -> Range:
    """P(the fault gives the sign) of a group with this leak; a finding of a less telling sign of the group keeps its own ratio.

    p = 1 - (1 - r q) / (1 - q).
    """
    if _leak(finding, settings) == leak:
        return _given(finding, fault, settings)
    ends = (1 - (1 - r * leak.best) / (1 - leak.best) for r in ratio_of(finding, fault, settings))
    return Range(*(min(1.0, max(0.0, end)) for end in ends))


def sign_ratio(leak: Range, given: Range) -> Range:
    """Likelihood ratio of a sign seen on a fault that alone may give it: (1 - (1 - q)(1 - p)) / q.

    >>> round(sign_ratio(Range(0.05, 0.05, 0.05), Range(0.7, 0.75, 0.8)).best, 2)
    15.25
    """
    return Range(*(1 + (1 - q) * p / q for q, p in zip((leak.high, leak.best, leak.low), given, strict=True)))


def _leak(finding: Finding, settings: Settings) -> Range:
    if isinstance(finding.leak, float):
        return Range(finding.leak, finding.leak, finding.leak)
    assert finding.leak is not None
    return share_seen_anyhow(finding.leak, settings)


def _given(finding: Finding, fault: str, settings: Settings) -> Range:
    own = dict(finding.strengths).get(fault)
    if own is not None:
        return Range(own, own, own)
    assert finding.strength is not None
    return link(finding.strength, settings)


def ratio_of(finding: Finding, fault: str, settings: Settings) -> Range:
    """Likelihood ratio of a finding on a fault, as if the fault were the only one; 1 + t (r - 1) where it is trusted by t."""
    found = _ratio_of(finding, fault, settings)
    return found if finding.trust == 1 else Range(*(1 + finding.trust * (end - 1) for end in found))


def _ratio_of(finding: Finding, fault: str, settings: Settings) -> Range:
    own = dict(finding.ratios).get(fault)
    if own is not None:
        return Range(own, own, own)
    if finding.verb == "shows":
        return sign_ratio(_leak(finding, settings), _given(finding, fault, settings))
    if finding.verb == "would_show":
        given = _given(finding, fault, settings)
        return Range(1 - given.high, 1 - given.best, 1 - given.low)
    return ratio(finding.strength, settings)


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
