"""The knowledge base laid out as the network of one lot: faults, compounds and notes in each segment of its chain.

Only group nodes of compounds appear; a note is 'the note as reported', so a compound also leads, more weakly, to notes its
own are confused with. A compound's leak comes in the first segment of the lot; a note's is shared out over the segments by their stages.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tracer.causes.graph import note_steps
from tracer.findings.finding import Finding
from tracer.findings.weigh import Combined, Sign, expected
from tracer.inference.chain import ANY, LOT, Chain, Event
from tracer.inference.network import Network, Numbers, Structure
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Fault
from tracer.knowledge.scale import Range
from tracer.knowledge.scale import link as link_range
from tracer.knowledge.scale import prior as prior_range

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Layout:
    """What a knowledge base says of each fault and compound, laid out anew for every kind of chain."""

    base: KnowledgeBase
    prior: Mapping[str, Range]
    causes: Mapping[str, tuple[tuple[str, Array], ...]]
    """Fault -> (compound, cumulative law at the low end, best, high end, shape (3, S))."""
    evokes: Mapping[str, tuple[tuple[str, Array], ...]]
    """Compound -> (note, law by state of the compound, shape (S, S))."""
    stage: Mapping[str, str]
    unit: Mapping[str, str]
    """Fault -> the unit it usually strikes at a time."""
    kept: dict[tuple[object, ...], Whole] = field(default_factory=dict, repr=False)
    of_contacts: dict[tuple[Fault, ...], Layout] = field(default_factory=dict, repr=False)

    def for_base(self, base: KnowledgeBase) -> Layout:
        """This layout with the faults that a lot's contacts make of its knowledge, from those kept or made anew."""
        made = tuple(fault for name, fault in base.faults.items() if name not in self.base.faults)
        if not made:
            return self
        if made not in self.of_contacts:
            if len(self.of_contacts) > 64:
                self.of_contacts.clear()
            self.of_contacts[made] = layout(base)
        return self.of_contacts[made]

    def of(self, chain: Chain) -> Whole:
        """The network of a chain before anything is known, from those kept or made anew."""
        if chain.key not in self.kept:
            if len(self.kept) > 256:
                self.kept.clear()
            self.kept[chain.key] = _lay_out(self, chain)
        return self.kept[chain.key]


@dataclass(frozen=True)
class Whole:
    """The network of one kind of chain, with the places of everything in it."""

    network: Network
    fault: Mapping[str, tuple[int, ...]]
    """Places of a fault, that of the latest bench first."""
    compound: Mapping[str, tuple[int, ...]]
    heard: Mapping[tuple[str, int], int]
    """(note, event) -> note heard."""
    leaks: Mapping[str, tuple[tuple[int, float], ...]]
    """Note -> notes of segments with their share of its leak."""
    prior: Array
    """Low end, best and high end of every fault, shape (3, F)."""
    law: Array
    """Low end, best and high end of every fault link, shape (3, links, S), cumulative."""
    evokes: Mapping[str, tuple[tuple[str, Array], ...]]
    """Compound -> (note, law by state of the compound, shape (S, S)), as in the layout."""

    def main(self, fault: str) -> int:
        """Where records and questions about a fault go."""
        return self.fault[fault][0]


def layout(base: KnowledgeBase) -> Layout:
    """Read the figures of a whole knowledge base; done once for each base."""
    settings = base.settings
    causes = {}
    for entry in base.faults.values():
        laws = []
        for item in entry.causes:
            share = settings.spreads.throughout[item.spread]
            ends = link_range(item.strength, settings)
            law = np.cumsum([[1 - w, w * (1 - share), w * share] for w in ends], axis=1)
            laws.append((item.compound, law))
        causes[entry.id] = tuple(laws)
    nodes = [compound.id for compound in base.compounds.values() if not compound.part_of]
    evokes = {name: tuple(_evoked(base, name)) for name in nodes}
    return Layout(
        base,
        {name: prior_range(entry, settings) for name, entry in base.faults.items()},
        causes,
        evokes,
        {name: entry.stage for name, entry in base.faults.items()},
        {
            name: (entry.unit or settings.patterns.usual[entry.stage])[0]
            for name, entry in base.faults.items()
        },
    )


def _evoked(base: KnowledgeBase, compound: str) -> Iterable[tuple[str, Array]]:
    usual = base.settings.tasters.confusion.best
    for note, steps in note_steps(base, compound).items():
        silent = 1.0
        for step in steps:
            strength = link_range(step.strength, base.settings)[1] if step.strength else 0.0
            confused = usual if step.confusion else 1.0
            silent *= 1 - strength * confused
        heard = 1 - silent
        yield note, np.array([[1.0, 0.0, 0.0], [silent, heard, 0.0], [silent, 0.0, heard]])


def _lay_out(plan: Layout, chain: Chain) -> Whole:
    base, settings = plan.base, plan.base.settings
    faults: list[tuple[str, int]] = []
    compounds: dict[tuple[str, int], int] = {}
    notes: dict[tuple[str, int], int] = {}
    fault_links: list[tuple[int, int]] = []
    note_links: list[tuple[int, int]] = []
    laws: list[Array] = []
    note_laws: list[Array] = []
    first = next(place for place, sites in enumerate(chain.segments) if any(site[1] == LOT for site in sites))
    order = sorted(range(len(chain.segments)), key=lambda place: place != first)
    for place in order:
        here = {(stage, unit) for stage, _, unit in chain.segments[place]}
        if place == first:
            for name in plan.evokes:
                compounds[name, place] = len(compounds)
        for name, stage in plan.stage.items():
            if (stage, ANY) in here or (stage, plan.unit[name]) in here:
                for compound, ends in plan.causes[name]:
                    node = compounds.setdefault((compound, place), len(compounds))
                    fault_links.append((len(faults), node))
                    laws.append(ends)
                faults.append((name, place))
    audible = {place for reach in chain.reach for place in reach}
    for (name, place), node in compounds.items():
        if place in audible:
            for note, law in plan.evokes[name]:
                note_links.append((node, notes.setdefault((note, place), len(notes))))
                note_laws.append(law)
    own = {number: len(chain.segments) + number for number, event in enumerate(chain.events) if event.own}
    heard: dict[tuple[str, int], int] = {}
    members: list[tuple[int, ...]] = []
    for number, reach in enumerate(chain.reach):
        for note in base.descriptors:
            for place in reach:
                notes.setdefault((note, place), len(notes))
            if number in own:
                notes.setdefault((note, own[number]), len(notes))
            heard[note, number] = len(members)
            places = (*reach, own[number]) if number in own else reach
            members.append(tuple(notes[note, place] for place in places if (note, place) in notes))
    none = np.array([1.0, 1.0, 1.0])
    leaks = settings.leaks
    compound_leak = np.tile(none, (len(compounds), 1))
    scattered, throughout = leaks.compound_scattered, leaks.compound_throughout
    compound_leak[[node for (_, place), node in compounds.items() if place == first]] = np.cumsum(
        [1 - scattered - throughout, scattered, throughout]
    )
    raised: dict[str, tuple[tuple[int, float], ...]] = {}
    stages = sum(len(sites) for sites in chain.segments)
    by_own = {place: _own(chain.events[number], base) for number, place in own.items()}
    note_leaks = []
    for (name, place), node in notes.items():
        if place in by_own:
            note_leaks.append(by_own[place])
        else:
            share = len(chain.segments[place]) / stages
            note_leaks.append(leak_of(base, name, 0.0, share))
            raised[name] = (*raised.get(name, ()), (node, share))
    note_leak = np.cumsum(np.array(note_leaks).reshape(-1, 3), axis=1)
    prior = np.array([[plan.prior[name][end] for name, _ in faults] for end in range(3)])
    law = np.array(laws).transpose(1, 0, 2) if laws else np.zeros((3, 0, 3))
    structure = Structure(
        tuple(f"{name}@{place}" for name, place in faults),
        tuple(f"{name}@{place}" for name, place in compounds),
        tuple(f"{name}@{place}" for name, place in notes),
        tuple(members),
        tuple(fault_links),
        tuple(note_links),
    )
    numbers = Numbers(
        prior[1][None],
        law[1][None],
        compound_leak[None],
        np.cumsum(np.array(note_laws).reshape(1, -1, 3, 3), axis=-1),
        note_leak[None],
        np.zeros((1, 0)),
        np.zeros((1, 0)),
        np.zeros((1, 0, 3)),
        np.zeros((1, 0)),
        np.zeros((1, 0, 3)),
    )
    return Whole(
        Network(structure, numbers),
        _places(faults, chain),
        {name: _all(name, compounds) for name in plan.evokes},
        heard,
        raised,
        prior,
        law,
        plan.evokes,
    )


def _places(faults: Sequence[tuple[str, int]], chain: Chain) -> dict[str, tuple[int, ...]]:
    found: dict[str, list[tuple[bool, int]]] = {}
    for node, (name, place) in enumerate(faults):
        away = not any(bench in (LOT, chain.bench) for _, bench, _ in chain.segments[place])
        found.setdefault(name, []).append((away, node))
    return {name: tuple(node for _, node in sorted(places)) for name, places in found.items()}


def _all(name: str, nodes: Mapping[tuple[str, int], int]) -> tuple[int, ...]:
    return tuple(node for (other, _), node in nodes.items() if other == name)


def _own(event: Event, base: KnowledgeBase) -> Array:
    """Law of the chance that another coffee shows a note by itself."""
    chain = base.settings.chain
    kind = event.name if event.kind == "comparison" else event.kind
    chance = (chain.shares[kind].own if kind in chain.shares else None) or chain.own
    return np.array([1 - chance.scattered - chance.throughout, chance.scattered, chance.throughout])


def leak_of(base: KnowledgeBase, descriptor: str, normal: float, share: float = 1.0) -> Array:
    """Law of a note's leak: the default, the note's own, and what is normal for the coffee, combined.

    P(no leak) is the product of P(no leak) of each; a leak of its own is as often scattered as throughout,
    one normal for the coffee is throughout. A segment has its `share` of the first two: what is not known may have happened anywhere.
    """
    leaks = base.settings.leaks
    own = base.descriptors[descriptor].leak
    scattered, throughout = leaks.note_scattered, leaks.note_throughout
    if own is not None:
        scattered = throughout = link_range(own, base.settings)[1] / 2
    scattered, throughout = scattered * share, throughout * share
    throughout = 1 - (1 - throughout) * (1 - normal)
    scattered = min(scattered, 1 - throughout)
    return np.array([1 - scattered - throughout, scattered, throughout])


def for_lot(
    base: KnowledgeBase,
    whole: Whole,
    found: Iterable[Finding],
    ratios: Mapping[str, Combined],
    signs: Sequence[Sign] = (),
) -> Network:
    """The network of one lot: prior odds times the ratios of its circumstances, its signs, and leaks of notes normal for it raised."""
    structure, numbers = whole.network.structure, whole.network.numbers
    ratio = np.ones(len(structure.faults))
    for name, combined in ratios.items():
        ratio[whole.main(name)] = combined.before.best
    numbers = replace(numbers, prior=odds_times(numbers.prior, ratio))
    normal = expected(found, base.settings)
    if normal:
        leak = np.array(numbers.note_leak)
        for name, chance in normal.items():
            for place, (node, share) in enumerate(whole.leaks.get(name, ())):
                normal_here = chance.best if place == 0 else 0.0
                leak[0, node] = np.cumsum(leak_of(base, name, normal_here, share))
        numbers = replace(numbers, note_leak=leak)
    if not signs:
        return whole.network.with_numbers(numbers)
    places = [
        (number, whole.main(fault), strength.best)
        for number, sign in enumerate(signs)
        for fault, strength in sign.strengths
    ]
    structure = structure.with_more(
        signs=tuple(sign.name for sign in signs),
        sign_faults=tuple((number, fault) for number, fault, _ in places),
    )
    numbers = replace(
        numbers,
        sign_leak=np.array([[sign.leak.best for sign in signs]]),
        sign_fault=np.array([[strength for _, _, strength in places]]),
    )
    return whole.network.grown(structure, numbers)


def by_stage(base: KnowledgeBase, whole: Whole, ratios: Mapping[str, float]) -> Array:
    """A ratio of each stage as one of each of its faults, shape (F,)."""
    found = np.ones(len(whole.network.structure.faults))
    for stage, ratio in ratios.items():
        for name in base.faults_of(stage):
            found[list(whole.fault[name])] = ratio
    return found


def odds_times(prior: Array, ratio: Array) -> Array:
    """Prior probabilities with their odds multiplied by likelihood ratios.

    >>> odds_times(np.array([0.5]), np.array([3.0]))
    array([0.75])
    """
    odds = prior / (1 - prior) * ratio
    return np.asarray(odds / (1 + odds))
