"""Smells of the green: any-of signs over what taints the lot before its roast.

A foul smell of the green and the note in the cup come from the same compounds, so that neither counts twice:
    P(no smell) = (1 - q) prod over compounds of the lot (1 - reach P(note | state of the compound)).
A sheet that says a smell is not there counts against those compounds. What the roaster or the cupping room adds is not in the green.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from tracer.inference.assemble import Whole
from tracer.inference.chain import LOT, Chain
from tracer.inference.network import Network
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot


@dataclass(frozen=True, slots=True)
class Smell:
    """A smell of the green as the sheet has it."""

    record: str
    label: str
    notes: tuple[str, ...]
    found: bool


def smells(base: KnowledgeBase, lot: Lot) -> tuple[Smell, ...]:
    """What the sheet says of smells of the green; a green that smells of nothing wrong has none of those not named."""
    said: dict[str, Smell] = {}
    clean = False
    for value in lot.records:
        record = base.records.get(value.record)
        if record is None or value.value not in ("yes", "no", True, False):
            continue
        found = value.value in ("yes", True)
        if record.smells_of:
            said[record.id] = Smell(record.id, record.label, record.smells_of, found)
        clean = clean or (record.smells_of_nothing and found)
    if clean:
        for record in base.records.values():
            if record.smells_of:
                said.setdefault(record.id, Smell(record.id, record.label, record.smells_of, False))
    return tuple(said.values())


def with_smells(
    base: KnowledgeBase, whole: Whole, chain: Chain, network: Network, said: Iterable[Smell]
) -> tuple[Network, Mapping[int, Smell]]:
    """The network with a sign for each smell, and which sign is which."""
    law = base.settings.green_smells
    structure, numbers = network.structure, network.numbers
    reached = chain.reach[0] if chain.reach else range(len(chain.segments))
    green = {place for place in reached if any(bench == LOT for _, bench, _ in chain.segments[place])}
    causes: list[tuple[int, int]] = []
    chances_of: list[np.ndarray] = []
    signs: dict[int, Smell] = {}
    for smell in said:
        strongest: dict[int, np.ndarray] = {}
        for name, notes in whole.evokes.items():
            chances = [law.reach * (1 - given[:, 0]) for note, given in notes if note in smell.notes]
            for node in whole.compound[name] if chances else ():
                if int(structure.compounds[node].partition("@")[2]) in green:
                    strongest[node] = np.maximum.reduce(chances)
        if strongest:
            number = len(structure.signs) + len(signs)
            signs[number] = smell
            causes += [(number, compound) for compound in strongest]
            chances_of += list(strongest.values())
    if not signs:
        return network, signs
    structure = structure.with_more(
        signs=(*structure.signs, *(smell.record for smell in signs.values())),
        sign_compounds=(*structure.sign_compounds, *causes),
    )
    leaks = np.full((1, len(signs)), law.leak)
    numbers = replace(
        numbers,
        sign_leak=np.concatenate([numbers.sign_leak, leaks], axis=1),
        sign_compound=np.concatenate([numbers.sign_compound, np.array(chances_of)[None]], axis=1),
    )
    return network.grown(structure, numbers), signs
