"""Answers received to enquiries, as findings beside those of the rules."""

from __future__ import annotations

from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot


def answer_findings(lot: Lot, base: KnowledgeBase) -> tuple[Finding, ...]:
    """One finding an answer: its likelihood ratio given / otherwise on every fault the enquiry is about.

    An answer to an enquiry that the lot's own records settle is left out: the record has spoken.
    """
    known = {value.record for value in lot.records if value.value is not None}
    found = []
    for name, answer in lot.answers:
        enquiry = base.enquiries[name]
        if any(record in known for record in enquiry.settled_by):
            continue
        ratios: dict[str, float] = {}
        for given in enquiry.given:
            for fault in given.faults or (base.faults_of(given.stage) if given.stage else ()):
                ratios.setdefault(fault, given.answers[answer] / enquiry.otherwise[answer])
        label = f"answer: {enquiry.text} {enquiry.answers[answer]}"
        fact = Fact(name, answer, "text", "answers")
        found.append(
            Finding(
                rule=name,
                verb="answer",
                targets=tuple(ratios),
                strength=None,
                group=name,
                because=enquiry.record,
                label=label,
                facts=(fact,),
                cites=enquiry.cites,
                ratios=tuple(ratios.items()),
            )
        )
    return tuple(found)


def compound_answers(lot: Lot, base: KnowledgeBase) -> dict[str, float]:
    """Ratio P(answer | compound there) / P(answer | not there) of every test answered, by compound node."""
    ratios: dict[str, float] = {}
    for name, answer in lot.answers:
        enquiry = base.enquiries[name]
        for given in enquiry.given:
            if given.compound:
                node = base.node(given.compound)
                ratios[node] = ratios.get(node, 1.0) * given.answers[answer] / enquiry.otherwise[answer]
    return ratios
