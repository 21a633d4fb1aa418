"""Lots drawn from the knowledge itself: faults, compounds, notes, tasters with their noise, and answers to questions.

The draw follows the model of `tracer.inference` step by step but shares no code of its computation: a fault comes by its
prior, each link of a noisy-MAX is drawn by itself, and a true source is a fault from which a drawn path runs to a note
that somebody reported. So the share of true sources among those given probability p must be p (calibration in the
large sense of Dawid 1982, J. Am. Stat. Assoc. 77:605-610; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.inference.three_layers import FaultLink, Network, NoteLink, of_knowledge
from tracer.enquiry.effects import effects
from tracer.inference.assemble import Layout
from tracer.inference.chain import one_table
from tracer.issues import Place
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Cupping, Lot, Note, Tasting

HERE = Place("simulated")


@dataclass(frozen=True)
class Drawn:
    """A simulated lot, and which faults are true sources of what was reported."""

    lot: Lot
    sources: frozenset[str]
    faults: frozenset[str]


def words_of(base: KnowledgeBase) -> dict[str, str]:
    """A plain word for every note that means that note alone."""
    from tracer.tracing import prepare
    from tracer.words.reading import read_words

    vocabulary = prepare(base).vocabulary
    found = {}
    for name, entry in base.descriptors.items():
        for word in (*entry.words.get("en", ()), *(w for ws in entry.words.values() for w in ws)):
            readings = read_words(word, vocabulary)
            if [(r.descriptor, r.state, r.intensity) for r in readings] == [(name, "present", "unstated")]:
                found[name] = word
                break
    return found


def perturbed(plan: Layout, generator: np.random.Generator) -> Network:
    """The network with every prior and link drawn anew between its low and high end (triangular, the best as mode)."""
    whole = plan.of(one_table(plan.base))
    network = of_knowledge(whole)
    prior = _between(generator, whole.prior[0], network.prior, whole.prior[2])
    links = []
    for index, link in enumerate(network.fault_links):
        low, high = whole.law[0, index], whole.law[2, index]
        best = 1 - link.law[0]
        strength = float(_between(generator, 1 - low[0], best, 1 - high[0]))
        scale = strength / best if best > 0 else 0.0
        links.append(
            FaultLink(
                link.fault, link.compound, np.array([1 - strength, link.law[1] * scale, link.law[2] * scale])
            )
        )
    notes = []
    for link in network.note_links:
        heard = 1 - link.law[2][0]
        drawn = float(_between(generator, heard * 0.6, heard, min(1.0, heard * 1.3)))
        law = np.array([[1.0, 0.0, 0.0], [1 - drawn, drawn, 0.0], [1 - drawn, 0.0, drawn]])
        notes.append(NoteLink(link.compound, link.descriptor, law))
    return replace(network, prior=prior, fault_links=tuple(links), note_links=tuple(notes))


def _between(generator, low, best, high):
    low, high = np.minimum(low, best), np.maximum(high, best)
    wide = high > low
    return np.where(wide, generator.triangular(low, best, np.where(wide, high, high + 1e-9)), best)


def draw(
    base: KnowledgeBase,
    network: Network,
    words: dict[str, str],
    generator: np.random.Generator,
    name: str,
    whole_list: bool,
    answers: int,
) -> Drawn:
    """One lot: tasters either worked down the whole list, or named what they found and no more."""
    on = generator.random(len(network.faults)) < network.prior
    made = [generator.choice(3, p=_law(leak)) for leak in network.compound_leak]
    carried: dict[int, set[int]] = {}
    for link in network.fault_links:
        if on[link.fault] and (state := generator.choice(3, p=_law(link.law))):
            made[link.compound] = max(made[link.compound], state)
            carried.setdefault(link.compound, set()).add(link.fault)
    notes = [generator.choice(3, p=_law(leak)) for leak in network.descriptor_leak]
    reached: dict[int, set[int]] = {}
    for link in network.note_links:
        if made[link.compound] and (state := generator.choice(3, p=_law(link.law[made[link.compound]]))):
            notes[link.descriptor] = max(notes[link.descriptor], state)
            reached.setdefault(link.descriptor, set()).update(carried.get(link.compound, ()))
    tastings, reported = _tasted(base, network, words, generator, notes, whole_list)
    sources = {network.faults[f] for d in reported for f in reached.get(d, ())}
    there = {network.compounds[c] for c, state in enumerate(made) if state}
    faults = frozenset(network.faults[f] for f in np.flatnonzero(on))
    cupping = Cupping(None, "warehouse", None, 5, tastings, None, HERE)
    given = _answered(base, generator, faults, there, answers) if reported else ()
    lot = Lot(name, None, None, (), None, None, (cupping,), (), (), given, None, "simulated")
    return Drawn(lot, frozenset(sources), faults)


def _law(law) -> np.ndarray:
    return np.asarray(law) / np.sum(law)


def _tasted(base, network, words, generator, notes, whole_list) -> tuple[tuple[Tasting, ...], set[int]]:
    """Two or three tasters of five cups each; hit and false-alarm rates of a taster and note by their Beta laws."""
    law, cups = base.settings.tasters, base.settings.cups
    shares = [
        0.0 if not state else _share(generator, (cups.scattered, cups.throughout)[state - 1])
        for state in notes
    ]
    tastings, reported = [], set()
    for number in range(generator.integers(2, 4)):
        named = []
        for index, share in enumerate(shares):
            word = words.get(network.descriptors[index])
            if word is None:
                continue
            rare = law.striking and network.descriptors[index] in law.striking.notes
            false = law.striking.false_alarm if law.striking and rare else law.false_alarm
            hit, alarm = generator.beta(law.hit.a, law.hit.b), generator.beta(false.a, false.b)
            blind = generator.random() < law.cannot_smell
            count = generator.binomial(5, alarm if blind else share * hit + (1 - share) * alarm)
            if count:
                named.append(Note(word, int(count), 5, None, None, HERE))
                reported.add(index)
        tastings.append(Tasting(f"t{number}", None, 5, tuple(named), (), whole_list, HERE))
    return tuple(tastings), reported


def _share(generator, mixture) -> float:
    weights = np.array([one.share for one in mixture])
    part = mixture[generator.choice(len(mixture), p=weights / weights.sum())]
    return generator.beta(part.a, part.b)


def _answered(base, generator, faults, there, most) -> tuple[tuple[str, str], ...]:
    """Answers to some questions, drawn from what the knowledge says of the faults and compounds that are at work."""
    chosen = generator.choice(list(base.enquiries), size=most, replace=False) if most else ()
    given = []
    for name in chosen:
        lines = effects(base, base.enquiries[name])
        weights = []
        for line in lines:
            weight = 0.0
            for term in line.terms:
                part = term.weight
                for fault, factor in term.faults:
                    part *= factor if fault in faults else 1.0
                for compound, factor in term.compounds:
                    part *= factor if compound in there else 1.0
                weight += part
            weights.append(weight)
        given.append((str(name), lines[generator.choice(len(lines), p=_law(weights))].answer))
    return tuple(given)
