"""Nets worked by exact rational enumeration, confirmed by pyAgrum 3.3.1 and pgmpy 1.1.2 to 2.2e-16."""

from __future__ import annotations

import numpy as np
import pytest

from tests.inference.nets import NET_A, NET_B, NET_T, hard
from tests.inference.three_layers import Evidence, posterior
from tracer.inference.gain import expected_gain

EXACT = 1e-9


def close(value: float, expected: float) -> bool:
    return abs(value - expected) < EXACT


def test_net_a_has_the_exact_posteriors():
    found = posterior(NET_A, hard(NET_A, {0: 1}))
    assert close(np.exp(found.log_evidence), 12116933 / 125000000)
    assert close(found.fault[0], 14281171 / 24233866)
    assert close(found.fault[1], 2831728 / 12116933)
    assert close(found.compound[0, 1], 11023743 / 12116933)


def test_a_known_rival_explains_a_fault_away():
    known = NET_A.same_structure(np.array([0.1, 1.0]))
    found = posterior(known, hard(NET_A, {0: 1}))
    assert close(found.fault[0], 202709 / 1415864)
    assert close(found.compound[0, 1], 702297 / 707932)


def test_a_question_on_the_compound_of_net_a_is_worth_its_exact_bits():
    evidence = hard(NET_A, {0: 1})
    yes, no = np.array([0.05, 0.9]), np.array([0.95, 0.1])
    base = posterior(NET_A, evidence)
    answers, faults, compounds = [], [], []
    for vector in (yes, no):
        found = posterior(NET_A, Evidence(evidence.descriptors, {0: vector}))
        answers.append(np.exp(found.log_evidence - base.log_evidence))
        faults.append(found.fault)
        compounds.append(found.compound[0, 1:])
    p = np.array(answers)
    assert close(p[0], 0.8233129786)
    assert close(expected_gain(p, np.array(compounds)), 0.2202540440)
    assert close(expected_gain(p, np.array(faults)[:, :1]), 0.0383365003)
    assert close(expected_gain(p, np.array(faults)[:, 1:]), 0.0080917014)


def test_net_b_has_the_exact_posteriors():
    found = posterior(NET_B, hard(NET_B, {0: 1, 1: 1, 2: 0}))
    assert close(np.exp(found.log_evidence), 63160517783013897 / 2500000000000000000)
    assert found.fault == pytest.approx([0.6984189068, 0.1543723642, 0.0131829362], abs=EXACT)
    assert found.compound[:, 1] == pytest.approx([0.9756060752, 0.0966119545], abs=EXACT)


def test_net_t_has_the_exact_posteriors_for_soft_reports():
    evidence = Evidence({0: np.array([0.1, 0.6, 1.0]), 1: np.array([1.0, 0.0, 0.0])})
    found = posterior(NET_T, evidence)
    assert close(np.exp(found.log_evidence), 95480010213 / 625000000000)
    assert close(found.fault[0], 200982209 / 649523879)
    assert close(found.fault[1], 85453649 / 649523879)
    assert found.compound[0] == pytest.approx([0.5924971415, 0.2942325964, 0.1132702621], abs=EXACT)


def test_net_t_has_the_exact_posteriors_for_hard_reports():
    found = posterior(NET_T, hard(NET_T, {0: 2, 1: 0}))
    assert close(np.exp(found.log_evidence), 7525242963 / 250000000000)
    assert close(found.fault[0], 25259209 / 51192129)
    assert close(found.fault[1], 4132633 / 17064043)
    assert found.compound[0] == pytest.approx([0.2526918412, 0.3620286171, 0.3852795417], abs=EXACT)
