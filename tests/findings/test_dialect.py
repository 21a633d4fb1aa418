"""Conditions as closed ranges of whole millionths: each bound, both together, and what is wrong with a strength."""

from __future__ import annotations

import pytest

from tests.findings.build import band, rule
from tracer.findings.dialect import Clause, clause_of, compiled, overlapping
from tracer.knowledge.rule import Condition


def clause(**tests):
    return clause_of(Condition.model_validate({"record": "r", **tests}))


@pytest.mark.parametrize(
    ("test", "low", "high"),
    [
        ("at_least", 5_000_000, None),
        ("above", 5_000_001, None),
        ("at_most", None, 5_000_000),
        ("below", None, 4_999_999),
    ],
)
def test_a_bound_is_the_next_millionth_where_it_is_open(test, low, high):
    assert clause(**{test: 5}) == Clause("record:r", None, low, high)


def test_values_and_a_range_of_one_record_are_met_together():
    assert clause(one_of=["Café", "tea"]).values == ("cafe", "tea")
    assert clause(one_of=[1, 2, 3], at_least=2) == Clause("record:r", (2_000_000, 3_000_000))
    assert clause(at_least=2, at_most=2) == Clause("record:r", None, 2_000_000, 2_000_000)
    assert clause(above=1, at_most=3) == Clause("record:r", None, 1_000_001, 3_000_000)
    for wrong in ({"above": 2, "at_most": 2}, {"one_of": [1], "at_least": 2}):
        with pytest.raises(ValueError, match="the tests on r can never hold together"):
            clause(**wrong)


def test_two_clauses_overlap_where_some_value_meets_both():
    low, high = Clause("record:r", low=5), Clause("record:r", high=5)
    assert overlapping(low, high)
    assert not overlapping(low, Clause("record:r", high=4))
    assert overlapping(Clause("record:r", (1, 7)), low)
    assert overlapping(low, Clause("record:r", (1, 7)))
    assert not overlapping(Clause("record:r", (1,)), low)
    assert not overlapping(Clause("record:r", ("a",)), Clause("record:r", ("b",)))
    assert overlapping(Clause("record:r", ("a", "b")), Clause("record:r", ("b", "c")))
    assert overlapping(Clause("record:r"), low)


def test_only_a_count_for_a_likelihood_ratio_is_unusable():
    count = {"count": "3/10", "basis": "casebook"}

    def wrong(then):
        return [one.rule for one in compiled([rule("a", [{"record": "r", "is": 1}], then)])[1]]

    assert wrong({"favours": "x", "strength": count}) == ["a"]
    assert wrong({"favours": "x", "strength": band("weakly_for")}) == []
    assert wrong({"shows": "x", "strength": count, "leak": band("seldom")}) == []
    assert wrong({"rules_out": "x"}) == []
