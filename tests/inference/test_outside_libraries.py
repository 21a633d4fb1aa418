"""Random networks against pyAgrum and pgmpy, which know nothing of our factorisation.

Net parameters (the leak is not in a link's weight): written out as full tables, so that no library's own
noisy-OR convention can enter.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.inference.nets import random_evidence, random_network
from tests.inference.peers import Pgmpy, PyAgrum, live_nodes, nodes_of, soft
from tests.inference.three_layers import posterior, source_probabilities


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(200))
def test_posteriors_equal_pyagrum(seed):
    rng = np.random.default_rng(seed)
    network = random_network(rng, 2 + seed % 2, 6, 5, 6, links=3)
    evidence, _ = random_evidence(rng, network, 4)
    assert posterior(network, evidence).fault == pytest.approx(
        PyAgrum(nodes_of(network)).posteriors(soft(network, evidence), network.faults), abs=1e-9
    )


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(200))
def test_posteriors_equal_pgmpy(seed):
    rng = np.random.default_rng(5000 + seed)
    network = random_network(rng, 2 + seed % 2, 4, 3, 4, links=2)
    evidence, _ = random_evidence(rng, network, 3)
    assert posterior(network, evidence).fault == pytest.approx(
        Pgmpy(nodes_of(network)).posteriors(soft(network, evidence), network.faults), abs=1e-9
    )


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100))
def test_source_probabilities_equal_pyagrum_with_live_paths_written_out(seed):
    rng = np.random.default_rng(9000 + seed)
    network = random_network(rng, 2 + seed % 2, 5, 3, 4, links=3)
    evidence, reported = random_evidence(rng, network, 3)
    sets = [frozenset({0}), frozenset({1, 2}), frozenset(range(5))]
    theirs = [
        PyAgrum([*nodes_of(network), *live_nodes(network, reported, one)]).posteriors(
            soft(network, evidence), ["LIVE"]
        )[0]
        for one in sets
    ]
    assert source_probabilities(network, evidence, reported, sets) == pytest.approx(theirs, abs=1e-9)
