"""A cause that the knowledge does not list: how probable it is, and at which stage it may lie.

Where no named fault has a live path to what is traced, either nothing is there (the tasters erred), or the coffee shows it anyway, or
something made it that the knowledge lacks:
    P(unlisted | e) = P(no live path | e) (1 - P(nothing traced is there | no live path, e)) (1 - prod_n P(n is normal | leaked)),
with P(n is normal | leaked) = normal_n / (normal_n + (1 - normal_n) leak_n) for what this coffee's process or origin shows.
It lies in a segment of the chain as far as what leaks there is needed,
    w_g ~ P(no live path, e) - P(no live path, nothing leaks in g, e),
and within it at a stage from which faults can reach what is traced: one half evenly, one half as the listed faults divide (judgement),
and as the published cases lean (see `leaning`).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tracer.findings.weigh import expected
from tracer.inference.assemble import leak_of
from tracer.inference.lot import WeighedLot
from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.not_listed import Unlisted
from tracer.inference.rows import Rows, evaluate
from tracer.inference.sources import able
from tracer.knowledge.base import KnowledgeBase

Array = NDArray[np.float64]


def unlisted(
    base: KnowledgeBase, lot: WeighedLot, network: Network, on: Array, total: Array, free: Array
) -> Unlisted:
    """What is needed of a cause not listed, a row for each of `on` (R, faults).

    `total` is P(e), `free` P(no live path, e), shape (R,).
    """
    weighed = lot.weighed
    nothing = nothing_there(network, weighed.evidence, weighed.traced, on)
    needed = np.clip(1 - nothing / np.where(free > 0, free, 1), 0.0, 1.0) * _unusual(base, lot)
    return Unlisted(needed, _segments(lot, network, on, free), _members(base, lot))


def with_unlisted(base: KnowledgeBase, lot: WeighedLot, listed: Array, none: float) -> tuple[Array, Array]:
    """Probability of each stage, and the part of it that is a cause not listed, shape (stages,).

    `listed` is that by the faults that are listed, `none` that of no live path.
    """
    if lot.unlisted is None:
        return listed, np.zeros_like(listed)
    leaning = np.array([[lot.leaning.get(stage, 1.0) for stage in base.stages]])
    [more] = lot.unlisted.by_stage(listed[None], np.array([none]), leaning)
    return listed + more, more


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


def nothing_there(network: Network, evidence: Evidence, traced: Traced, on: Array) -> Array:
    """P(every traced note is absent, e), shape (R,); 0 where something was seen or measured."""
    if traced.signs:
        return np.zeros(len(on))
    absent = np.zeros(network.numbers.states)
    absent[0] = 1.0
    heard = {node: absent * evidence.heard.get(node, np.ones_like(absent)) for node in traced.heard}
    if any(vector[0] <= 0 for vector in heard.values()):
        return np.zeros(len(on))
    return evaluate(network, replace(evidence, heard={**evidence.heard, **heard}), Rows(on))


def _segments(lot: WeighedLot, network: Network, on: Array, free: Array) -> Array:
    count, structure, numbers = len(lot.chain.segments), network.structure, network.numbers
    if count == 1:
        return np.ones((len(on), 1))

    def quiet(leak: Array, names: tuple[str, ...]) -> Array:
        rows = np.repeat(leak, count, axis=0)
        for node, name in enumerate(names):
            place = int(name.partition("@")[2])
            if place < count:
                rows[place, node] = 1.0
        return rows

    silent = replace(
        numbers,
        compound_leak=quiet(numbers.compound_leak, structure.compounds),
        note_leak=quiet(numbers.note_leak, structure.notes),
    )
    every = np.ones((1, len(structure.faults)), dtype=bool)
    rows = Rows(np.tile(on, (count, 1)), every, each=len(on))
    left = evaluate(network.with_numbers(silent), lot.weighed.evidence, rows, lot.weighed.traced)
    needs = np.clip(free[:, None] - left.reshape(count, len(on)).T, 0.0, None) + np.finfo(float).tiny
    return np.asarray(needs / needs.sum(axis=1, keepdims=True))


def _members(base: KnowledgeBase, lot: WeighedLot) -> NDArray[np.bool_]:
    can = able(lot.weighed.network.structure, lot.weighed.traced)
    reaching = [
        any(place in can for fault in base.faults_of(stage) for place in lot.whole.fault[fault])
        for stage in base.stages
    ]
    here = [{stage for stage, _, _ in places} for places in lot.chain.segments]
    return np.array([[stage in stages for stage in base.stages] for stages in here]) & reaching


def _unusual(base: KnowledgeBase, lot: WeighedLot) -> float:
    """P(a note found needs a cause | no listed fault made any): all but the chance that each is what this coffee shows anyway."""
    if not lot.weighed.reported:
        return 1.0
    normal, usual = expected(lot.findings, base.settings), 1.0
    for name in lot.weighed.reported:
        chance = normal[name].best if name in normal else 0.0
        leak = 1 - float(leak_of(base, name, 0.0)[0])
        usual *= chance / (chance + (1 - chance) * leak)
    return 1 - usual
