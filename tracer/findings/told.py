"""Where a row of the sheet and an answer to an enquiry say one thing: it counts once, as the row, and a contradiction is told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from tracer.findings.dialect import Clause, clause_of, comparable, overlapping, record
from tracer.findings.fact import Fact
from tracer.issues import Issue
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.citations import at
from tracer.knowledge.entries import Enquiry, Record
from tracer.knowledge.rule import Condition
from tracer.lots.lot import Lot
from tracer.wording.sentence import say, to_type

_clause = lru_cache(maxsize=4096)(clause_of)


def settling(enquiry: Enquiry, facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """The facts that answer an enquiry: of a record that always does, or one whose value says an answer."""
    read = set(enquiry.records)
    own = [fact for fact in facts if fact.name in read]
    said = {id(fact) for those in _said(enquiry, own).values() for fact in those}
    return tuple(fact for fact in own if fact.name in enquiry.settled_by or id(fact) in said)


def counting(lot: Lot, base: KnowledgeBase, facts: Iterable[Fact]) -> Lot:
    """The lot with those answers only that no row of it, nor anything measured or computed, says already."""
    known = tuple(facts)
    kept = tuple(one for one in lot.answers if not settling(base.enquiries[one[0]], known))
    return lot if kept == lot.answers else replace(lot, answers=kept)


def against(enquiry: Enquiry, answer: str, facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """The facts that contradict an answer: they say another one, or all that could say this one do not."""
    read = set(enquiry.records)
    own = [fact for fact in facts if fact.name in read]
    said = _said(enquiry, own)
    if said.get(answer):
        return ()
    if answer not in enquiry.told_by:
        # What nobody noted contradicts nothing; another answer may hold beside a row that says a part of it.
        return ()
    others = tuple(dict.fromkeys(fact for name, those in said.items() if name != answer for fact in those))
    if others:
        return others
    could = {test.record for test in enquiry.told_by[answer]}
    known = tuple(fact for fact in own if fact.name in could)
    return known if {fact.name for fact in known} == could else ()


def _said(enquiry: Enquiry, facts: Iterable[Fact]) -> Mapping[str, list[Fact]]:
    """Answer -> the facts that say it."""
    own = list(facts)
    return {answer: list(_meeting(tests, own)) for answer, tests in enquiry.told_by.items()}


def _meeting(tests: Iterable[Condition], facts: list[Fact]) -> Iterator[Fact]:
    clauses: list[Clause] = [_clause(test) for test in tests]
    for fact in facts:
        if any(
            clause.reads == record(fact.name) and clause.holds(comparable(fact.value)) for clause in clauses
        ):
            yield fact


def problems(base: KnowledgeBase) -> Iterator[Issue]:
    """A test that says an answer to an enquiry can be met by its record, and by no value that says another answer too."""
    for enquiry in base.enquiries.values():
        said: list[tuple[str, Clause]] = []
        for answer, test in ((name, test) for name, tests in enquiry.told_by.items() for test in tests):
            try:
                clause = _clause(test)
            except ValueError as error:
                yield _problem(base, enquiry, str(error), say("Mend the test, or take it out."))
                continue
            known = _values(base.records.get(test.record or ""))
            if known and (clause.values is None or set(clause.values) - set(known)):
                text = say("'{record}' is tested for what it cannot be", record=test.record)
                yield _problem(base, enquiry, text, say("It can be: {PARTS}.", PARTS=to_type(known)))
            for other, one in said:
                if other != answer and one.reads == clause.reads and overlapping(one, clause):
                    text = say(
                        "a value of '{record}' says both '{other}' and '{answer}'",
                        record=test.record,
                        other=other,
                        answer=answer,
                    )
                    yield _problem(base, enquiry, text, say("Let each value say one answer."))
            said.append((answer, clause))


def _values(entry: Record | None) -> tuple[str, ...]:
    """What a row can be, where it is a word; a number can be anything."""
    if entry is None:
        return ()
    return ("yes", "no") if entry.kind == "yes_no" else entry.choices


def _problem(base: KnowledgeBase, enquiry: Enquiry, text: str, mend: str) -> Issue:
    return Issue(
        at(base, enquiry.id), say("told_by of '{enquiry}': {text}", enquiry=enquiry.id, text=text), mend
    )
