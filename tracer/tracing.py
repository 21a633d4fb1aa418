"""The path of one lot: the list of the steps, nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracer.enquiry.plan import asks
from tracer.explain.answer import answer
from tracer.findings.answers import compound_answers
from tracer.findings.engine import Engine
from tracer.findings.gathered import Listener, gather, listener
from tracer.findings.weigh import likelihood_ratios, signs_of
from tracer.inference.assemble import Layout, for_lot, layout
from tracer.inference.chain import chain_of
from tracer.inference.evidence import weigh
from tracer.inference.lot import WeighedLot, damage
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.report.cautions import stop_notes
from tracer.report.compose import compose
from tracer.report.document import Report


@dataclass(frozen=True)
class Prepared(Listener):
    """What is worked out once for a knowledge base, however many lots are traced with it."""

    plan: Layout


def prepare(base: KnowledgeBase) -> Prepared:
    """Index the words, list the rules, lay out the network."""
    return Prepared(**vars(listener(base)), plan=layout(base))


def weighed(
    lot: Lot,
    base: KnowledgeBase,
    ready: Prepared,
    panel: MeasuredPanel | None = None,
    engine: Engine | None = None,
    elsewhere: Sequence[str] = (),
) -> WeighedLot:
    """Hear a lot, find what its papers say, and weigh it all: the steps that one lot and many have in common.

    `elsewhere` are notes found in other lots that are traced together with this one.
    """
    plan = layout(base, panel.confusions) if panel and panel.confusions else ready.plan
    gathered = gather(lot, base, ready, engine)
    chain = chain_of(gathered.lot, base)
    whole = plan.of(chain)
    ratios = likelihood_ratios(gathered.findings, base.settings)
    signs = signs_of(gathered.findings, ratios, base.settings)
    network = for_lot(base, whole, gathered.findings, ratios, signs)
    tested = compound_answers(gathered.lot, base)
    beans = damage(base, gathered.findings)
    evidence = weigh(
        base, whole, chain, network, gathered.heard, gathered.lot, tested, panel, beans, elsewhere
    )
    return WeighedLot(
        **vars(gathered), chain=chain, whole=whole, ratios=ratios, signs=signs, weighed=evidence
    )


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
    one = weighed(lot, base, ready, panel)
    found = answer(base, one, keep)
    stops = stop_notes(base, one.heard, one.weighed.smelled.values())
    questions = asks(base, one, tuple(source.fault for source in found.sources[:5]), any(stops))
    average = trace(lot, base, ready) if panel and panel.rates else None
    return compose(base, one, found, questions, stops, panel, average)
