"""How the cases a lot reads like lean on its stages: they say where a cause lies, not whether there is one.

With q_c the share of stage c by the mechanism alone (faults that are listed and causes that are not), and z_c what the text model
says of it, the odds of the faults of a stage are multiplied by
    LR_c = exp z_c / sum_k q_k exp z_k,
whose mean over the shares is 1 (the cap of `precedents.model` aside): what the mechanism leaves for 'none of these' stays what it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tracer.inference.assemble import by_stage, odds_times
from tracer.inference.lot import WeighedLot
from tracer.inference.network import Network
from tracer.inference.not_listed import Unlisted
from tracer.inference.sources import sweep
from tracer.inference.unlisted import gone_wrong, unlisted
from tracer.knowledge.base import KnowledgeBase

Array = NDArray[np.float64]


def shares(
    base: KnowledgeBase, lot: WeighedLot, network: Network, on: Array
) -> tuple[Array, Unlisted | None]:
    """Share of each stage by the mechanism alone, a row for each of `on` (R, faults), shape (R, stages), each summing to 1;
    and what is needed of a cause that is not listed.

    Raises ImpossibleEvidenceError where what was found cannot be.
    """
    weighed, other = lot.weighed, None
    if not weighed.traced:
        found = gone_wrong(base, lot, network, on)
    else:
        sets = [
            frozenset(place for fault in base.faults_of(stage) for place in lot.whole.fault[fault])
            for stage in base.stages
        ]
        every = frozenset(range(len(network.structure.faults)))
        total, free = sweep(network, weighed.evidence, weighed.traced, [*sets, every], on)
        other = unlisted(base, lot, network, on, total, free[:, -1])
        live = np.clip(1 - free / total[:, None], 0.0, 1.0)
        found = live[:, :-1] + other.by_stage(live[:, :-1], 1 - live[:, -1])
    found = found + np.finfo(float).tiny
    return np.asarray(found / found.sum(axis=1, keepdims=True)), other


def with_leaning(base: KnowledgeBase, lot: WeighedLot, leaning: Mapping[str, float]) -> WeighedLot:
    """The lot leaned as another was, with what is needed of a cause that is not listed: for a lot that has had one more answer."""
    weighed = lot.weighed
    if not weighed.traced:
        return leaned(base, lot, leaning)
    network = weighed.network
    on = np.ones((1, len(network.structure.faults)))
    every = frozenset(range(len(network.structure.faults)))
    total, free = sweep(network, weighed.evidence, weighed.traced, [every], on)
    other = unlisted(base, lot, network, on, total, free[:, 0])
    return leaned(base, replace(lot, unlisted=other), leaning)


def leaned(base: KnowledgeBase, lot: WeighedLot, leaning: Mapping[str, float]) -> WeighedLot:
    """The lot with the odds of its faults moved by a likelihood ratio of each stage."""
    if not leaning:
        return lot
    ratio = by_stage(base, lot.whole, leaning)

    def moved(network: Network) -> Network:
        numbers = network.numbers
        return network.with_numbers(replace(numbers, prior=odds_times(numbers.prior, ratio)))

    weighed = lot.weighed
    weighed = replace(weighed, network=moved(weighed.network), spoken=moved(weighed.spoken))
    return replace(lot, leaning=leaning, weighed=weighed)
