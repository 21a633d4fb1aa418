"""What every answer of an enquiry would do to the probability of each set of faults, all in one computation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.enquiry.effects import Effect
from tracer.findings.answers import Term
from tracer.inference.assemble import Whole
from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.rows import Rows, evaluate
from tracer.inference.sources import membership
from tracer.knowledge.base import KnowledgeBase

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Targets:
    """Sets of faults whose live paths the answers are about: the stages, then every fault of interest."""

    stages: tuple[str, ...]
    faults: tuple[str, ...]
    names: tuple[frozenset[str], ...]
    sets: tuple[frozenset[int], ...]
    """The same as places in the network."""


def targets(base: KnowledgeBase, whole: Whole, faults: tuple[str, ...]) -> Targets:
    """The stages, everything (its complement is none of these), and single faults to name in an answer."""
    stages = tuple(base.stages)
    names = [frozenset(base.faults_of(stage)) for stage in stages]
    names += [frozenset(whole.fault), *(frozenset({fault}) for fault in faults)]
    sets = [frozenset(p for name in some for p in whole.fault[name]) for some in names]
    return Targets(stages, faults, tuple(names), tuple(sets))


def values(
    whole: Whole, network: Network, evidence: Evidence, traced: Traced, aim: Targets, every: list[Effect]
) -> tuple[Array, Array]:
    """P(answer, e) and P(answer, no live path from each target, e), shapes (A,) and (A, targets)."""
    terms = list(dict.fromkeys(_key(term) for effect in every for term in effect.terms))
    place = {key: number for number, key in enumerate(terms)}
    chosen = membership(network.structure, [frozenset(), *aim.sets])
    made = np.empty((len(terms), len(chosen)))
    groups: dict[tuple[str, ...], list[int]] = {}
    for number, (_, compounds) in enumerate(terms):
        groups.setdefault(tuple(sorted(name for name, _ in compounds)), []).append(number)
    for names, members in groups.items():
        on = np.ones((len(members), len(network.structure.faults)))
        factors = {
            node: np.ones((len(members) * len(chosen), network.numbers.states))
            for name in names
            for node in whole.compound[name]
        }
        for row, number in enumerate(members):
            faults, compounds = terms[number]
            for fault, factor in faults:
                on[row, whole.main(fault)] *= factor
            for name, factor in compounds:
                # A sign of the compound in several segments is looked for in each: seen where it is in any.
                for node in whole.compound[name]:
                    factors[node][row * len(chosen) : (row + 1) * len(chosen), 1:] *= factor
        wider = evidence.and_compounds(factors) if factors else evidence
        rows = Rows(np.repeat(on, len(chosen), axis=0), np.tile(chosen, (len(on), 1)))
        made[members] = evaluate(network, wider, rows, traced).reshape(len(members), len(chosen))
    values = np.array(
        [
            sum((term.weight * made[place[_key(term)]] for term in effect.terms), np.zeros(len(chosen)))
            for effect in every
        ]
    )
    values = np.maximum(values, 1e-300)
    return values[:, 0], values[:, 1:]


Key = tuple[tuple[tuple[str, float], ...], tuple[tuple[str, float], ...]]


def _key(term: Term) -> Key:
    return term.faults, term.compounds
