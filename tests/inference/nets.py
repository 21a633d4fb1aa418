"""Small networks: worked ones with exact values, random ones, and enumeration of link states."""

from __future__ import annotations

from itertools import product

import numpy as np

from tests.inference.three_layers import Evidence, FaultLink, Network, NoteLink


def binary(priors, compound_leaks, descriptor_leaks, fault_links, note_links) -> Network:
    """A two-state network from net parameters: weights of noisy-OR links."""
    return Network(
        tuple(f"F{i + 1}" for i in range(len(priors))),
        tuple(f"C{i + 1}" for i in range(len(compound_leaks))),
        tuple(f"D{i + 1}" for i in range(len(descriptor_leaks))),
        np.array(priors),
        np.array([[1 - x, x] for x in compound_leaks]),
        np.array([[1 - x, x] for x in descriptor_leaks]),
        tuple(FaultLink(f, c, np.array([1 - w, w])) for f, c, w in fault_links),
        tuple(NoteLink(c, d, np.array([[1, 0], [1 - w, w]])) for c, d, w in note_links),
    )


NET_A = binary([0.1, 0.05], [0.02], [0.01], [(0, 0, 0.8), (1, 0, 0.6)], [(0, 0, 0.7)])
NET_B = binary(
    [0.10, 0.05, 0.02],
    [0.02, 0.01],
    [0.03, 0.02, 0.05],
    [(0, 0, 0.8), (1, 0, 0.5), (1, 1, 0.7), (2, 1, 0.9)],
    [(0, 0, 0.75), (0, 1, 0.3), (1, 1, 0.6), (1, 2, 0.8)],
)
NET_T = Network(
    ("F1", "F2"),
    ("C",),
    ("D1", "D2"),
    np.array([0.2, 0.1]),
    np.array([[0.95, 0.04, 0.01]]),
    np.array([[0.97, 0.02, 0.01], [0.98, 0.01, 0.01]]),
    (FaultLink(0, 0, np.array([0.3, 0.5, 0.2])), FaultLink(1, 0, np.array([0.5, 0.2, 0.3]))),
    (
        NoteLink(0, 0, np.array([[1, 0, 0], [0.4, 0.5, 0.1], [0.1, 0.4, 0.5]])),
        NoteLink(0, 1, np.array([[1, 0, 0], [0.7, 0.2, 0.1], [0.3, 0.4, 0.3]])),
    ),
)


def hard(network: Network, states: dict[int, int]) -> Evidence:
    """Evidence that fixes descriptors to states."""
    return Evidence({d: np.eye(network.states)[state] for d, state in states.items()})


def random_network(
    rng: np.random.Generator, states: int, faults: int, compounds: int, descriptors: int, links: int = 3
) -> Network:
    """A random network; every compound and descriptor has one to `links` parents."""

    def law(size: int) -> np.ndarray:
        value = rng.dirichlet(np.ones(size))
        return value

    def leak(size: int) -> np.ndarray:
        rest = rng.uniform(0.005, 0.05, size - 1)
        return np.concatenate([[1 - rest.sum()], rest])

    def rows() -> np.ndarray:
        table = np.zeros((states, states))
        table[0, 0] = 1
        cumulative = np.sort(rng.uniform(0, 1, (states - 1, states - 1)), axis=0)[::-1]
        for c in range(1, states):
            steps = np.append(np.maximum.accumulate(cumulative[c - 1]), 1.0)
            table[c] = np.diff(steps, prepend=0.0)
        for c in range(2, states):
            above = np.minimum(np.cumsum(table[c]), np.cumsum(table[c - 1]))
            table[c] = np.diff(above, prepend=0.0)
        return table

    fault_links = [
        FaultLink(int(f), c, law(states))
        for c in range(compounds)
        for f in rng.choice(faults, size=min(faults, int(rng.integers(1, links + 1))), replace=False)
    ]
    note_links = [
        NoteLink(int(c), d, rows())
        for d in range(descriptors)
        for c in rng.choice(compounds, size=min(compounds, int(rng.integers(1, links + 1))), replace=False)
    ]
    return Network(
        tuple(f"F{i}" for i in range(faults)),
        tuple(f"C{i}" for i in range(compounds)),
        tuple(f"D{i}" for i in range(descriptors)),
        rng.uniform(0.02, 0.4, faults),
        np.array([leak(states) for _ in range(compounds)]),
        np.array([leak(states) for _ in range(descriptors)]),
        tuple(fault_links),
        tuple(note_links),
    )


def random_evidence(
    rng: np.random.Generator, network: Network, observed: int
) -> tuple[Evidence, frozenset[int]]:
    """Soft evidence on some descriptors, now and then a surely absent one or a tested compound."""
    chosen = rng.choice(len(network.descriptors), size=min(observed, len(network.descriptors)), replace=False)
    vectors, reported = {}, set()
    for d in chosen:
        kind = rng.integers(0, 4)
        if kind == 0:
            vectors[int(d)] = np.eye(network.states)[0]
        else:
            vectors[int(d)] = rng.uniform(0.05, 1.0, network.states)
            if kind > 1:
                reported.add(int(d))
    compounds = {}
    if rng.random() < 0.4:
        compounds[int(rng.integers(0, len(network.compounds)))] = rng.uniform(0.05, 1.0, network.states)
    return Evidence(vectors, compounds), frozenset(reported)


def enumerate_worlds(network: Network, evidence: Evidence, reported: frozenset[int], sets, on=None):
    """Every state of every fault, link contribution and leak, by brute force.

    Returns (P(e), P(fault on, e), P(compound = state, e), P(a live path from each set, e)).
    """
    size = network.states
    on = np.ones(len(network.faults)) if on is None else on
    total, fault = 0.0, np.zeros(len(network.faults))
    compound = np.zeros((len(network.compounds), size))
    live = np.zeros(len(sets))
    for faults in product((0, 1), repeat=len(network.faults)):
        p_faults = np.prod(
            [network.prior[i] * on[i] if x else 1 - network.prior[i] for i, x in enumerate(faults)]
        )
        active = [k for k, link in enumerate(network.fault_links) if faults[link.fault]]
        for given in product(range(size), repeat=len(active)):
            z = dict(zip(active, given, strict=True))
            p_z = np.prod([network.fault_links[k].law[v] for k, v in z.items()]) * p_faults
            if p_z == 0:
                continue
            for leaks in product(range(size), repeat=len(network.compounds)):
                p_c = p_z * np.prod([network.compound_leak[j][v] for j, v in enumerate(leaks)])
                states = [
                    max([leak, *(v for k, v in z.items() if network.fault_links[k].compound == j)])
                    for j, leak in enumerate(leaks)
                ]
                p_c *= np.prod([vector[states[j]] for j, vector in evidence.compounds.items()])
                weight, reached = _notes(network, evidence, reported, states)
                mass = p_c * weight
                total += mass
                fault += mass * np.array(faults)
                for j, state in enumerate(states):
                    compound[j, state] += mass
                for index, members in enumerate(sets):
                    touched = {
                        network.fault_links[k].compound
                        for k, v in z.items()
                        if v and network.fault_links[k].fault in members
                    }
                    live[index] += p_c * (weight - _dead(network, evidence, reported, states, touched))
                del reached
    return total, fault, compound, live


def _notes(network, evidence, reported, states):
    return _dead(network, evidence, reported, states, set()), None


def _dead(network, evidence, reported, states, cut) -> float:
    """P(evidence on notes, no contribution from `cut` compounds to reported notes | compound states), note by note
    over every contribution."""
    weight = 1.0
    for d, likelihood in evidence.descriptors.items():
        links = [k for k, link in enumerate(network.note_links) if link.descriptor == d]
        value = 0.0
        for leak in range(network.states):
            for given in product(range(network.states), repeat=len(links)):
                if d in reported and any(
                    v and network.note_links[k].compound in cut for k, v in zip(links, given, strict=True)
                ):
                    continue
                p = network.descriptor_leak[d][leak]
                for k, v in zip(links, given, strict=True):
                    p *= network.note_links[k].law[states[network.note_links[k].compound]][v]
                value += p * likelihood[max([leak, *given])]
        weight *= value
    return weight
