"""Published cases: the score that the sourced knowledge must keep (sources in each sheet)."""

from __future__ import annotations

import pytest

from tests.cases.score import run, score


@pytest.fixture(scope="module")
def found(base, ready):
    return score(run(base, ready, history=True))


def test_the_stage_comes_first_in_most_published_cases(found):
    assert found.stage_first >= 0.70


def test_the_stage_is_among_three_in_nearly_all(found):
    assert found.stage_three >= 0.90


def test_the_fault_is_among_three_in_most(found):
    assert found.fault_three >= 0.75


def test_null_cases_get_no_false_source(found):
    assert found.null_abstained >= found.nulls - 1


def test_history_helps(base, ready, found):
    bare = score(run(base, ready, history=False))
    assert found.stage_first > bare.stage_first
    assert found.fault_first > bare.fault_first
