"""The path of one lot: the list of the steps, nothing else."""

from __future__ import annotations

from tracer.enquiry.plan import asks
from tracer.findings.answers import answer_findings
from tracer.findings.engine import fire
from tracer.findings.facts import facts
from tracer.findings.weigh import findings, likelihood_ratios
from tracer.inference.evidence import weigh
from tracer.inference.lots_network import network_of
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.observations import hear
from tracer.report.compose import compose
from tracer.report.document import Report
from tracer.session import Ready, ready


def trace(lot: Lot, base: KnowledgeBase, prepared: Ready | None = None, keep: str | None = None) -> Report:
    """Rank the probable sources of a lot's off-notes.

    `prepared` carries what is worked out once for a knowledge base; `keep` names a fault that must be in
    the report however improbable.
    """
    prepared = prepared or ready(base)
    heard = hear(lot, prepared.vocabulary, base.settings.cups.usual)
    known = facts(lot, base.records, heard, prepared.vocabulary, base.settings.cups.usual)
    fired = fire(prepared.rules, known)
    found = (*findings(prepared.rules, fired), *answer_findings(lot, base))
    ratios = likelihood_ratios(found, base.settings)
    network = network_of(base, prepared.layout, ratios)
    weighed = weigh(base, prepared.layout, heard, lot.laboratory)
    return compose(lot, base, prepared, heard, known, found, ratios, network, weighed, keep)
