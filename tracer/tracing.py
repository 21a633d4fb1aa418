"""The path of one lot: the list of the steps, nothing else."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from tracer.enquiry.plan import asks
from tracer.explain.answer import answer
from tracer.findings.answers import compound_answers
from tracer.findings.engine import Engine
from tracer.findings.gathered import Gathered, Listener, gather, listener
from tracer.findings.weigh import likelihood_ratios, signs_of
from tracer.inference.assemble import Layout, for_lot, layout
from tracer.inference.chain import chain_of
from tracer.inference.evidence import weigh
from tracer.inference.leaning import leaned, shares
from tracer.inference.lot import WeighedLot, damage
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.collector import paused
from tracer.lots.lot import Lot
from tracer.precedents.features import features
from tracer.precedents.model import Model
from tracer.precedents.shipped import kept_model, model_of
from tracer.report.cautions import stop_notes
from tracer.report.compose import compose
from tracer.report.document import Report


@dataclass(frozen=True)
class Prepared(Listener):
    """What is worked out once for a knowledge base, however many lots are traced with it."""

    plan: Layout
    cases: Model | None = None
    """Published and closed cases; None leaves them out."""


@paused()
def prepare(base: KnowledgeBase, precedents: bool = True, without: Collection[str] = ()) -> Prepared:
    """Index the words, list the rules, lay out the network, and fit the cases but those of the groups `without`."""
    cases = None
    if precedents:
        cases = model_of(base, without) if without else kept_model(base)
    return Prepared(**vars(listener(base)), plan=layout(base), cases=cases)


def weighed(
    lot: Lot,
    base: KnowledgeBase,
    ready: Prepared,
    panel: MeasuredPanel | None = None,
    engine: Engine | None = None,
    elsewhere: Sequence[str] = (),
) -> WeighedLot:
    """Hear a lot, find what its papers say, weigh it all, and let the cases it reads like say where.

    `elsewhere` are notes found in other lots that are traced together with this one.
    """
    return placed(set_against(gather(lot, base, ready, engine), ready, panel, elsewhere), ready)


def set_against(
    gathered: Gathered,
    ready: Prepared,
    panel: MeasuredPanel | None = None,
    elsewhere: Sequence[str] = (),
) -> WeighedLot:
    """What a lot says, set against the knowledge: the step that one lot and many have in common."""
    base = gathered.base
    counting = gathered.counting
    chain = chain_of(counting, base)
    whole = ready.plan.for_base(base).of(chain)
    ratios = likelihood_ratios(gathered.findings, base.settings)
    signs = signs_of(gathered.findings, ratios, base.settings)
    opposed = (one for ratio in ratios.values() for pair in ratio.contradicted for one in pair)
    marks = features(base, gathered, opposed)
    network = for_lot(base, whole, gathered.findings, ratios, signs)
    tested = compound_answers(counting, base)
    trust = {sign.name: sign.trust for sign in signs}
    beans = damage(base, gathered.findings)
    evidence = weigh(
        base, whole, chain, network, gathered.heard, gathered.lot, tested, panel, beans, elsewhere, trust
    )
    told = {item.name: getattr(gathered, item.name) for item in fields(Gathered)}
    return WeighedLot(
        **told,
        chain=chain,
        whole=whole,
        ratios=ratios,
        signs=signs,
        marks=marks,
        leaning={},
        weighed=evidence,
    )


def placed(lot: WeighedLot, ready: Prepared) -> WeighedLot:
    """The lot with what is needed of a cause that is not listed, and with what the cases it reads like say of its stages."""
    base, network = lot.base, lot.weighed.network
    [own], other = shares(base, lot, network, np.ones((1, len(network.structure.faults))))
    lot = replace(lot, unlisted=other)
    if ready.cases is None:
        return lot
    return leaned(base, lot, ready.cases.leaning(lot.marks, base.settings.precedents, own))


def knowledge_of(lot: Lot, base: KnowledgeBase, ready: Prepared | None = None) -> KnowledgeBase:
    """The knowledge that the report of a lot speaks of: with the faults that its contacts make."""
    if not lot.contact and not lot.said:
        return base
    return gather(lot, base, ready or prepare(base, precedents=False), "plain").base


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
    return reported(weighed(lot, base, ready, panel), ready, keep, panel)


def reported(
    one: WeighedLot, ready: Prepared, keep: str | None = None, panel: MeasuredPanel | None = None
) -> Report:
    """The report of a lot that was heard and weighed; nothing of it is read again."""
    base = one.base
    found = answer(base, one, keep)
    stops = stop_notes(base, one.heard, one.weighed.smelled.values())
    likeliest = tuple(source.fault for source in found.sources[:5])

    def again(lot: Lot) -> WeighedLot:
        return set_against(replace(one, lot=lot), ready, panel)

    questions = asks(base, one, likeliest, again, any(stops))
    average = answer(base, placed(set_against(one, ready), ready)) if panel and panel.rates else None
    law = base.settings.precedents
    alike = ready.cases.alike(one.marks, law.shown, law.least) if ready.cases else ()
    return compose(base, one, found, questions, stops, panel, average, alike)
