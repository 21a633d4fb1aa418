"""What must hold of any network and any evidence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.inference.nets import NET_A, hard, random_evidence, random_network
from tests.inference.three_layers import (
    Evidence,
    FaultLink,
    ImpossibleEvidenceError,
    Network,
    NoteLink,
    posterior,
    source_probabilities,
    without_descriptor,
)
from tracer.inference.gain import expected_gain

seeds = st.integers(0, 100_000)
few = settings(max_examples=60, deadline=None)


def drawn(seed: int):
    rng = np.random.default_rng(seed)
    network = random_network(rng, 2 + seed % 2, 6, 5, 6)
    evidence, reported = random_evidence(rng, network, 4)
    return rng, network, evidence, reported


@few
@given(seeds)
def test_probabilities_stay_between_0_and_1_and_a_source_is_never_likelier_than_its_fault(seed):
    _, network, evidence, reported = drawn(seed)
    fault = posterior(network, evidence).fault
    live = source_probabilities(network, evidence, reported, [frozenset({i}) for i in range(6)])
    assert np.all((fault >= 0) & (fault <= 1))
    assert np.all((live >= 0) & (live <= fault + 1e-9))


@few
@given(seeds)
def test_a_larger_set_of_faults_is_never_a_less_likely_source(seed):
    _, network, evidence, reported = drawn(seed)
    one, two, all_ = source_probabilities(
        network, evidence, reported, [frozenset({0}), frozenset({0, 1}), frozenset(range(6))]
    )
    assert one <= two + 1e-9 <= all_ + 2e-9


@few
@given(seeds)
def test_the_order_of_links_does_not_matter(seed):
    rng, network, evidence, _ = drawn(seed)
    shuffled = replace(
        network,
        fault_links=tuple(network.fault_links[i] for i in rng.permutation(len(network.fault_links))),
        note_links=tuple(network.note_links[i] for i in rng.permutation(len(network.note_links))),
    )
    assert posterior(shuffled, evidence).fault == pytest.approx(posterior(network, evidence).fault, abs=1e-10)


@few
@given(seeds)
def test_a_note_not_assessed_changes_nothing(seed):
    _, network, evidence, _ = drawn(seed)
    unseen = next(d for d in range(6) if d not in evidence.descriptors)
    ones = Evidence({**evidence.descriptors, unseen: np.ones(network.states)}, evidence.compounds)
    assert posterior(network, ones).fault == pytest.approx(posterior(network, evidence).fault, abs=1e-10)
    assert posterior(network, without_descriptor(ones, unseen)).fault == pytest.approx(
        posterior(network, evidence).fault
    )


@few
@given(seeds)
def test_with_all_strengths_zero_the_posterior_is_the_prior(seed):
    _, network, evidence, reported = drawn(seed)
    nothing = np.eye(network.states)[0]
    silent = replace(
        network, fault_links=tuple(FaultLink(k.fault, k.compound, nothing) for k in network.fault_links)
    )
    assert posterior(silent, evidence).fault == pytest.approx(network.prior, abs=1e-9)
    assert source_probabilities(silent, evidence, reported, [frozenset(range(6))])[0] == pytest.approx(
        0, abs=1e-9
    )


def test_a_further_sign_a_lone_fault_can_cause_never_lowers_it():
    network = Network(
        ("F",),
        ("C",),
        ("D1", "D2"),
        np.array([0.1]),
        np.array([[0.99, 0.01]]),
        np.array([[0.95, 0.05]] * 2),
        (FaultLink(0, 0, np.array([0.2, 0.8])),),
        tuple(NoteLink(0, d, np.array([[1, 0], [0.4, 0.6]])) for d in (0, 1)),
    )
    one = posterior(network, hard(network, {0: 1})).fault[0]
    assert posterior(network, hard(network, {0: 1, 1: 1})).fault[0] > one > network.prior[0]


def test_a_proved_fault_that_cannot_make_the_note_is_no_source():
    network = Network(
        ("proved", "likely"),
        ("C1", "C2"),
        ("D1", "D2"),
        np.array([0.999, 0.05]),
        np.array([[0.99, 0.01]] * 2),
        np.array([[0.98, 0.02]] * 2),
        (FaultLink(0, 0, np.array([0.1, 0.9])), FaultLink(1, 1, np.array([0.1, 0.9]))),
        (NoteLink(0, 0, np.array([[1, 0], [0.1, 0.9]])), NoteLink(1, 1, np.array([[1, 0], [0.1, 0.9]]))),
    )
    evidence = hard(network, {1: 1})
    live = source_probabilities(network, evidence, frozenset({1}), [frozenset({0}), frozenset({1})])
    assert posterior(network, evidence).fault[0] > 0.99
    assert live[0] == pytest.approx(0, abs=1e-12)
    assert live[1] > 0.5


def test_impossible_evidence_is_said_and_not_computed():
    sure = Network(
        ("F",),
        ("C",),
        ("D",),
        np.array([0.5]),
        np.array([[1.0, 0.0]]),
        np.array([[1.0, 0.0]]),
        (FaultLink(0, 0, np.array([1.0, 0.0])),),
        (NoteLink(0, 0, np.array([[1, 0], [1.0, 0.0]])),),
    )
    with pytest.raises(ImpossibleEvidenceError):
        posterior(sure, hard(sure, {0: 1}))


def test_a_network_in_which_a_stronger_cause_gives_less_is_refused():
    bad = NoteLink(0, 0, np.array([[1, 0, 0], [0.1, 0.1, 0.8], [0.9, 0.1, 0.0]]))
    with pytest.raises(ValueError, match="never give less"):
        Network(("F",), ("C",), ("D",), np.array([0.1]), np.eye(3)[:1], np.eye(3)[:1], (), (bad,))


@few
@given(st.integers(0, 10_000))
def test_an_expected_gain_is_never_below_zero(seed):
    rng = np.random.default_rng(seed)
    answers = rng.dirichlet(np.ones(4))
    assert expected_gain(answers, rng.uniform(0, 1, (4, 5))) >= 0


def test_net_a_is_monotone_in_the_report():
    found = [posterior(NET_A, Evidence({0: np.array([1.0, x])})).fault[0] for x in (0.5, 1.0, 2.0, 4.0)]
    assert found == sorted(found)
