"""Random networks of the extended form with evidence, and the same written out for general engines."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from tests.inference.peers import Node, _gate, _max
from tracer.inference.network import Evidence, Network, Numbers, Structure, Traced

S = 3


def _laws(rng: np.random.Generator, count: int) -> np.ndarray:
    return np.cumsum(rng.dirichlet(np.ones(S), size=count), axis=-1).reshape(1, count, S)


def random_network(
    rng: np.random.Generator, segments: int = 3, faults: int = 6, compounds: int = 2, notes: int = 2
) -> Network:
    """Segments with faults, compounds and notes of their own; events that share them; signs and words above."""
    segment_of = [*range(segments), *rng.integers(0, segments, size=faults - segments)]
    in_segment = [(c, g) for g in range(segments) for c in range(compounds)]
    place = {pair: index for index, pair in enumerate(in_segment)}
    note_place = {
        (d, g): index for index, (d, g) in enumerate((d, g) for g in range(segments) for d in range(notes))
    }
    fault_links = [
        (f, place[c, segment_of[f]])
        for f in range(faults)
        for c in rng.permutation(compounds)[: rng.integers(1, compounds + 1)]
    ]
    note_links = [
        (place[c, g], note_place[d, g])
        for c, g in in_segment
        for d in rng.permutation(notes)[: rng.integers(1, notes + 1)]
    ]
    reaches = [sorted(rng.permutation(segments)[: rng.integers(1, segments + 1)]) for _ in range(2)]
    heard = [tuple(note_place[d, g] for g in reach) for reach in reaches for d in range(notes)]
    signs = 3
    sign_faults = [(s, int(f)) for s in range(signs) for f in rng.permutation(faults)[:2]]
    sign_compounds = [(0, int(rng.integers(len(in_segment))))]
    word_links = [(0, 0), (0, 1 % len(heard)), (1, len(heard) - 1)]
    structure = Structure(
        tuple(f"F{i}" for i in range(faults)),
        tuple(f"C{c}.{g}" for c, g in in_segment),
        tuple(f"M{d}.{g}" for d, g in note_place),
        tuple(heard),
        tuple((int(f), int(c)) for f, c in fault_links),
        tuple(note_links),
        tuple(f"S{i}" for i in range(signs)),
        tuple(sign_faults),
        tuple(sign_compounds),
        ("W0", "W1"),
        tuple(word_links),
    )
    note = np.zeros((1, len(note_links), S, S))
    for index in range(len(note_links)):
        strong, weak = np.sort(np.cumsum(rng.dirichlet(np.ones(S), size=2), axis=-1), axis=0)
        note[0, index] = [np.ones(S), weak, strong]
    numbers = Numbers(
        rng.uniform(0.02, 0.4, size=(1, faults)),
        _laws(rng, len(fault_links)),
        np.cumsum(np.tile([0.9, 0.06, 0.04], (1, len(in_segment), 1)), axis=-1),
        note,
        np.cumsum(np.tile([0.95, 0.03, 0.02], (1, len(note_place), 1)), axis=-1),
        rng.uniform(0.01, 0.2, size=(1, signs)),
        rng.uniform(0.1, 0.9, size=(1, len(sign_faults))),
        np.array([[[0.0, 0.3, 0.6]] * len(sign_compounds)]),
        rng.uniform(0.1, 0.9, size=(1, len(word_links))),
        np.cumsum(np.tile([0.96, 0.02, 0.02], (1, 2, 1)), axis=-1),
    )
    return Network(structure, numbers)


def random_evidence(rng: np.random.Generator, network: Network) -> tuple[Evidence, Traced]:
    """Soft, hard and missing evidence on notes heard, words, signs and compounds; some of it traced."""
    structure = network.structure

    def vector() -> np.ndarray:
        kind = rng.integers(4)
        if kind == 0:
            return np.array([1.0, 0.0, 0.0])
        found = rng.uniform(0.05, 1, size=S)
        if kind == 1:
            found[0] = 0.01
        return found

    heard = {n: vector() for n in range(len(structure.heard)) if rng.random() < 0.8}
    words = {w: vector() for w in range(2) if rng.random() < 0.6}
    signs = {
        s: np.array([[1.0, 0], [0, 1.0], [0.3, 0.8]][rng.integers(3)]) for s in range(3) if rng.random() < 0.7
    }
    compounds = {int(c): rng.uniform(0.1, 1, size=S) for c in rng.permutation(len(structure.compounds))[:1]}
    traced = Traced(
        frozenset(n for n in heard if rng.random() < 0.7), frozenset(s for s in signs if rng.random() < 0.4)
    )
    return Evidence(heard, words, signs, compounds), traced


def nodes_of(network: Network) -> list[Node]:
    """The whole network; notes heard are called H0, H1 ..., the arms of a node are named after their parent."""
    structure, numbers = network.structure, network.numbers
    found = [
        Node(name, 2, (), np.array([1 - p, p]))
        for name, p in zip(structure.faults, numbers.prior[0], strict=True)
    ]

    def law(cumulative: np.ndarray) -> np.ndarray:
        return np.diff(cumulative, axis=-1, prepend=0.0)

    def gather(name: str, leak: np.ndarray | None, arms: list[Node | str], states: int) -> None:
        so_far = None
        if leak is not None:
            so_far = f"{name}<leak"
            found.append(Node(so_far, states, (), leak))
        for place, arm in enumerate(arms):
            own = arm if isinstance(arm, str) else arm.name
            if not isinstance(arm, str):
                found.append(arm)
            if so_far is None:
                so_far = own
            else:
                joined = f"{name}<<{place}"
                found.append(_max(joined, so_far, own, states))
                so_far = joined
        assert so_far is not None
        found.append(Node(name, states, (so_far,), np.eye(states)))

    for index, name in enumerate(structure.compounds):
        arms: list[Node | str] = []
        for link in structure.links_into_compound[index]:
            parent = structure.faults[structure.fault_links[link][0]]
            table = np.array([[1.0, 0, 0], law(numbers.fault[0, link])])
            arms.append(Node(f"{name}<{parent}", S, (parent,), table))
        gather(name, law(numbers.compound_leak[0, index]), arms, S)
    for index, name in enumerate(structure.notes):
        arms = []
        for link in structure.links_into_note[index]:
            parent = structure.compounds[structure.note_links[link][0]]
            arms.append(Node(f"{name}<{parent}", S, (parent,), law(numbers.note[0, link])))
        gather(name, law(numbers.note_leak[0, index]), arms, S)
    for index, notes in enumerate(structure.heard):
        gather(f"H{index}", None, [structure.notes[note] for note in notes], S)
    for index, name in enumerate(structure.words):
        arms = []
        for link in structure.links_into_word[index]:
            parent, share = f"H{structure.word_links[link][1]}", numbers.word[0, link]
            table = np.array([[1, 0, 0], [1 - share, share, 0], [1 - share, 0, share]])
            arms.append(Node(f"{name}<{parent}", S, (parent,), table))
        gather(name, law(numbers.word_leak[0, index]), arms, S)
    for index, name in enumerate(structure.signs):
        arms = []
        for link, (sign, fault) in enumerate(structure.sign_faults):
            if sign == index:
                p, parent = numbers.sign_fault[0, link], structure.faults[fault]
                arms.append(Node(f"{name}<{parent}", 2, (parent,), np.array([[1, 0], [1 - p, p]])))
        for link, (sign, compound) in enumerate(structure.sign_compounds):
            if sign == index:
                p, parent = numbers.sign_compound[0, link], structure.compounds[compound]
                arms.append(Node(f"{name}<{parent}", 2, (parent,), np.stack([1 - p, p], axis=-1)))
        leak = numbers.sign_leak[0, index]
        gather(name, np.array([1 - leak, leak]), arms, 2)
    return found


def live_nodes(network: Network, traced: Traced, faults: Iterable[int]) -> list[Node]:
    """Nodes that say whether a live path runs from the faults to what is traced: the last is LIVE."""
    structure, wanted = network.structure, set(faults)
    found, live, carried = [Node("never", 2, (), np.array([1.0, 0.0]))], "never", {}
    for fault, compound in structure.fault_links:
        if fault in wanted:
            name = structure.compounds[compound]
            made = f"carried {name} {fault}"
            arm = (f"{name}<{structure.faults[fault]}", S)
            found.append(_gate(made, (carried.get(compound, "never"), 2), arm, False))
            carried[compound] = made
    arms = [
        (compound, f"{structure.notes[note]}<{structure.compounds[compound]}", S)
        for compound, note in structure.note_links
        if any(n in traced.heard for n in structure.heard_of_note[note])
    ]
    arms += [
        (compound, f"{structure.signs[sign]}<{structure.compounds[compound]}", 2)
        for sign, compound in structure.sign_compounds
        if sign in traced.signs
    ]
    for compound, arm, size in arms:
        if compound in carried:
            found.append(_gate(f"path {arm}", (carried[compound], 2), (arm, size), True))
            found.append(_gate(f"live {arm}", (live, 2), (f"path {arm}", 2), False))
            live = f"live {arm}"
    for sign, fault in structure.sign_faults:
        if sign in traced.signs and fault in wanted:
            arm = f"{structure.signs[sign]}<{structure.faults[fault]}"
            found.append(_gate(f"live {arm}", (live, 2), (arm, 2), False))
            live = f"live {arm}"
    found.append(Node("LIVE", 2, (live,), np.eye(2)))
    return found


def soft(network: Network, evidence: Evidence) -> dict[str, np.ndarray]:
    """Likelihood vectors by name."""
    structure = network.structure
    return (
        {f"H{n}": v for n, v in evidence.heard.items()}
        | {structure.words[w]: v for w, v in evidence.words.items()}
        | {structure.signs[s]: v for s, v in evidence.signs.items()}
        | {structure.compounds[c]: v for c, v in evidence.compounds.items()}
    )
