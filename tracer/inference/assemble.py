"""The knowledge base laid out as a network, and one lot's evidence on it.

Nodes are indexed in the order of the knowledge base. Only group nodes of compounds appear; a note is
'the note as reported', so a compound also leads, more weakly, to notes its own are confused with.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.causes.graph import note_steps
from tracer.findings.finding import Finding
from tracer.findings.weigh import Combined, expected
from tracer.inference.network import FaultLink, Network, NoteLink
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Compound
from tracer.knowledge.scale import link as link_range
from tracer.knowledge.scale import prior as prior_range

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Layout:
    """The shipped network with its indices, and the low and high ends of a fault's own numbers."""

    network: Network
    """Priors are those before any history."""
    fault: dict[str, int]
    compound: dict[str, int]
    descriptor: dict[str, int]
    prior_low: Array
    prior_high: Array
    law_low: tuple[Array, ...]
    law_high: tuple[Array, ...]


def layout(base: KnowledgeBase, confusions: Mapping[tuple[str, str], float] | None = None) -> Layout:
    """Lay out the whole knowledge base; done once for each base.

    `confusions` are measured chances that a note (first) is called by another's name (second); they stand in for the
    default of notes that are known to be confused.
    """
    nodes = [compound for compound in base.compounds.values() if not compound.part_of]
    fault = {name: index for index, name in enumerate(base.faults)}
    compound = {entry.id: index for index, entry in enumerate(nodes)}
    descriptor = {name: index for index, name in enumerate(base.descriptors)}
    priors = np.array([prior_range(entry.prior, base.settings) for entry in base.faults.values()])
    fault_links, low, high = [], [], []
    for entry in base.faults.values():
        for item in entry.causes:
            ends = link_range(item.strength, base.settings)
            share = base.settings.spreads.throughout[item.spread]
            laws = [np.array([1 - w, w * (1 - share), w * share]) for w in ends]
            fault_links.append(FaultLink(fault[entry.id], compound[item.compound], laws[1]))
            low.append(laws[0])
            high.append(laws[2])
    leaks = base.settings.leaks
    scattered, throughout = leaks.compound_scattered, leaks.compound_throughout
    network = Network(
        faults=tuple(fault),
        compounds=tuple(compound),
        descriptors=tuple(descriptor),
        prior=priors[:, 1],
        compound_leak=np.tile([1 - scattered - throughout, scattered, throughout], (len(nodes), 1)),
        descriptor_leak=np.array([_leak(base, name, 0.0) for name in base.descriptors]),
        fault_links=tuple(fault_links),
        note_links=tuple(_note_links(base, nodes, compound, descriptor, confusions or {})),
    )
    # Worked out here once, so that the networks of all lots share them.
    _ = (
        network.fault_cumulative,
        network.fault_of_link,
        network.note_cumulative,
        network.compound_leak_cumulative,
    )
    _ = network.descriptor_leak_cumulative, network.links_of_compound, network.links_of_descriptor
    return Layout(network, fault, compound, descriptor, priors[:, 0], priors[:, 2], tuple(low), tuple(high))


def _leak(base: KnowledgeBase, descriptor: str, expected: float) -> Array:
    """Law of a note's leak: the default, the note's own, and what is normal for the coffee, combined.

    P(no leak) is the product of P(no leak) of each; a leak of its own is as often scattered as throughout,
    one normal for the coffee is throughout.
    """
    leaks = base.settings.leaks
    own = base.descriptors[descriptor].leak
    scattered, throughout = leaks.note_scattered, leaks.note_throughout
    if own is not None:
        scattered = throughout = link_range(own, base.settings)[1] / 2
    throughout = 1 - (1 - throughout) * (1 - expected)
    scattered = min(scattered, 1 - throughout)
    return np.array([1 - scattered - throughout, scattered, throughout])


def _note_links(
    base: KnowledgeBase,
    nodes: Iterable[Compound],
    compound: Mapping[str, int],
    descriptor: Mapping[str, int],
    confusions: Mapping[tuple[str, str], float],
) -> Iterable[NoteLink]:
    usual = base.settings.tasters.confusion.best
    for entry in nodes:
        for note, steps in note_steps(base, entry.id).items():
            silent = 1.0
            for step in steps:
                strength = link_range(step.strength, base.settings)[1] if step.strength else 0.0
                confused = confusions.get((step.cause, note), usual) if step.confusion else 1.0
                silent *= 1 - strength * confused
            heard = 1 - silent
            law = np.array([[1.0, 0.0, 0.0], [silent, heard, 0.0], [silent, 0.0, heard]])
            yield NoteLink(compound[entry.id], descriptor[note], law)


def for_lot(
    base: KnowledgeBase, plan: Layout, found: Iterable[Finding], ratios: Mapping[str, Combined]
) -> Network:
    """The network of one lot: prior odds times the ratios of its findings, and leaks of notes normal for it raised."""
    ratio = np.array([ratios[fault].ratio.best if fault in ratios else 1.0 for fault in plan.fault])
    network = plan.network.same_structure(odds_times(plan.network.prior, ratio))
    normal = expected(found, base.settings)
    if not normal:
        return network
    leak = np.array(network.descriptor_leak)
    for name, chance in normal.items():
        leak[plan.descriptor[name]] = _leak(base, name, chance.best)
    return network.with_leaks(leak)


def odds_times(prior: Array, ratio: Array) -> Array:
    """Prior probabilities with their odds multiplied by likelihood ratios.

    >>> odds_times(np.array([0.5]), np.array([3.0]))
    array([0.75])
    """
    odds = prior / (1 - prior) * ratio
    return np.asarray(odds / (1 + odds))
