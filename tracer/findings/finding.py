"""What the rules found, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tracer.findings.fact import Fact
from tracer.knowledge.strength import Citation, Strength

Verb = Literal["favours", "shows", "rules_out", "expects", "answer"]


@dataclass(frozen=True, slots=True, order=True)
class Firing:
    """A rule whose conditions held, with the names of the facts and findings that met them."""

    rule: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One conclusion of a rule (or of an answer) that bears on faults or on notes."""

    rule: str
    label: str
    verb: Verb
    targets: tuple[str, ...]
    """Fault ids; descriptor ids for `expects`."""
    strength: Strength | None
    group: str
    because: str
    facts: tuple[Fact, ...]
    cites: tuple[Citation, ...]
    ratios: tuple[tuple[str, float], ...] = ()
    """For an answer: its own likelihood ratio on each fault."""
