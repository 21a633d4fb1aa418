"""What of a network matters for given evidence, and the tables of its factorisation.

Each compound gets an auxiliary k in 0..S-1 with
    P(C = c | F) = sum_k D(c, k) L(k) prod_i Q_i(k | F_i),   D(c, k) = 1 if k = c, -1 if k = c - 1, else 0,
and an observed descriptor is summed out by parts,
    sum_y lam(y) P(D = y | C) = sum_y w(y) L(y) prod_j Q_j(y | C_j),   w(y) = lam(y) - lam(y + 1),
so each needs an auxiliary e over its terms with w(y) not 0 (Takikawa and D'Ambrosio 1999; Diez and Galan
2003). Compounds are then summed out on the spot, giving one table over k and the e of its notes.

For source probabilities the auxiliary k carries a switch b as well: b = 0 weighs what is alive less what is
dead, with the contributions of the chosen faults held at zero; b = 1 weighs the dead: the same compound
with its contributions to the reported notes held at zero. At k = 0 both are the same, and are merged.
Barren nodes are left out: they change nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.inference.elimination import Plan, Scope, make_plan
from tracer.inference.network import Evidence, Network

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Skeleton:
    """Structure for one set of observed nodes; values are filled in by `tables`."""

    terms: Mapping[int, tuple[int, ...]]
    """Observed descriptor -> the states y with w(y) not 0."""
    compounds: tuple[int, ...]
    notes_of: tuple[tuple[int, ...], ...]
    """For each relevant compound, its links to observed descriptors."""
    leaves: tuple[tuple[int, ...], ...]
    """For each relevant compound, fault links of faults with no other relevant compound."""
    branching: tuple[tuple[int, tuple[int, ...]], ...]
    """(fault, its links in the order of their compounds) for faults with several relevant compounds."""
    auxiliary: Mapping[int, int]
    """Observed descriptor -> variable of its auxiliary, where it has more than one term."""
    scopes: tuple[Scope, ...]
    plan: Plan
    levels: tuple[int, ...]
    """State y of k, for each state of the auxiliary of a compound."""
    switched: tuple[bool, ...]
    """Whether b = 0, for each state of the auxiliary of a compound."""


def skeleton(network: Network, evidence: Evidence, switches: bool) -> Skeleton:
    """Skeleton for this evidence, kept on the network by structure."""
    terms = {}
    for descriptor, likelihood in sorted(evidence.descriptors.items()):
        weights = _weights(likelihood)
        found = tuple(int(y) for y in np.nonzero(weights)[0])
        if found != (network.states - 1,):
            terms[descriptor] = found
    key = (tuple(terms.items()), tuple(sorted(evidence.compounds)), switches)
    kept: dict[object, Skeleton] = network.__dict__.setdefault("_skeletons", {})
    if key not in kept:
        kept[key] = _build(network, terms, evidence, switches)
    return kept[key]


def _weights(likelihood: Array) -> Array:
    return np.asarray(likelihood - np.append(likelihood[1:], 0.0))


def _build(
    network: Network, terms: dict[int, tuple[int, ...]], evidence: Evidence, switches: bool
) -> Skeleton:
    states = network.states
    notes: dict[int, list[int]] = {compound: [] for compound in evidence.compounds}
    for descriptor in terms:
        for link in network.links_of_descriptor[descriptor]:
            notes.setdefault(network.note_links[link].compound, []).append(link)
    compounds = tuple(sorted(notes))
    links_of_fault: dict[int, list[int]] = {}
    for compound in compounds:
        for link in network.links_of_compound[compound]:
            links_of_fault.setdefault(network.fault_links[link].fault, []).append(link)
    branching = tuple(
        (fault, tuple(sorted(links, key=lambda link: network.fault_links[link].compound)))
        for fault, links in sorted(links_of_fault.items())
        if len(links) > 1
    )
    alone = {links[0] for links in links_of_fault.values() if len(links) == 1}
    leaves = tuple(tuple(link for link in network.links_of_compound[c] if link in alone) for c in compounds)
    auxiliary = {descriptor: index for index, descriptor in enumerate(d for d in terms if len(terms[d]) > 1)}
    variable = {compound: len(auxiliary) + index for index, compound in enumerate(compounds)}
    levels = (0, *range(1, states), *(range(1, states) if switches else ()))
    switched = (*(False,) * states, *((True,) * (states - 1) if switches else ()))
    sizes = {index: len(terms[d]) for d, index in auxiliary.items()} | dict.fromkeys(
        variable.values(), len(levels)
    )
    scopes: list[Scope] = []
    for compound in compounds:
        around = [
            auxiliary[network.note_links[n].descriptor]
            for n in notes[compound]
            if network.note_links[n].descriptor in auxiliary
        ]
        scopes.append((*sorted(around), variable[compound]))
    scopes += [(variable[compound],) for compound in compounds]
    scopes += [
        tuple(sorted(variable[network.fault_links[link].compound] for link in links))
        for _, links in branching
    ]
    scopes += [(index,) for index in auxiliary.values()]
    plan = make_plan(scopes, sizes)
    ordered = tuple(tuple(notes[compound]) for compound in compounds)
    return Skeleton(
        terms, compounds, ordered, leaves, branching, auxiliary, tuple(scopes), plan, levels, switched
    )


def compound_tables(
    network: Network, evidence: Evidence, reported: frozenset[int], bones: Skeleton
) -> list[Array]:
    """The table of every relevant compound over (e of its notes, sorted; its own auxiliary)."""
    return [
        compound_table(network, evidence.compounds.get(compound), reported, bones, position)
        for position, compound in enumerate(bones.compounds)
    ]


def compound_table(
    network: Network, likelihood: Array | None, reported: frozenset[int], bones: Skeleton, position: int
) -> Array:
    """One compound summed out: M(e.., k) = L(k) sum_c D(c, k) lam(c) prod_d Q_d(e_d | c); batch axis of 1."""
    alive = inner(network, bones, position, frozenset())
    compound = bones.compounds[position]
    leak = network.compound_leak_cumulative[compound]
    weight = np.ones(network.states) if likelihood is None else likelihood
    table = _differences(alive * weight) * leak
    if len(bones.levels) > network.states:
        dead = _differences(inner(network, bones, position, reported) * weight) * leak
        off = np.concatenate([table[..., :1], (table - dead)[..., 1:]], axis=-1)
        table = _arrange(off, dead)
    return np.asarray(table[None])


def _arrange(off: Array, dead: Array) -> Array:
    # States of the auxiliary: (0, merged), then b = 1 for k = 1.., then b = 0 for k = 1..
    return np.concatenate([off[..., :1], dead[..., 1:], off[..., 1:]], axis=-1)


def inner(network: Network, bones: Skeleton, position: int, dead: frozenset[int]) -> Array:
    """prod over notes of Q(e | c), axes (e.. sorted by variable, c)."""
    notes = bones.notes_of[position]
    with_axis = sorted(
        (bones.auxiliary[network.note_links[n].descriptor], n)
        for n in notes
        if network.note_links[n].descriptor in bones.auxiliary
    )
    result = np.ones([1] * len(with_axis) + [network.states])
    for axis, (_, note) in enumerate(with_axis):
        descriptor = network.note_links[note].descriptor
        cumulative = network.note_cumulative[note]
        levels = [0] * len(bones.terms[descriptor]) if descriptor in dead else list(bones.terms[descriptor])
        shape = [1] * (len(with_axis) + 1)
        shape[axis], shape[-1] = len(levels), network.states
        result = result * cumulative[:, levels].T.reshape(shape)
    for note in notes:
        descriptor = network.note_links[note].descriptor
        if descriptor not in bones.auxiliary:
            level = 0 if descriptor in dead else bones.terms[descriptor][0]
            result = result * network.note_cumulative[note][:, level]
    return result


def _differences(over_states: Array) -> Array:
    """sum_c D(c, k) f(c) = f(k) - f(k + 1), with f(S) = 0, along the last axis."""
    return np.asarray(
        over_states - np.concatenate([over_states[..., 1:], np.zeros_like(over_states[..., :1])], axis=-1)
    )


def note_tables(network: Network, evidence: Evidence, bones: Skeleton) -> tuple[list[Array], float]:
    """w(y) L(y) of every observed descriptor with an auxiliary, and the product of those without."""
    tables, constant = [], 1.0
    for descriptor, terms in bones.terms.items():
        value = _weights(evidence.descriptors[descriptor]) * network.descriptor_leak_cumulative[descriptor]
        if descriptor in bones.auxiliary:
            tables.append(value[list(terms)][None])
        else:
            constant *= float(value[terms[0]])
    return tables, constant
