"""Which compounds of a confirmed fault were in the lot, as far as its cups tell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tracer.findings.answers import compound_answers
from tracer.inference.chain import chain_of
from tracer.inference.evidence import weigh
from tracer.inference.exact import posterior
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.scale import link as link_range
from tracer.lots.lot import Lot
from tracer.lots.observations import hear
from tracer.tracing import Prepared

Presence = dict[str, float]
"""Compound -> P(it was there), for the compounds of a case's confirmed fault."""


def presence(lot: Lot, fault: str, base: KnowledgeBase, ready: Prepared) -> Presence:
    """How probably each compound of a confirmed fault was in the lot, the fault being certain."""
    chain = chain_of(lot, base)
    whole = ready.plan.of(chain)
    heard = hear(lot, ready.vocabulary, base.settings.cups.usual)
    tested = compound_answers(lot, base)
    weighed = weigh(base, whole, chain, whole.network, heard, lot, tested)
    network, place = weighed.network, whole.main(fault)
    prior = np.array(network.numbers.prior)
    prior[0, place] = 1 - 1e-9
    after = posterior(network.with_numbers(replace(network.numbers, prior=prior)), weighed.evidence)
    found = {}
    for link in base.faults[fault].causes:
        node = next(
            (
                c
                for f, c in network.structure.fault_links
                if f == place and c in whole.compound[link.compound]
            ),
            None,
        )
        present = float("nan") if node is None else 1 - after.compound[node, 0]
        # Where no note of it was looked for, the case says nothing.
        found[link.compound] = (
            link_range(link.strength, base.settings).best if np.isnan(present) else float(present)
        )
    return found
