"""The path of one lot: the list of the steps, nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.findings.answers import compound_answers
from tracer.findings.gathered import Listener, gather, listener
from tracer.findings.weigh import likelihood_ratios, signs_of
from tracer.inference.assemble import Layout, for_lot, layout
from tracer.inference.chain import chain_of
from tracer.inference.evidence import weigh
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.report.compose import compose
from tracer.report.document import Report
from tracer.report.traced import Traced


@dataclass(frozen=True)
class Prepared(Listener):
    """What is worked out once for a knowledge base, however many lots are traced with it."""

    plan: Layout


def prepare(base: KnowledgeBase) -> Prepared:
    """Index the words, list the rules, lay out the network."""
    return Prepared(**vars(listener(base)), plan=layout(base))


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
    gathered = gather(lot, base, ready)
    chain = chain_of(gathered.lot, base)
    whole = plan.of(chain)
    ratios = likelihood_ratios(gathered.findings, base.settings)
    signs = signs_of(gathered.findings, ratios, base.settings)
    network = for_lot(base, whole, gathered.findings, ratios, signs)
    tested = compound_answers(gathered.lot, base)
    weighed = weigh(base, whole, chain, network, gathered.heard, gathered.lot, tested, panel)
    traced = Traced(**vars(gathered), chain=chain, whole=whole, ratios=ratios, signs=signs, weighed=weighed)
    average = trace(lot, base, ready) if panel and panel.rates else None
    return compose(base, traced, keep, panel, average)
