"""What rules say of a lot, and on which facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tracer.findings.fact import Fact
from tracer.knowledge.strength import Citation, Strength

Verb = Literal["favours", "shows", "would_show", "rules_out", "expects", "warns", "answer"]


@dataclass(frozen=True, slots=True)
class Firing:
    """A rule whose conditions hold, with every fact that meets one of them, sorted."""

    rule: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Derived:
    """A finding that rules conclude for other rules, with every rule that concludes it."""

    name: str
    rules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One conclusion of a rule that fired, or an answer to an enquiry."""

    rule: str
    verb: Verb
    targets: tuple[str, ...]
    """Fault ids; descriptor ids where the verb is `expects`, the caution itself where it is `warns`."""
    strength: Strength | None
    """None for `rules_out`, which has its own strength in the settings, and for an answer."""
    group: str
    """Findings of one group do not multiply."""
    because: str
    label: str
    facts: tuple[Fact, ...]
    cites: tuple[Citation, ...]
    ratios: tuple[tuple[str, float], ...] = ()
    """For an answer: its own likelihood ratio on each fault, where that alone is at work."""
    leak: Strength | float | None = None
    """Of a sign: the chance of it where none of its causes is at work."""
    strengths: tuple[tuple[str, float], ...] = ()
    """For an answer that is a sign: the chance that the fault gives it."""
    spared: tuple[tuple[str, float], ...] = ()
    """For an answer: the factor on each fault that answers it comes before did not show."""
    trust: float = 1.0
    """Probability that what it rests on was said at all; less than 1 where a machine read it and nobody confirmed it."""
