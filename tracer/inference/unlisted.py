"""A cause that the knowledge does not list: how probable it is, and at which stage it may lie.

Where no named fault has a live path to what is traced, either nothing is there (the tasters erred), or something made it that the
knowledge lacks:
    P(unlisted | e) = P(no live path | e) - P(nothing that is traced is there | e).
It lies at any stage from which faults can reach what is traced, as the published cases lean (see `precedents.model`), and by what the
evidence says of that stage: one half evenly, one half as the listed faults divide (judgement).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tracer.inference.lot import WeighedLot
from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.rows import Rows, evaluate
from tracer.inference.sources import able
from tracer.knowledge.base import KnowledgeBase

Array = NDArray[np.float64]


def nothing_there(network: Network, evidence: Evidence, traced: Traced, on: Array, total: Array) -> Array:
    """P(every traced note is absent | e), a row for each of `on` (R, faults); 0 where something was seen or measured.

    `total` is P(e) of each row, shape (R,).
    """
    if traced.signs:
        return np.zeros(len(on))
    absent = np.zeros(network.numbers.states)
    absent[0] = 1.0
    heard = {node: absent * evidence.heard.get(node, np.ones_like(absent)) for node in traced.heard}
    if any(vector[0] <= 0 for vector in heard.values()):
        return np.zeros(len(on))
    silent = evaluate(network, replace(evidence, heard={**evidence.heard, **heard}), Rows(on))
    return np.asarray(np.clip(silent / total, 0.0, 1.0))


def gone_wrong(base: KnowledgeBase, lot: WeighedLot, network: Network, on: Array) -> Array:
    """P(at least one fault of the stage is there | e), a row for each of `on` (R, faults), shape (R, stages).

    For a lot of which nothing is traced: what its papers, and the cases it reads like, make of each stage.
    """
    off = np.ones((1 + len(base.stages), on.shape[1]))
    for row, stage in enumerate(base.stages, 1):
        for fault in base.faults_of(stage):
            off[row, list(lot.whole.fault[fault])] = 0.0
    rows = Rows(np.concatenate([one * off for one in on]))
    values = evaluate(network, lot.weighed.evidence, rows).reshape(len(on), len(off))
    return np.asarray(np.clip(1 - values[:, 1:] / values[:, :1], 0.0, 1.0))


def unlisted_by_stage(
    base: KnowledgeBase, lot: WeighedLot, share: float, listed: Mapping[str, float]
) -> dict[str, float]:
    """A cause that is not listed, parted over the stages from which faults reach what is traced.

    `share` is its probability, `listed` the probability of each stage by the faults that the knowledge names.
    """
    weighed = lot.weighed
    can = able(weighed.network.structure, weighed.traced)
    stages = [
        stage
        for stage in base.stages
        if any(place in can for fault in base.faults_of(stage) for place in lot.whole.fault[fault])
    ]
    known = sum(listed[stage] for stage in stages)
    weights = {
        stage: lot.leaning.get(stage, 1.0)
        * (1 / len(stages) + (listed[stage] / known if known > 0 else 1 / len(stages)))
        for stage in stages
    }
    total = sum(weights.values())
    return {stage: max(share, 0.0) * weight / total for stage, weight in weights.items()}
