"""300 random networks of the extended form against pyAgrum, which knows nothing of our factorisation."""

from __future__ import annotations

import numpy as np
import pytest

from tests.inference.extended import live_nodes, nodes_of, random_evidence, random_network, soft
from tests.inference.peers import Node, PyAgrum
from tracer.inference.exact import posterior, signs_foreseen
from tracer.inference.network import Traced
from tracer.inference.sources import source_probabilities
from tracer.inference.unlisted import nothing_there


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(300))
def test_posteriors_foreseen_signs_and_source_probabilities_equal_pyagrum(seed):
    rng = np.random.default_rng(seed)
    network = random_network(rng)
    evidence, traced = random_evidence(rng, network)
    structure = network.structure
    nodes, given = nodes_of(network), soft(network, evidence)
    open_signs = [s for s in range(len(structure.signs)) if s not in evidence.signs]
    names = [*structure.faults, *(structure.signs[s] for s in open_signs)]
    theirs = PyAgrum(nodes).posteriors(given, names)
    ours = [*posterior(network, evidence).fault, *signs_foreseen(network, evidence, open_signs)]
    assert ours == pytest.approx(theirs, abs=1e-9)
    sets = [frozenset({0}), frozenset({1, 2}), frozenset(range(len(structure.faults)))]
    written = [
        PyAgrum([*nodes, *live_nodes(network, traced, one)]).posteriors(given, ["LIVE"])[0] for one in sets
    ]
    assert source_probabilities(network, evidence, traced, sets)[0] == pytest.approx(written, abs=1e-9)


@pytest.mark.parametrize("seed", range(60))
def test_that_nothing_traced_is_there_equals_pyagrum(seed):
    rng = np.random.default_rng(5000 + seed)
    network = random_network(rng)
    evidence, traced = random_evidence(rng, network)
    traced = Traced(traced.heard)
    any_of = [Node("any", 2, (), np.array([1.0, 0.0]))]
    for place, heard in enumerate(sorted(traced.heard)):
        table = np.zeros((2, 3, 2))
        table[0, 0, 0] = table[0, 1:, 1] = table[1, :, 1] = 1
        any_of.append(Node(f"any{place}", 2, (any_of[-1].name, f"H{heard}"), table))
    peer = PyAgrum([*nodes_of(network), *any_of])
    there = peer.posteriors(soft(network, evidence), [any_of[-1].name])[0]
    on = np.ones((1, len(network.structure.faults)))
    total = np.exp([posterior(network, evidence).log_evidence])
    assert nothing_there(network, evidence, traced, on) / total == pytest.approx([1 - there], abs=1e-9)
