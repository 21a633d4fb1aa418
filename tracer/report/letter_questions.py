"""Who can be written to, and what only they can answer about a lot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tracer.enquiry.effects import concerns, settled
from tracer.enquiry.plan import AskLine
from tracer.findings.facts import rows
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.knowledge.texts import in_language
from tracer.lots.lot import Lot
from tracer.report.document import Report

PARTIES = ("exporter", "importer", "decaffeinator", "carrier", "warehouse", "roaster", "bench")
"""Who a letter may go to, as it is typed; the bench is our own."""
OUTSIDE = PARTIES[:-2]
MOST = 4
_OWN = {"bench": "own_laboratory"}


def as_known(party: str) -> str:
    """A party as the knowledge calls it."""
    return _OWN.get(party, party)


def usual_party(report: Report, base: KnowledgeBase, stage: str) -> str:
    """Whom to ask about a stage: who can answer the question that tells most there, else most of its questions.

    Without a question about the stage itself it is the one outside whose answer tells most.
    """
    told = [line for line in report.asks if line.kind == "question"]
    own = [line.ask_of for line in told if line.stage == stage]
    outside = [line.ask_of for line in told if line.ask_of in OUTSIDE]
    known = [one.ask_of for one in base.enquiries.values() if one.stage == stage and one.kind == "question"]
    found = [*own, *outside, *sorted(set(known), key=lambda one: (-known.count(one), one)), "exporter"]
    typed = {known: typed for typed, known in _OWN.items()}
    return next(name for one in found if (name := typed.get(one, one)) in PARTIES)


def questions_for(
    report: Report, lot: Lot, base: KnowledgeBase, party: str, stage: str, named: bool = False
) -> tuple[Enquiry, ...]:
    """At most four open questions that this party can answer: those that tell most, this stage first; then those about a listed source.

    Where the sender `named` the stage, all that can be asked about it comes first, those about its likelier faults before others.
    Nothing that makes somebody smell or taste is asked where a note of the lot stops tasting.
    """
    stopped = any(note.stop_tasting for note in report.notes)
    known = rows(lot, base)
    answered = {name for name, _ in lot.answers}
    kinds = ("question", "test") if party == "bench" else ("question",)
    open_ones = {
        one.id: one
        for one in base.enquiries.values()
        if one.ask_of == as_known(party)
        and one.kind in kinds
        and not settled(one, known, answered)
        and not (stopped and one.by_senses)
    }
    telling = [line.id for line in report.asks if line.id in open_ones]
    own = [name for name in telling if open_ones[name].stage == stage]
    sources = {line.fault: line.probability for line in report.sources}
    weight = {
        name: max((sources.get(fault, 0.0) for fault in concerns(base, one)[0]), default=0.0)
        for name, one in open_ones.items()
        if one.kind == "question"
    }
    of_stage = [name for name in weight if named and open_ones[name].stage == stage]
    of_stage.sort(key=lambda name: (-weight[name], name))
    least = base.settings.verdicts.worth_a_letter
    likely = sorted(
        (name for name in weight if weight[name] >= least), key=lambda name: (-weight[name], name)
    )
    return tuple(open_ones[name] for name in list(dict.fromkeys((*own, *of_stage, *telling, *likely)))[:MOST])


def answered_by(lot: Lot, base: KnowledgeBase, party: str) -> tuple[Enquiry, ...]:
    """The questions of this party that have an answer on the sheet or in the case."""
    names = [name for name, _ in lot.answers if name in base.enquiries]
    return tuple(base.enquiries[name] for name in names if base.enquiries[name].ask_of == as_known(party))


def in_words(
    asked: Iterable[Enquiry | AskLine], base: KnowledgeBase, language: str
) -> tuple[list[str], list[str]]:
    """Questions in the letter's language, each with the paper that settles it; and those that have no words in it."""
    told, lacking = [], []
    texts: Mapping[str, str] = {}
    for one in asked:
        enquiry = base.enquiries[one.id]
        own = enquiry.in_words.get(language)
        if own is None and language != "en":
            texts = texts or in_language(base, language)
            if enquiry.text in texts:
                own = f"{texts[enquiry.text]} ({texts.get(enquiry.record, enquiry.record)})"
            else:
                lacking.append(enquiry.text)
        told.append(own or f"{enquiry.text} ({enquiry.record})")
    return told, lacking
