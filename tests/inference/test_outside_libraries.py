"""Random networks against pyAgrum and pgmpy, which know nothing of our factorisation.

Net parameters (the leak is not in a link's weight): written out as full tables, so that no library's own
noisy-OR convention can enter.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from tests.inference.nets import random_evidence, random_network
from tracer.inference.exact import posterior
from tracer.inference.network import Network


def compound_table(network: Network, compound: int) -> tuple[list[int], np.ndarray]:
    """P(compound | its faults), faults in the order returned, compound axis last."""
    links = network.links_of_compound[compound]
    parents = [network.fault_links[link].fault for link in links]
    table = np.zeros([2] * len(links) + [network.states])
    for states in product((0, 1), repeat=len(links)):
        below = np.cumsum(network.compound_leak[compound])
        for link, on in zip(links, states, strict=True):
            if on:
                below = below * np.cumsum(network.fault_links[link].law)
        table[states] = np.diff(below, prepend=0)
    return parents, table


def note_table(network: Network, note: int) -> tuple[list[int], np.ndarray]:
    """P(note | its compounds)."""
    links = network.links_of_descriptor[note]
    parents = [network.note_links[link].compound for link in links]
    table = np.zeros([network.states] * (len(links) + 1))
    for states in product(range(network.states), repeat=len(links)):
        below = np.cumsum(network.descriptor_leak[note])
        for link, state in zip(links, states, strict=True):
            below = below * np.cumsum(network.note_links[link].law[state])
        table[states] = np.diff(below, prepend=0)
    return parents, table


def with_pyagrum(network: Network, evidence) -> np.ndarray:
    gum = pytest.importorskip("pyagrum")
    bn = gum.BayesNet()
    for name in network.faults:
        bn.add(gum.LabelizedVariable(name, name, 2))
    for name in (*network.compounds, *network.descriptors):
        bn.add(gum.LabelizedVariable(name, name, network.states))
    for index, name in enumerate(network.faults):
        bn.cpt(name)[:] = [1 - network.prior[index], network.prior[index]]
    for names, parents_of, table_of in (
        (network.compounds, network.faults, compound_table),
        (network.descriptors, network.compounds, note_table),
    ):
        for index, name in enumerate(names):
            parents, table = table_of(network, index)
            for parent in parents:
                bn.addArc(parents_of[parent], name)
            cpt = bn.cpt(name)
            for states in product(*(range(size) for size in table.shape[:-1])):
                cpt[{parents_of[p]: s for p, s in zip(parents, states, strict=True)}] = table[states].tolist()
    engine = gum.LazyPropagation(bn)
    soft = {network.descriptors[d]: v.tolist() for d, v in evidence.descriptors.items()}
    soft |= {network.compounds[c]: v.tolist() for c, v in evidence.compounds.items()}
    engine.setEvidence(soft)
    engine.makeInference()
    return np.array([engine.posterior(name)[1] for name in network.faults])


def with_pgmpy(network: Network, evidence) -> np.ndarray:
    pytest.importorskip("pgmpy")
    from pgmpy.factors.discrete import DiscreteFactor, TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    model = DiscreteBayesianNetwork()
    cpds = []
    for index, name in enumerate(network.faults):
        model.add_node(name)
        cpds.append(TabularCPD(name, 2, [[1 - network.prior[index]], [network.prior[index]]]))
    for names, parents_of, size, table_of in (
        (network.compounds, network.faults, 2, compound_table),
        (network.descriptors, network.compounds, network.states, note_table),
    ):
        for index, name in enumerate(names):
            parents, table = table_of(network, index)
            labels = [parents_of[p] for p in parents]
            model.add_node(name)
            model.add_edges_from((label, name) for label in labels)
            flat = np.moveaxis(table, -1, 0).reshape(network.states, -1)
            cpds.append(TabularCPD(name, network.states, flat, labels or None, [size] * len(labels) or None))
    model.add_cpds(*cpds)
    virtual = [
        TabularCPD(network.descriptors[d], network.states, (v / v.sum()).reshape(-1, 1))
        for d, v in evidence.descriptors.items()
    ]
    virtual += [
        TabularCPD(network.compounds[c], network.states, (v / v.sum()).reshape(-1, 1))
        for c, v in evidence.compounds.items()
    ]
    del DiscreteFactor
    engine = VariableElimination(model)
    return np.array(
        [
            engine.query([name], virtual_evidence=virtual, show_progress=False).values[1]
            for name in network.faults
        ]
    )


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(200))
def test_posteriors_equal_pyagrum(seed):
    rng = np.random.default_rng(seed)
    network = random_network(rng, 2 + seed % 2, 6, 5, 6, links=3)
    evidence, _ = random_evidence(rng, network, 4)
    assert posterior(network, evidence).fault == pytest.approx(with_pyagrum(network, evidence), abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(200))
def test_posteriors_equal_pgmpy(seed):
    rng = np.random.default_rng(5000 + seed)
    network = random_network(rng, 2 + seed % 2, 4, 3, 4, links=2)
    evidence, _ = random_evidence(rng, network, 3)
    assert posterior(network, evidence).fault == pytest.approx(with_pgmpy(network, evidence), abs=1e-9)
