"""Lots traced together: is the trouble in what they share, a container, a warehouse, a mill day, a table?

A hypothesis is a set of common sources (place, fault): none, each one, and each pair of the most probable. A place has the fault
with probability P = s p / r, where p is the fault's prior, s the share of it that lies in places and r the share of a place's lots
that it reaches; given the place has it, a lot of it has the fault with r, otherwise with p (1 - s) / (1 - P), so that the prior of a
single lot stays p. Given a hypothesis the lots are independent, each a row of its own network:
    P(h | all lots) ~ P(h) prod over lots P(evidence of the lot | h).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tracer.batch.many import Brief, brief
from tracer.inference.lot import WeighedLot
from tracer.inference.rows import Rows, evaluate
from tracer.inference.sources import able, sweep
from tracer.inference.tasters import PanelOf
from tracer.inference.unlisted import with_unlisted
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.names import fold
from tracer.tracing import Prepared, prepare, weighed

Array = NDArray[np.float64]
Source = tuple[str, str, str]
"""Stage, place as folded, fault."""
TELLING = 0.02
"""Probability below which a common source is not told."""


@dataclass(frozen=True, slots=True)
class Common:
    """A place that lots share, and the fault it may have."""

    stage: str
    place: str
    fault: str
    label: str
    probability: float
    prior: float
    lots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """A lot alone, and given all lots."""

    alone: Brief
    source: str
    """Its first source given all lots; empty where nothing is traced."""
    label: str
    probability: float
    stage: str
    stage_probability: float


@dataclass(frozen=True, slots=True)
class Together:
    """What lots say together."""

    common: tuple[Common, ...]
    """The most probable first; only those worth telling."""
    none: float
    """Probability that no place shared is a common source."""
    lots: tuple[Moved, ...]
    shared: tuple[tuple[str, str, tuple[str, ...]], ...]
    """Stage, place and lots of everything shared."""


def shared_places(lots: Sequence[Lot], base: KnowledgeBase) -> dict[tuple[str, str], tuple[str, list[int]]]:
    """(stage, folded place) -> the place as first written and the lots there, for places of two lots and more."""
    benches = base.settings.verdicts.bench_stages
    found: dict[tuple[str, str], tuple[str, list[int]]] = {}
    for number, lot in enumerate(lots):
        places = [(one.stage, one.node) for one in lot.custody]
        if lot.exporter:
            places += [(stage, lot.exporter) for stage in base.settings.together.exporter]
        for cupping in lot.cuppings:
            table = " ".join(filter(None, (cupping.bench, str(cupping.on) if cupping.on else None)))
            places += [(stage, table) for stage in benches] if cupping.bench and cupping.on else []
        for stage, place in places:
            members = found.setdefault((stage, fold(place)), (place, []))[1]
            if number not in members:
                members.append(number)
    return {key: one for key, one in found.items() if len(one[1]) > 1}


def trace_together(
    lots: Sequence[Lot],
    base: KnowledgeBase,
    prepared: Prepared | None = None,
    panel: PanelOf | None = None,
) -> Together:
    """Trace lots with what they share. Each moves the others that share a place with it. `panel` gives what is measured of a
    lot's tasters.
    """
    ready = prepared or prepare(base)
    alone = brief(lots, base, ready, panel)
    measured = [panel(lot) if panel else None for lot in lots]
    places = shared_places(lots, base)
    first = [weighed(lot, base, ready, known, "plain") for lot, known in zip(lots, measured, strict=True)]
    notes = tuple(dict.fromkeys(name for one in first for name in one.weighed.reported))
    concerned = {number for _, members in places.values() for number in members}
    weighed_lots = [
        weighed(lot, base, ready, measured[number], "plain", notes) if number in concerned else first[number]
        for number, lot in enumerate(lots)
    ]
    sources: dict[Source, list[int]] = {
        (stage, place, fault): members
        for (stage, place), (_, members) in places.items()
        for fault in base.faults_of(stage)
    }
    worlds = _worlds(weighed_lots, sources, base)
    rows = [_Lot(one, number, sources) for number, one in enumerate(weighed_lots)]
    probability, chances = _judged(worlds, rows, sources, base)
    pairs = _pairs(probability, worlds, base.settings.together.leading)
    if pairs:
        worlds = [*worlds, *pairs]
        probability, chances = _judged(worlds, rows, sources, base)
    of_source = {
        source: float(sum(p for p, world in zip(probability, worlds, strict=True) if source in world))
        for source in sources
    }
    common = [
        Common(
            source[0],
            places[source[:2]][0],
            source[2],
            base.faults[source[2]].label,
            chance,
            chances[source],
            tuple(lots[number].lot for number in sources[source]),
        )
        for source, chance in of_source.items()
        if chance >= TELLING and chance > chances[source]
    ]
    return Together(
        tuple(sorted(common, key=lambda one: (-one.probability, one.stage, one.place, one.fault))),
        float(probability[0]),
        tuple(
            _moved(brief_, row, probability, worlds, base) for brief_, row in zip(alone, rows, strict=True)
        ),
        tuple(
            (stage, written, tuple(lots[number].lot for number in members))
            for (stage, _), (written, members) in sorted(places.items())
        ),
    )


World = frozenset[Source]


def _worlds(
    lots: Sequence[WeighedLot], sources: Mapping[Source, list[int]], base: KnowledgeBase
) -> list[World]:
    """None, and each common source."""
    return [frozenset(), *(frozenset([source]) for source in sources)]


def _pairs(probability: Array, worlds: Sequence[World], leading: int) -> list[World]:
    """Each pair of the most probable common sources."""
    order = sorted(range(1, len(worlds)), key=lambda number: (-probability[number], sorted(worlds[number])))
    return [worlds[a] | worlds[b] for a, b in combinations(sorted(order[:leading]), 2)]


class _Lot:
    """One lot's network under every hypothesis that touches it."""

    def __init__(self, lot: WeighedLot, number: int, sources: Mapping[Source, list[int]]) -> None:
        self.lot, self.base = lot, lot.base
        self.own = [source for source, members in sources.items() if number in members]
        self.values: dict[World, tuple[float, Array]] = {}

    def of(self, world: World) -> tuple[float, Array]:
        """Evidence of the lot, and the source probabilities of every fault and stage, given the hypothesis."""
        here = frozenset(world & set(self.own))
        if here not in self.values:
            self.values[here] = self._worked_out(here)
        return self.values[here]

    def _worked_out(self, here: World) -> tuple[float, Array]:
        law, whole = self.base.settings.together, self.lot.whole
        on = np.ones((1, len(whole.network.structure.faults)))
        weight = 1.0
        carried: dict[str, list[Source]] = {}
        for source in self.own:
            carried.setdefault(source[2], []).append(source)
        for fault, sources in carried.items():
            node = whole.main(fault)
            prior = float(whole.prior[1, node])
            place = place_prior(prior, law.shared / len(sources), law.reach)
            there = any(source in here for source in sources)
            own = law.reach if there else prior * (1 - law.shared) / (1 - place) ** len(sources)
            on[0, node] = own * (1 - prior) / (prior * (1 - own))
            weight *= (1 - own) / (1 - prior)
        network, evidence, traced = (
            self.lot.weighed.network,
            self.lot.weighed.evidence,
            self.lot.weighed.traced,
        )
        if not traced:
            return weight * float(evaluate(network, evidence, Rows(on))[0]), np.zeros(0)
        can = able(network.structure, traced)
        groups = [
            *((name,) for name in whole.fault),
            *(self.base.faults_of(stage) for stage in self.base.stages),
            tuple(whole.fault),
        ]
        sets = [frozenset(place for fault in group for place in whole.fault[fault]) & can for group in groups]
        total, free = sweep(network, evidence, traced, sets, on)
        return weight * float(total[0]), np.clip(1 - free[0] / total[0], 0.0, 1.0)


def place_prior(prior: float, shared: float, reach: float) -> float:
    """Probability that a place has a fault, from the fault's prior in a lot.

    >>> round(place_prior(0.07, 0.5, 0.7), 3)
    0.05
    """
    return min(0.5, shared * prior / reach)


def _judged(
    worlds: Sequence[World], rows: Sequence[_Lot], sources: Mapping[Source, list[int]], base: KnowledgeBase
) -> tuple[Array, dict[Source, float]]:
    """Posterior of every hypothesis, and the prior of every common source."""
    law = base.settings.together
    priors = {}
    for source, members in sources.items():
        lot = rows[members[0]]
        count = sum(other[2] == source[2] for other in lot.own)
        whole = lot.lot.whole
        priors[source] = place_prior(
            float(whole.prior[1, whole.main(source[2])]), law.shared / count, law.reach
        )
    odds = {source: np.log(p / (1 - p)) for source, p in priors.items()}
    logs = np.array(
        [
            sum(odds[source] for source in world) + sum(np.log(max(row.of(world)[0], 1e-300)) for row in rows)
            for world in worlds
        ]
    )
    weights = np.exp(logs - logs.max())
    return weights / weights.sum(), priors


def _moved(
    alone: Brief, row: _Lot, probability: Array, worlds: Sequence[World], base: KnowledgeBase
) -> Moved:
    if not row.lot.weighed.traced:
        return Moved(alone, "", "", 0.0, "", 0.0)
    live = np.asarray(
        sum(p * row.of(world)[1] for p, world in zip(probability, worlds, strict=True)), dtype=float
    )
    names, stages = list(row.lot.whole.fault), list(base.stages)
    first = int(np.argmax(live[: len(names)]))
    chances, _ = with_unlisted(base, row.lot, live[len(names) : -1], float(1 - live[-1]))
    stage = int(np.argmax(chances))
    return Moved(
        alone,
        names[first],
        row.lot.base.faults[names[first]].label,
        float(live[first]),
        base.stages[stages[stage]].label,
        float(chances[stage]),
    )
