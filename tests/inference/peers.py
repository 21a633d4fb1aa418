"""A network written out for general engines: noisy-MAX as chains of small tables, live paths as nodes of their own.

Parents are divorced (Heckerman 1993, UAI: temporal decomposition of causal independence; from memory): each link has its
contribution as a node, and a chain of max nodes gathers them, so that no table grows with the number of causes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tests.inference.three_layers import Evidence, Network


@dataclass(frozen=True)
class Node:
    """A variable with its parents and its table, parents first."""

    name: str
    size: int
    parents: tuple[str, ...]
    table: np.ndarray


def _max(name: str, one: str, other: str, states: int) -> Node:
    table = np.zeros((states, states, states))
    for a in range(states):
        for b in range(states):
            table[a, b, max(a, b)] = 1
    return Node(name, states, (one, other), table)


def _gate(name: str, one: tuple[str, int], other: tuple[str, int], both: bool) -> Node:
    table = np.zeros((one[1], other[1], 2))
    for a in range(one[1]):
        for b in range(other[1]):
            on = (a > 0 and b > 0) if both else (a > 0 or b > 0)
            table[a, b, int(on)] = 1
    return Node(name, 2, (one[0], other[0]), table)


def nodes_of(network: Network) -> list[Node]:
    """The whole network; compounds and notes keep their names."""
    found = [
        Node(name, 2, (), np.array([1 - p, p])) for name, p in zip(network.faults, network.prior, strict=True)
    ]
    states = network.states
    for names, leaks, links_of, link_of in (
        (network.compounds, network.compound_leak, network.links_of_compound, _fault_link),
        (network.descriptors, network.descriptor_leak, network.links_of_descriptor, _note_link),
    ):
        for index, name in enumerate(names):
            gathered, links = f"{name}<leak", links_of[index]
            found.append(Node(gathered if links else name, states, (), np.asarray(leaks[index])))
            for place, link in enumerate(links):
                parent, table = link_of(network, link)
                arm = f"{name}<{parent}"
                found.append(Node(arm, states, (parent,), table))
                target = name if place == len(links) - 1 else f"{name}<<{place}"
                found.append(_max(target, gathered, arm, states))
                gathered = target
    return found


def _fault_link(network: Network, index: int) -> tuple[str, np.ndarray]:
    link = network.fault_links[index]
    off = np.zeros(network.states)
    off[0] = 1
    return network.faults[link.fault], np.array([off, link.law])


def _note_link(network: Network, index: int) -> tuple[str, np.ndarray]:
    link = network.note_links[index]
    return network.compounds[link.compound], np.asarray(link.law)


def live_nodes(network: Network, reported: Iterable[int], faults: Iterable[int]) -> list[Node]:
    """Nodes that say whether a path of non-zero contributions runs from the faults to a reported note: the last is LIVE."""
    states, wanted, found = network.states, set(faults), [Node("never", 2, (), np.array([1.0, 0.0]))]
    live = "never"
    carried: dict[int, str] = {}
    for compound, name in enumerate(network.compounds):
        arms = [network.fault_links[k] for k in network.links_of_compound[compound]]
        so_far = "never"
        for arm in (one for one in arms if one.fault in wanted):
            made = f"carried {name} {arm.fault}"
            found.append(_gate(made, (so_far, 2), (f"{name}<{network.faults[arm.fault]}", states), False))
            so_far = made
        if so_far != "never":
            carried[compound] = so_far
    for note in reported:
        for k in network.links_of_descriptor[note]:
            compound = network.note_links[k].compound
            if compound in carried:
                arm = f"{network.descriptors[note]}<{network.compounds[compound]}"
                path, gathered = f"path {arm}", f"live {arm}"
                found.append(_gate(path, (carried[compound], 2), (arm, states), True))
                found.append(_gate(gathered, (live, 2), (path, 2), False))
                live = gathered
    found.append(Node("LIVE", 2, (live,), np.eye(2)))
    return found


def soft(network: Network, evidence: Evidence) -> dict[str, np.ndarray]:
    """Likelihood vectors by name."""
    found = {network.descriptors[d]: v for d, v in evidence.descriptors.items()}
    return found | {network.compounds[c]: v for c, v in evidence.compounds.items()}


class PyAgrum:
    """pyAgrum's lazy propagation; the net is built once, evidence is set anew each time."""

    def __init__(self, nodes: list[Node]) -> None:
        import pyagrum as gum

        self.net = gum.BayesNet()
        for node in nodes:
            self.net.add(gum.LabelizedVariable(node.name, node.name, node.size))
        for node in nodes:
            for parent in node.parents:
                self.net.addArc(parent, node.name)
        for node in nodes:
            table = self.net.cpt(node.name)
            for place in np.ndindex(node.table.shape[:-1]):
                table[dict(zip(node.parents, map(int, place), strict=True))] = node.table[place].tolist()
        self.engine = gum.LazyPropagation(self.net)

    def posteriors(self, evidence: dict[str, np.ndarray], names: Iterable[str]) -> np.ndarray:
        """P(name is in its last state | evidence)."""
        self.engine.setEvidence({name: vector.tolist() for name, vector in evidence.items()})
        self.engine.makeInference()
        return np.array([self.engine.posterior(name)[1] for name in names])


class Pgmpy:
    """pgmpy's variable elimination; the net is built once."""

    def __init__(self, nodes: list[Node]) -> None:
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

        size = {node.name: node.size for node in nodes}
        net = DiscreteBayesianNetwork()
        net.add_nodes_from(size)
        net.add_edges_from((parent, node.name) for node in nodes for parent in node.parents)
        for node in nodes:
            flat = np.moveaxis(node.table, -1, 0).reshape(node.size, -1)
            parents = list(node.parents) or None
            net.add_cpds(
                TabularCPD(node.name, node.size, flat, parents, [size[p] for p in node.parents] or None)
            )
        self.engine, self.size, self.cpd = VariableElimination(net), size, TabularCPD

    def posteriors(self, evidence: dict[str, np.ndarray], names: Iterable[str]) -> np.ndarray:
        """P(name is in its last state | evidence)."""
        virtual = [
            self.cpd(name, self.size[name], (v / v.sum()).reshape(-1, 1)) for name, v in evidence.items()
        ]
        return np.array(
            [
                self.engine.query([name], virtual_evidence=virtual, show_progress=False).values[1]
                for name in names
            ]
        )
