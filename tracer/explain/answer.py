"""What a weighed lot answers: how probable each source and stage is, within what interval, and what each finding adds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tracer.explain.by_note import NoteSource, by_note
from tracer.explain.weights import left_out, without_notes, without_sign
from tracer.inference.assemble import by_stage
from tracer.inference.draws import drawn, interval
from tracer.inference.exact import Posterior, posterior
from tracer.inference.lot import WeighedLot
from tracer.inference.network import Evidence, Network
from tracer.inference.sources import source_probabilities, sweep
from tracer.inference.unlisted import gone_wrong, with_unlisted
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.scale import share_of_lots
from tracer.wording.sentence import joined, say

Array = NDArray[np.float64]
SHOWN = 8
ALIKE = 12
"""Decimals beyond which two probabilities are the same: their sources stand in the order of their names."""
LEAST = 0.01
"""Sources below this are not listed, beyond the first three."""


@dataclass(frozen=True, slots=True)
class Source:
    """A fault as a source of what is traced."""

    fault: str
    probability: float
    low: float
    high: float
    present: float
    """Probability that the fault is there, source or not."""
    prior: float
    """Share of all lots cupped that have it."""
    papers: float
    """Probability that it is there before the cups."""


@dataclass(frozen=True)
class Adds:
    """What each note and each sign adds to every fault, given the rest: log10 odds."""

    notes: tuple[tuple[str, Array], ...] = ()
    signs: Mapping[str, Array] = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """What a weighed lot answers."""

    after: Posterior
    sources: tuple[Source, ...] = ()
    """The most probable first."""
    stages: tuple[tuple[str, float], ...] = ()
    """Every stage with the probability that a source, or a cause not listed, lies there, the most probable first. Of a lot of
    which nothing is traced: that any fault of the stage is there."""
    none_of_these: float = 1.0
    unlisted: Mapping[str, float] = field(default_factory=dict)
    """Stage -> the part of it that is a cause which the knowledge does not name."""
    together: Mapping[str, float] = field(default_factory=dict)
    """Caution -> probability that any fault with it is a source."""
    adds: Adds = Adds()
    by_note: tuple[NoteSource, ...] = ()


def answer(base: KnowledgeBase, lot: WeighedLot, keep: str | None = None) -> Answer:
    """Ask the network of a lot; `keep` names a fault that is among the sources however improbable it is."""
    weighed, whole = lot.weighed, lot.whole
    network, evidence = weighed.network, weighed.evidence
    after = posterior(network, evidence)
    if not weighed.traced:
        return Answer(
            after, stages=_in_order(base, gone_wrong(base, lot, network, np.ones((1, len(after.fault))))[0])
        )
    names, risks = tuple(whole.fault), base.faults_with_caution()
    groups = (
        *((name,) for name in names),
        *(base.faults_of(stage) for stage in base.stages),
        names,
        *risks.values(),
    )
    sets = [frozenset(place for fault in group for place in whole.fault[fault]) for group in groups]
    on = np.ones((1, len(network.structure.faults)))
    total, free = sweep(network, evidence, weighed.traced, sets, on)
    live = np.clip(1 - free[0] / total[0], 0.0, 1.0)
    count = len(names) + len(base.stages)
    whole_stages, more = with_unlisted(base, lot, live[len(names) : count], float(1 - live[count]))
    sources = _sources(base, lot, after, dict(zip(names, map(float, live), strict=False)), keep)
    return Answer(
        after,
        sources,
        _in_order(base, whole_stages),
        float(1 - live[count]),
        dict(zip(base.stages, map(float, more), strict=True)),
        dict(zip(risks, map(float, live[count + 1 :]), strict=True)),
        _adds(base, lot),
        by_note(base, lot, tuple(one.fault for one in sources)),
    )


def _in_order(base: KnowledgeBase, found: Array) -> tuple[tuple[str, float], ...]:
    return tuple(sorted(zip(base.stages, map(float, found), strict=True), key=lambda one: -one[1]))


def _sources(
    base: KnowledgeBase, lot: WeighedLot, after: Posterior, live: Mapping[str, float], keep: str | None
) -> tuple[Source, ...]:
    order = sorted(live, key=lambda name: (-round(live[name], ALIKE), name))
    chosen = [
        name
        for rank, name in enumerate(order)
        if (rank < SHOWN and live[name] >= LEAST) or rank < 3 or name == keep
    ]
    low, high = _ranges(base, lot, chosen)
    papers = posterior(lot.weighed.spoken, Evidence(signs=lot.weighed.evidence.signs)).fault
    return tuple(
        Source(
            name,
            live[name],
            min(float(low[place]), live[name]),
            max(float(high[place]), live[name]),
            float(after.fault[lot.whole.main(name)]),
            share_of_lots(lot.base.faults[name], lot.base.settings).best,
            float(papers[lot.whole.main(name)]),
        )
        for place, name in enumerate(chosen)
    )


def _ranges(base: KnowledgeBase, lot: WeighedLot, chosen: list[str]) -> tuple[Array, Array]:
    """10 and 90 % points of the source probabilities, with all figures drawn at once."""
    weighed = lot.weighed
    steady = weighed.quiet * by_stage(base, lot.whole, lot.leaning)
    network = drawn(weighed.network, lot.whole, lot.ratios, lot.signs, steady)
    sets = [frozenset(lot.whole.fault[name]) for name in chosen]
    return interval(source_probabilities(network, weighed.evidence, weighed.traced, sets))


def _adds(base: KnowledgeBase, lot: WeighedLot) -> Adds:
    weighed = lot.weighed
    network, evidence = weighed.network, weighed.evidence
    notes: list[str] = []
    less: list[tuple[Network, Evidence]] = []
    for name in (*weighed.reported, *weighed.absent):
        places = weighed.vectors.get(name, ())
        if not places:
            continue
        there = any(int(np.argmax(evidence.heard[place])) > 0 for place in places)
        told = say("found") if there else say("looked for, not found")
        notes.append(
            say(
                "{label}: {told}{lot}",
                label=base.descriptors[name].label,
                told=told,
                lot=_by_sample(lot, name),
            )
        )
        less.append((network, without_notes(evidence, places)))
    if weighed.absent_apart:
        number = len(weighed.absent_apart)
        notes.append(
            say(
                "1 other note looked for, not found"
                if number == 1
                else "{number} other notes looked for, not found",
                number=number,
            )
        )
        less.append((weighed.spoken, replace(evidence, compounds=weighed.tests)))
    for number, word in weighed.words.items():
        meant = joined((base.descriptors[name].label for name, _ in word.shares))
        whose = (
            say(" of {taster}, measured to call so", taster=word.taster)
            if word.taster
            else say(", which may mean")
        )
        notes.append(say("'{words}'{whose} {meant}", words=word.words, whose=whose, meant=meant))
        words = {k: v for k, v in evidence.words.items() if k != number}
        less.append((network, replace(evidence, words=words)))
    for number, smell in weighed.smelled.items():
        notes.append(say("{label}: {value}", label=smell.label, value="yes" if smell.found else "no"))
        less.append((network, without_sign(evidence, number)))
    count = len(less)
    less += [(network, without_sign(evidence, place)) for place in range(len(lot.signs))]
    _, sizes = left_out(network, evidence, less)
    return Adds(
        tuple(zip(notes, sizes[:count], strict=True)),
        {sign.name: size for sign, size in zip(lot.signs, sizes[count:], strict=True)},
    )


def _by_sample(lot: WeighedLot, name: str) -> str:
    """What each sample, control and neighbour of the table said of a note, where there are several."""
    heard = lot.heard
    rows = (*heard.observations, *heard.elsewhere, *heard.beside)
    said = []
    for event in lot.chain.events:
        own = [
            one
            for one in rows
            if one.descriptor == name
            and one.cupping in event.cuppings
            and (not event.other or one.taster == event.other)
        ]
        if event.kind == "comparison" and event.of in (None, name):
            said.append(say("{name}: {shows}", name=event.name.replace("_", " "), shows=event.shows))
        elif own or event.kind in ("control", "beside"):
            counted = [one for one in own if one.found is not None]
            found, cups = sum(one.found or 0 for one in counted), sum(one.cups for one in counted)
            told = (
                say("{found} of {cups} cups", found=found, cups=cups)
                if found
                else say("found")
                if len(counted) < len(own)
                else say("none")
            )
            where = say("this sample") if event.name == "unknown" else event.name.replace("_", " ")
            said.append(say("{name}: {told}", name=where, told=told))
    return say(" ({names})", names=joined(said, "; ")) if len(said) > 1 else ""
