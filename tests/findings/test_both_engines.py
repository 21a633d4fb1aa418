"""durable_rules against the plain matcher, and what durable_rules must never do."""

from __future__ import annotations

import itertools
import resource
import threading
from collections.abc import Iterable

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.findings.build import fact, needs_durable, rule
from tests.findings.strategies import facts, rule_sets
from tracer.findings import durable_engine, engine
from tracer.findings.dialect import Compiled, Value, compiled
from tracer.findings.engine import engine_name, fire, problems
from tracer.findings.fact import Fact
from tracer.findings.plain import Matches
from tracer.issues import InputError
from tracer.knowledge.rule import Rule

RULES = [
    rule("first", [{"record": "hours", "above": 9}], {"concludes": "late"}),
    rule("second", [{"finding": "late"}, {"record": "warm", "is": "yes"}]),
]
FACTS = [fact("hours", 30), fact("warm", "yes")]


@needs_durable
@pytest.mark.slow
@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(rule_sets(), st.lists(facts(), max_size=12))
def test_both_give_the_same_firings_with_the_same_provenance(rules: list[Rule], known: list[Fact]) -> None:
    ready, refused = compiled(rules)
    usable = [one for one in rules if one.id not in {problem.rule for problem in refused}]
    assume(ready)
    assert fire(usable, known, "durable") == fire(usable, known, "plain")


@needs_durable
def test_only_rules_that_a_lot_has_all_facts_for_reach_the_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[str] = []
    sound = durable_engine.match

    def match(ready: tuple[Compiled, ...], known: Iterable[tuple[int, str, Value]]) -> Matches:
        given.extend(one.id for one in ready)
        return sound(ready, known)

    monkeypatch.setattr(durable_engine, "match", match)
    conditions = [{"record": "rain", "is": "yes"}, {"record": "warm", "is": "yes"}]
    either, both = rule("either", {"any": conditions}), rule("both", {"all": conditions})
    fire([*RULES, either, both], FACTS, "durable")
    assert given == ["either", "first", "second"]


@needs_durable
def test_hundreds_of_lots_leave_no_session_behind() -> None:
    first = fire(RULES, FACTS, "durable")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # With a live session for each lot the engine runs out of them at the 1,025th.
    assert all(fire(RULES, FACTS, "durable") == first for _ in range(1500))
    assert not durable_engine._lots
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000


@needs_durable
def test_it_starts_no_threads_and_may_be_called_from_several() -> None:
    wanted, got = fire(RULES, FACTS, "plain"), []
    before = threading.active_count()
    threads = [
        threading.Thread(target=lambda: got.extend(fire(RULES, FACTS, "durable") for _ in range(40)))
        for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert threading.active_count() == before
    assert got == [wanted] * 320


@needs_durable
def test_old_rule_sets_are_dropped_and_compiled_again_when_wanted() -> None:
    sets = [
        [rule(f"only_{number}", [{"record": "r", "is": number}])] for number in range(3 * durable_engine.KEPT)
    ]
    for number, rules in [*enumerate(sets), *enumerate(sets)]:
        assert [firing.rule for firing in fire(rules, [fact("r", number)], "durable")] == [f"only_{number}"]
    assert len(durable_engine._compiled) == durable_engine.KEPT


@needs_durable
def test_a_definition_that_is_refused_names_its_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    sound = durable_engine._test
    monkeypatch.setattr(
        durable_engine,
        "_test",
        lambda clause: {"$no": {"v": 1}} if clause.reads == "record:bad" else sound(clause),
    )
    bad = rule("the_bad_one", [{"record": "bad", "is": 1}])
    with pytest.raises(InputError, match="rule 'the_bad_one': the rule engine refuses it"):
        fire([*RULES, bad], [*FACTS, fact("bad", 1)], "durable")
    assert [problem.rule for problem in problems([*RULES, bad])] == ["the_bad_one"]


@needs_durable
def test_an_error_inside_a_consequent_is_raised_and_the_next_lot_is_sound(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rules = [*RULES, rule("third", [{"finding": "late"}])]
    wanted = fire(rules, FACTS, "plain")

    def broken(name: str) -> str:
        raise RuntimeError("boom")

    with monkeypatch.context() as patch:
        patch.setattr(durable_engine, "finding", broken)
        with pytest.raises(durable_engine.EngineError) as raised:
            fire(rules, FACTS, "durable")
        assert str(raised.value.__cause__) == "boom"
    assert not durable_engine._lots
    assert fire(rules, FACTS, "durable") == wanted


@needs_durable
def test_a_refused_fact_is_raised_and_the_next_lot_is_sound(monkeypatch: pytest.MonkeyPatch) -> None:
    sound = durable_engine._record
    with monkeypatch.context() as patch:
        patch.setattr(
            durable_engine, "_record", lambda key, name, value: {**sound(key, name, value), "id": "same"}
        )
        with pytest.raises(durable_engine.EngineError, match="refuses record:warm"):
            fire(RULES, FACTS, "durable")
    assert fire(RULES, FACTS, "durable") == fire(RULES, FACTS, "plain")


def one_shelf(count: int) -> list[str]:
    """Records that the engine keeps on one shelf."""
    names = (f"record{n}" for n in itertools.count())
    shelf = durable_engine._shelf("record:record0")
    return list(itertools.islice((n for n in names if durable_engine._shelf(f"record:{n}") == shelf), count))


@pytest.mark.parametrize(
    ("rules", "message"),
    [
        (
            [rule(f"r{n:03}", [{"record": name, "is": "yes"}]) for n, name in enumerate(one_shelf(501))],
            "500 records and findings",
        ),
        (
            [rule("r", [{"record": "origin", "one_of": [f"place {n}" for n in range(501)]}])],
            "500 values of origin",
        ),
        ([rule(f"r{n:03}", [{"record": "hours", "above": n}]) for n in range(60)], "59 ranges of hours"),
        (
            [rule(f"r{n:03}", [{"record": "wet", "is": "yes"}]) for n in range(251)],
            "250 rules with one condition on wet",
        ),
    ],
)
def test_a_rule_set_beyond_the_limits_is_told_before_the_engine_hangs(
    rules: list[Rule], message: str
) -> None:
    assert [(problem.rule, message in problem.message) for problem in problems(rules)] == [
        (max(r.id for r in rules), True)
    ]


@needs_durable
def test_a_rule_set_at_the_limits_still_runs() -> None:
    rules = [
        *(rule(f"a{n}", [{"record": name, "is": "yes"}]) for n, name in enumerate(one_shelf(498))),
        *(rule(f"b{n}", [{"record": "hours", "above": n}]) for n in range(59)),
        *(rule(f"c{n}", [{"record": "wet", "is": "yes"}]) for n in range(250)),
    ]
    known = [fact("hours", 1000), fact("wet", "yes"), *(fact(name, "yes") for name in one_shelf(498))]
    assert not list(problems(rules))
    assert fire(rules, known, "durable") == fire(rules, known, "plain")


def test_the_environment_may_ask_for_an_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(engine.VARIABLE, "plain")
    assert engine_name() == "plain"
    monkeypatch.setenv(engine.VARIABLE, "clever")
    with pytest.raises(InputError, match="'clever' is no rule engine"):
        engine_name()


def test_without_durable_rules_the_plain_matcher_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(engine.VARIABLE, raising=False)
    monkeypatch.setattr(engine, "_durable_works", lambda: False)
    assert engine_name() == "plain"
    assert len(fire(RULES, FACTS)) == 2
    monkeypatch.setenv(engine.VARIABLE, "durable")
    with pytest.raises(InputError, match="cannot be imported"):
        engine_name()
