"""Expected information of an answer: hand-computed values, and what must hold of any mutual information (Cover and Thomas, ch. 2)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import entropy

from tracer.inference.gain import binary_entropy, expected_gain


@pytest.mark.parametrize("p", [0.0, 0.01, 0.25, 0.5, 0.8, 1.0])
def test_binary_entropy_is_that_of_scipy(p):
    assert binary_entropy(np.array([p]))[0] == pytest.approx(entropy([p, 1 - p], base=2), abs=1e-12)


def test_a_question_is_worth_what_its_joint_table_says():
    # P(a) = 0.4, 0.6; P(x | a) = 0.9, 0.2. I(X; A) = H(X) + H(A) - H(X, A), from the four joint chances.
    joint = np.array([0.4 * 0.9, 0.4 * 0.1, 0.6 * 0.2, 0.6 * 0.8])
    bits = entropy([0.48, 0.52], base=2) + entropy([0.4, 0.6], base=2) - entropy(joint, base=2)
    assert expected_gain(np.array([0.4, 0.6]), np.array([[0.9], [0.2]])) == pytest.approx(bits)


def test_the_gains_of_several_targets_add_up():
    answer = np.array([0.4, 0.6])
    one, other = np.array([[0.9], [0.2]]), np.array([[0.1], [0.3]])
    both = expected_gain(answer, np.hstack([one, other]))
    assert both == pytest.approx(expected_gain(answer, one) + expected_gain(answer, other))


chances = st.floats(0.0, 1.0)


@given(st.lists(st.tuples(st.floats(0.01, 1.0), chances), min_size=1, max_size=5))
def test_a_gain_lies_between_nothing_and_the_entropy_of_the_answer_and_of_the_target(rows):
    weight, target = np.array([w for w, _ in rows]), np.array([[p] for _, p in rows])
    answer = weight / weight.sum()
    gain = expected_gain(answer, target)
    assert 0.0 <= gain <= entropy(answer, base=2) + 1e-9
    assert gain <= binary_entropy(answer @ target)[0] + 1e-9


@given(chances)
def test_an_answer_that_changes_nothing_is_worth_nothing(p):
    assert expected_gain(np.array([0.3, 0.7]), np.array([[p], [p]])) == pytest.approx(0.0, abs=1e-12)
    assert expected_gain(np.array([0.3, 0.7]), np.array([[p], [p]])) >= 0.0
