"""Both rule engines on the same rules and facts."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracer.findings.dialect import FINDING, Compiled, Test
from tracer.findings.fact import Fact
from tracer.findings.finding import Firing
from tracer.findings.plain import fire_plain

durable_engine = pytest.importorskip(
    "tracer.findings.durable_engine", reason="durable_rules does not import on this Python", exc_type=ImportError
)

NAMES = ["a", "b", "c", "débit", "nivel de água"]
TEXTS = ["yes", "no", "lavado", "sécado", "sol"]
numbers = st.one_of(st.integers(-50, 50).map(float), st.floats(-100, 100).map(lambda x: round(x, 3)))
facts = st.lists(
    st.one_of(
        st.builds(lambda n, v: Fact(n, v, "number", "sheet"), st.sampled_from(NAMES), numbers),
        st.builds(lambda n, v: Fact(n, v, "text", "sheet"), st.sampled_from(NAMES), st.sampled_from(TEXTS)),
    ),
    max_size=5,
    unique_by=lambda fact: fact.name,
)
FINDINGS = [FINDING + name for name in ("warm", "wet", "late")]
tests = st.one_of(
    st.builds(lambda n, o, v: Test(n, o, (v,)), st.sampled_from(NAMES), st.sampled_from(["above", "at_least", "below", "at_most", "is"]), numbers),
    st.builds(lambda n, v: Test(n, "is", (v,)), st.sampled_from(NAMES), st.sampled_from(TEXTS)),
    st.builds(lambda n, v: Test(n, "one_of", tuple(v)), st.sampled_from(NAMES), st.lists(st.sampled_from(TEXTS), min_size=1, max_size=3, unique=True)),
    st.builds(lambda n: Test(n, "holds"), st.sampled_from(FINDINGS)),
)
rule_sets = st.lists(
    st.tuples(st.lists(st.lists(tests, min_size=1, max_size=3).map(lambda x: tuple(dict.fromkeys(x))), min_size=1, max_size=2), st.lists(st.sampled_from(FINDINGS), max_size=2, unique=True)),
    min_size=1,
    max_size=6,
).map(lambda items: tuple(Compiled(f"rule_{i}", tuple(alternatives), tuple(sorted(concludes))) for i, (alternatives, concludes) in enumerate(items)))


@settings(max_examples=300, deadline=None)
@given(rule_sets, facts)
def test_both_engines_give_the_same_firings_with_the_same_provenance(rules, known):
    assert durable_engine.DurableEngine(rules).fire(known) == fire_plain(rules, known)


CHAIN = (
    Compiled("first", ((Test("hours", "above", (6.0,)),),), (FINDING + "late",)),
    Compiled("second", ((Test(FINDING + "late", "holds"), Test("hot", "is", ("yes",))),), (FINDING + "warm",)),
    Compiled("third", ((Test(FINDING + "warm", "holds"),),), ()),
)


def test_a_finding_is_a_fact_for_another_rule():
    known = [Fact("hours", 9, "number", "sheet"), Fact("hot", "yes", "yes_no", "sheet")]
    fired = durable_engine.DurableEngine(CHAIN).fire(known)
    assert [firing.rule for firing in fired] == ["first", "second", "third"]
    assert fired[1] == Firing("second", (FINDING + "late", "hot"))


def test_a_fact_that_is_not_known_fires_nothing():
    assert durable_engine.DurableEngine(CHAIN).fire([]) == ()


def test_a_thousand_lots_leave_no_session_behind():
    engine = durable_engine.DurableEngine(CHAIN)
    known = [Fact("hours", 9, "number", "sheet"), Fact("hot", "yes", "yes_no", "sheet")]
    first = engine.fire(known)
    assert all(engine.fire(known) == first for _ in range(1500))
