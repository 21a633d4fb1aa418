"""What each answer to an enquiry says of the faults it is about, and the answers a lot has received.

The answers of an enquiry that somebody got are signs in an order of precedence, the most telling first: each is an any-of over
the faults that may give it,
    P(answer a) = P(its sign seen, none before it),   P(the reassuring answer) = P(no sign seen),
with leak and strengths that give back the stated table for a single fault. An answer such as "no record" comes as often
whatever is at work. Where no answer is reassuring for all faults, the table is taken as likelihood ratios.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.lots.compared import answers_compared
from tracer.lots.lot import Lot
from tracer.wording.sentence import say

SILENT = (0.6, 1 / 0.6)
"""Ratios within which an answer says nothing."""
REASSURING = 1.05
"""Ratio to every fault up to which an answer is no sign of any."""


@dataclass(frozen=True)
class AnswerSigns:
    """An enquiry as signs in order; each with its leak and what gives it. Without order, it is taken as ratios."""

    order: tuple[str, ...]
    silent: Mapping[str, float]
    """Answer -> how often it comes, whatever is at work."""
    nothing: Mapping[str, float]
    """Reassuring answer -> its share of them."""
    leak: Mapping[str, float]
    faults: Mapping[str, Mapping[str, float]]
    """Answer -> fault -> P(it gives it)."""
    compounds: Mapping[str, Mapping[str, float]]


@dataclass(frozen=True, slots=True)
class Term:
    """A part of an answer's chance: weight times a factor for each fault at work and each compound there."""

    weight: float
    faults: tuple[tuple[str, float], ...] = ()
    compounds: tuple[tuple[str, float], ...] = ()


def about(base: KnowledgeBase, enquiry: Enquiry) -> dict[tuple[str, str], Mapping[str, float]]:
    """("fault" or "compound", id) -> P(answer | it is at work), the first mention of a fault counting."""
    found: dict[tuple[str, str], Mapping[str, float]] = {}
    for given in enquiry.given:
        if given.compound:
            found.setdefault(("compound", base.node(given.compound)), given.answers)
        for fault in given.faults or (base.faults_of(given.stage) if given.stage else ()):
            found.setdefault(("fault", fault), given.answers)
    return found


def answer_signs(base: KnowledgeBase, enquiry: Enquiry) -> AnswerSigns | None:
    """The enquiry as signs, or None where no answer reassures of everything it is about."""
    rows = tuple((key, tuple(table.items())) for key, table in about(base, enquiry).items())
    return _answer_signs(tuple(enquiry.otherwise.items()), rows)


Rows = tuple[tuple[tuple[str, str], tuple[tuple[str, float], ...]], ...]


@lru_cache(maxsize=1024)
def _answer_signs(chances: tuple[tuple[str, float], ...], rows: Rows) -> AnswerSigns | None:
    otherwise, tables = dict(chances), {key: dict(table) for key, table in rows}
    ratio = {
        answer: [table[answer] / chance for table in tables.values()] for answer, chance in otherwise.items()
    }
    silent = {a for a, found in ratio.items() if all(SILENT[0] <= one <= SILENT[1] for one in found)}
    nothing = {a for a, found in ratio.items() if a not in silent and max(found) <= REASSURING}
    if not nothing:
        nothing, silent = silent, set()
    order = [a for a in otherwise if a not in silent and a not in nothing]
    if not nothing or not order or any(max(ratio[a]) < SILENT[1] for a in order):
        return None
    order.sort(key=lambda a: -max(ratio[a]))
    kept = 1 - sum(otherwise[a] for a in silent)
    rest = kept
    leak: dict[str, float] = {}
    left = {key: 1 - sum(table[a] for a in silent) for key, table in tables.items()}
    strength: dict[str, dict[tuple[str, str], float]] = {}
    for answer in order:
        leak[answer] = otherwise[answer] / rest
        strength[answer] = {}
        for key, table in tables.items():
            hazard = table[answer] / left[key]
            left[key] -= table[answer]
            given = 1 - (1 - min(hazard, 0.999)) / (1 - leak[answer])
            if given > 0:
                strength[answer][key] = given
        rest -= otherwise[answer]
    total = sum(otherwise[a] for a in nothing)
    return AnswerSigns(
        tuple(order),
        {a: otherwise[a] for a in otherwise if a in silent},
        {a: otherwise[a] / total for a in otherwise if a in nothing},
        leak,
        {a: {name: p for (kind, name), p in strength[a].items() if kind == "fault"} for a in order},
        {a: {name: p for (kind, name), p in strength[a].items() if kind == "compound"} for a in order},
    )


def terms(base: KnowledgeBase, enquiry: Enquiry, answer: str) -> tuple[Term, ...]:
    """P(answer | what is at work) as a sum of products."""
    signs = answer_signs(base, enquiry)
    if signs is None:
        tables, chance = about(base, enquiry), enquiry.otherwise[answer]
        faults = tuple((n, t[answer] / chance) for (k, n), t in tables.items() if k == "fault")
        return (
            Term(
                chance,
                faults,
                tuple((n, t[answer] / chance) for (k, n), t in tables.items() if k == "compound"),
            ),
        )
    if answer in signs.silent:
        return (Term(signs.silent[answer]),)
    kept = 1 - sum(signs.silent.values())
    if answer in signs.nothing:
        return (_unseen(signs, len(signs.order), kept * signs.nothing[answer]),)
    place = signs.order.index(answer)
    before, after = _unseen(signs, place, kept), _unseen(signs, place + 1, -kept)
    return before, after


def _unseen(signs: AnswerSigns, count: int, weight: float) -> Term:
    """The first `count` signs are not seen."""
    faults: dict[str, float] = {}
    compounds: dict[str, float] = {}
    for answer in signs.order[:count]:
        weight *= 1 - signs.leak[answer]
        for name, p in signs.faults[answer].items():
            faults[name] = faults.get(name, 1.0) * (1 - p)
        for name, p in signs.compounds[answer].items():
            compounds[name] = compounds.get(name, 1.0) * (1 - p)
    return Term(weight, tuple(faults.items()), tuple(compounds.items()))


def answer_findings(lot: Lot, base: KnowledgeBase) -> tuple[Finding, ...]:
    """One finding an answer: a sign, or factors on the faults the enquiry is about.

    An answer that says what a comparison says is left out: it is an event of the chain. So must be those that a row of the
    sheet says already (see `told`).
    """
    compared = answers_compared(lot, base)
    found = []
    for name, answer in lot.answers:
        enquiry = base.enquiries[name]
        if name in compared:
            continue
        leak, strengths, spared = _said(base, enquiry, answer)
        ratios = {fault: factor for fault, factor in spared}
        for fault, p in strengths:
            assert leak is not None
            ratios[fault] = ratios.get(fault, 1.0) * (1 - (1 - leak) * (1 - p)) / leak
        found.append(
            Finding(
                rule=name,
                verb="answer",
                targets=tuple(ratios),
                strength=None,
                group=name,
                because=enquiry.record,
                label=say("answer: {text} {answers}", text=enquiry.text, answers=enquiry.answers[answer]),
                facts=(Fact(name, answer, "text", "answers"),),
                cites=enquiry.cites,
                ratios=tuple(ratios.items()),
                leak=leak,
                strengths=strengths,
                spared=spared,
            )
        )
    return tuple(found)


Pairs = tuple[tuple[str, float], ...]


def _said(base: KnowledgeBase, enquiry: Enquiry, answer: str) -> tuple[float | None, Pairs, Pairs]:
    """Leak and strengths of the answer's sign, and factors of the signs that were not seen."""
    signs = answer_signs(base, enquiry)
    if signs is None or answer in signs.nothing or answer in signs.silent:
        (only,) = terms(base, enquiry, answer)
        return None, (), only.faults
    place = signs.order.index(answer)
    return signs.leak[answer], tuple(signs.faults[answer].items()), _unseen(signs, place, 1.0).faults


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
