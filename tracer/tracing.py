"""The path of one lot: the list of the steps, nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.findings.answers import answer_findings, compound_answers
from tracer.findings.facts import facts, known_values
from tracer.findings.weigh import findings, likelihood_ratios
from tracer.history.measure import measure
from tracer.inference.assemble import Layout, for_lot, layout
from tracer.inference.evidence import weigh
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.rule import Rule
from tracer.lots.lot import Lot
from tracer.lots.observations import hear
from tracer.words.kept import vocabulary_of
from tracer.words.vocabulary import Vocabulary
from tracer.report.compose import compose
from tracer.report.document import Report
from tracer.report.traced import Traced


@dataclass(frozen=True)
class Prepared:
    """What is worked out once for a knowledge base, however many lots are traced with it."""

    vocabulary: Vocabulary
    rules: tuple[Rule, ...]
    plan: Layout
    places: frozenset[str]
    """Origins that rules know by name."""


def prepare(base: KnowledgeBase) -> Prepared:
    """Index the words, list the rules, lay out the network."""
    words = vocabulary_of(base)
    rules = tuple(base.rules.values())
    return Prepared(words, rules, layout(base), known_values(rules, "origin"))


def trace(
    lot: Lot,
    base: KnowledgeBase,
    prepared: Prepared | None = None,
    keep: str | None = None,
    panel: MeasuredPanel | None = None,
) -> Report:
    """Rank the probable sources of a lot's off-notes.

    `keep` names a fault that stands in the report however improbable it is. `panel` is what is measured of the lot's
    tasters; the report then says what an average panel would have given.
    """
    ready = prepared or prepare(base)
    plan = layout(base, panel.confusions) if panel and panel.confusions else ready.plan
    usual_cups = base.settings.cups.usual
    heard = hear(lot, ready.vocabulary, usual_cups)
    history = measure(lot, base)
    known = facts(lot, base.records, heard, ready.vocabulary, usual_cups, ready.places, history)
    found = (*findings(ready.rules, known, base.faults_of), *answer_findings(lot, base))
    ratios = likelihood_ratios(found, base.settings)
    network = for_lot(base, plan, found, ratios)
    weighed = weigh(base, plan, heard, lot.laboratory, compound_answers(lot, base), panel)
    traced = Traced(lot, heard, known, found, ratios, network, weighed, history)
    average = trace(lot, base, ready) if panel and panel.rates else None
    return compose(base, plan, traced, keep, panel, average)
