"""What each answer to an enquiry does to the odds of the faults it is about.

An answer a has P(a | fault at work) = given and P(a | none of them) = otherwise, so it multiplies the
odds of each fault named by given / otherwise. Where several named faults are at work at once this
counts each of them; with rare faults that weighs next to nothing, and the gain below stays a true
expected gain because it is taken against the mixture over the answers.
"""

from __future__ import annotations

from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry


@dataclass(frozen=True, slots=True)
class Effect:
    """One answer: its chance with no such fault, its ratio on each fault, and on a compound's presence."""

    enquiry: str
    answer: str
    otherwise: float
    ratios: tuple[tuple[str, float], ...]
    compounds: tuple[tuple[str, float], ...]
    """(compound node, P(answer | compound there) / P(answer | not there))."""


def effects(base: KnowledgeBase, enquiry: Enquiry) -> tuple[Effect, ...]:
    """The effect of every answer of an enquiry, in the order of the answers."""
    found = []
    for answer, otherwise in enquiry.otherwise.items():
        ratios: dict[str, float] = {}
        compounds: dict[str, float] = {}
        for given in enquiry.given:
            ratio = given.answers[answer] / otherwise
            if given.compound:
                compounds[base.node(given.compound)] = ratio
            for fault in given.faults or (base.faults_of(given.stage) if given.stage else ()):
                ratios.setdefault(fault, ratio)
        found.append(Effect(enquiry.id, answer, otherwise, tuple(ratios.items()), tuple(compounds.items())))
    return tuple(found)


def settled(enquiry: Enquiry, known: set[str], answered: set[str]) -> bool:
    """True if the lot's papers, or an answer already given, settle the enquiry."""
    return enquiry.id in answered or any(name in known for name in enquiry.settled_by)
