"""What each answer to an enquiry does: its chance as a sum of products over faults and compounds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tracer.findings.answers import Term, about, terms
from tracer.findings.fact import Fact
from tracer.findings.told import settling
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry


@dataclass(frozen=True, slots=True)
class Effect:
    """One answer of an enquiry, with P(answer | what is at work)."""

    enquiry: str
    answer: str
    terms: tuple[Term, ...]


def effects(base: KnowledgeBase, enquiry: Enquiry) -> tuple[Effect, ...]:
    """The effect of every answer of an enquiry, in the order of the answers."""
    return tuple(Effect(enquiry.id, answer, terms(base, enquiry, answer)) for answer in enquiry.otherwise)


def concerns(base: KnowledgeBase, enquiry: Enquiry) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Faults and compounds an enquiry is about."""
    found = about(base, enquiry)
    return tuple(n for k, n in found if k == "fault"), tuple(n for k, n in found if k == "compound")


def settled(enquiry: Enquiry, facts: Iterable[Fact], answered: set[str]) -> bool:
    """True if the lot's papers, or an answer already given, settle the enquiry."""
    return enquiry.id in answered or bool(settling(enquiry, facts))
