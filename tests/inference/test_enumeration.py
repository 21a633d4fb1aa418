"""Everything against brute-force enumeration of faults, link contributions and leaks."""

from __future__ import annotations

import numpy as np
import pytest

from tests.inference.nets import enumerate_worlds, random_evidence, random_network
from tests.inference.three_layers import posterior, source_probabilities, sweep


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("states", [2, 3])
def test_posteriors_and_source_probabilities_equal_enumeration(seed, states):
    rng = np.random.default_rng(1000 * states + seed)
    network = random_network(rng, states, 3, 2, 3, links=2)
    evidence, reported = random_evidence(rng, network, 3)
    sets = [frozenset({0}), frozenset({1}), frozenset({2}), frozenset({0, 2}), frozenset({0, 1, 2})]
    total, fault, compound, live = enumerate_worlds(network, evidence, reported, sets)
    found = posterior(network, evidence, every_compound=True)
    assert np.exp(found.log_evidence) == pytest.approx(total, rel=1e-9)
    assert found.fault == pytest.approx(fault / total, abs=1e-9)
    assert found.compound == pytest.approx(compound / total, abs=1e-9)
    assert source_probabilities(network, evidence, reported, sets) == pytest.approx(live / total, abs=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_rows_with_other_odds_equal_enumeration(seed):
    rng = np.random.default_rng(seed)
    network = random_network(rng, 3, 3, 2, 2, links=2)
    evidence, reported = random_evidence(rng, network, 2)
    sets = [frozenset({0, 1}), frozenset({2})]
    on = rng.uniform(0.1, 8, (3, 3))
    total, free = sweep(network, evidence, reported, sets, on)
    for row in range(3):
        expected, _, _, live = enumerate_worlds(network, evidence, reported, sets, on[row])
        assert total[row] == pytest.approx(expected, rel=1e-9)
        assert 1 - free[row] / total[row] == pytest.approx(live / expected, abs=1e-9)
