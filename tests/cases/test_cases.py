"""Published cases: the score that the sourced knowledge must keep (sources in each sheet)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cases.score import run, score, told
from tests.house_rules.samples import SCORE, blocks


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


@pytest.fixture(scope="module")
def bare(base, ready):
    return score(run(base, ready, history=False))


def test_its_own_document_says_this_score(found, bare):
    block = next(
        one
        for one in blocks((Path(__file__).parent / "README.md").read_text(encoding="utf-8"))
        if any(SCORE in line for line in one)
    )
    lines = [line.strip() for line in (*told(found, True), *told(bare, False))]
    assert [line.strip() for line in block if line.strip()] == lines


def test_history_helps(found, bare):
    assert found.stage_first > bare.stage_first
    assert found.fault_first > bare.fault_first
