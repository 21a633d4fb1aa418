"""What a rule fires on, the same with both engines."""

from __future__ import annotations

import pytest

from tests.findings.build import BOTH, fact, rule
from tracer.findings.engine import derived, fire
from tracer.findings.fact import Fact
from tracer.findings.finding import Derived
from tracer.issues import InputError

pytestmark = pytest.mark.parametrize("engine", BOTH)

LATE = rule("late_pulping", [{"record": "hours_to_pulping", "above": 9}], {"concludes": "pulped_late"})
WARM = rule(
    "warm_and_late", [{"finding": "pulped_late"}, {"record": "warm", "is": "yes"}], {"concludes": "soured"}
)


def fired(engine, rules, *facts):
    return [firing.rule for firing in fire(rules, facts, engine)]


def test_a_missing_record_changes_nothing(engine):
    assert fire([LATE, WARM], [], engine) == ()
    assert fired(engine, [LATE], fact("some_other_record", 30)) == []


@pytest.mark.parametrize(
    ("test", "value", "holds"),
    [
        ({"above": 9}, 9, False),
        ({"above": 9}, 9.000001, True),
        ({"at_least": 9}, 9.0, True),
        ({"below": 9}, 9, False),
        ({"at_most": 9}, 9, True),
        ({"above": 8, "below": 10}, 9, True),
        ({"above": 8, "below": 10}, 10, False),
        ({"is": 0.3}, 0.1 + 0.2, True),
        ({"is": 5}, "5", False),
        ({"above": 5}, "late", False),
        ({"below": 5}, "", False),
        ({"is": "yes"}, "yes", True),
        ({"is": True}, "yes", True),
        ({"is": False}, "yes", False),
        ({"is": "Café"}, "cafe", True),
        ({"is": "café"}, "Cafe\u0301", True),
        ({"one_of": ["washed", 3]}, 3, True),
        ({"one_of": ["washed", 3]}, "washed", True),
        ({"one_of": ["washed", 3]}, "natural", False),
        ({"above": -1e-05}, 0, True),
        ({"below": 1e300}, 1e250, False),
        ({"at_least": 1e300}, 1e250, True),
    ],
)
def test_one_condition_on_one_fact(engine, test, value, holds):
    assert fired(engine, [rule("the_rule", [{"record": "r", **test}])], fact("r", value)) == (
        ["the_rule"] if holds else []
    )


def test_a_firing_carries_every_fact_that_met_a_condition(engine):
    any_of = rule(
        "any_of",
        {"any": [{"record": "a", "is": "yes"}, {"record": "b", "is": "yes"}, {"record": "c", "is": "yes"}]},
    )
    a, b, c = fact("a", "yes"), fact("b", "no"), fact("c", "yes")
    assert [firing.facts for firing in fire([any_of], [c, b, a], engine)] == [(a, c)]


def test_two_conditions_on_one_record_are_met_by_one_fact(engine):
    between = rule("between", [{"record": "r", "above": 5}, {"record": "r", "below": 12}])
    assert fired(engine, [between], fact("r", 9)) == ["between"]
    # A fact of 3 meets one of them and a fact of 20 the other, but none meets both.
    assert fired(engine, [between], fact("r", 3), fact("r", 20)) == []


def test_a_concluded_finding_is_a_fact_for_another_rule(engine):
    hours, warm = fact("hours_to_pulping", 30), fact("warm", "yes")
    late, both = fire([WARM, LATE], [warm, hours], engine)
    assert late.facts == (hours,)
    assert both.facts == (Fact("pulped_late", "yes", "yes_no", "rule:late_pulping"), warm)
    assert derived([LATE, WARM], [late, both]) == (
        Derived("pulped_late", ("late_pulping",)),
        Derived("soured", ("warm_and_late",)),
    )


def test_a_finding_names_every_rule_that_concludes_it(engine):
    told = rule("another", [{"record": "said_late", "is": "yes"}], {"concludes": "pulped_late"})
    facts = [fact("hours_to_pulping", 30), fact("said_late", "yes"), fact("warm", "yes")]
    firings = fire([LATE, WARM, told], facts, engine)
    assert firings[-1].facts[0].from_ == "rule:another, late_pulping"


def test_findings_that_only_rest_on_each_other_do_not_hold(engine):
    egg = rule("egg", [{"finding": "hen"}], {"concludes": "egg"})
    hen = rule("hen", [{"finding": "egg"}], {"concludes": "hen"})
    assert fired(engine, [egg, hen], fact("r", 1)) == []


def test_a_chain_of_two_hundred_rules_runs_to_its_end(engine):
    chain = [
        rule(
            f"rule_{n:03}",
            [{"finding": f"f{n - 1}"} if n else {"record": "r", "is": "yes"}],
            {"concludes": f"f{n}"},
        )
        for n in range(200)
    ]
    assert len(fire(reversed(chain), [fact("r", "yes")], engine)) == 200


def test_a_finding_called_like_a_record_is_not_that_record(engine):
    concluding = rule("concluding", [{"record": "r", "is": "yes"}], {"concludes": "hours"})
    reading = rule("reading", [{"record": "hours", "is": "yes"}])
    assert fired(engine, [concluding, reading], fact("r", "yes")) == ["concluding"]


def test_the_same_fact_twice_is_one_fact(engine):
    assert [firing.facts for firing in fire([LATE], [fact("hours_to_pulping", 30)] * 2, engine)] == [
        (fact("hours_to_pulping", 30),)
    ]


def test_a_rule_whose_tests_exclude_each_other_is_named(engine):
    bad = rule("bad_rule", [{"record": "r", "above": 12}, {"record": "r", "below": 5}])
    with pytest.raises(InputError, match=r"rule 'bad_rule': the tests on r can never hold together"):
        fire([LATE, bad], [fact("r", 1)], engine)


def test_a_count_is_refused_as_a_likelihood_ratio_and_the_rule_named(engine):
    bad = rule(
        "bad_rule",
        [{"record": "r", "is": 1}],
        {"favours": "x", "strength": {"count": "3/10", "basis": "casebook"}},
    )
    with pytest.raises(InputError, match="bad_rule"):
        fire([bad], [fact("r", 1)], engine)


def test_a_number_that_is_not_finite_is_no_fact(engine):
    with pytest.raises(ValueError, match="r is nan"):
        Fact("r", float("nan"), "number", "sheet")
    with pytest.raises(InputError, match="rule 'bad_rule': inf is no number"):
        fire([rule("bad_rule", [{"record": "r", "above": float("inf")}])], [fact("r", 1)], engine)
