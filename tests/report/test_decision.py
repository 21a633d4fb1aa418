"""Next is a decision: safety first, then the lot where the answer is clear, the question first where it is not."""

from __future__ import annotations

import pytest

from tracer.lots.read import parse_lot
from tracer.render.headline import next_step
from tracer.tracing import trace

TWO = (
    "cuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, notes: [%s]}, {taster: b, notes: [%s]}]}]\n"
)
SWEAT = "history: {transport: {condensation_seen: yes}}\n"
WET = "green: {bags_wet_or_stained: yes, stains_top_and_sides: yes}\n"


@pytest.fixture(scope="module")
def report(base, ready):
    def traced(text):
        lot, issues = parse_lot("lot: A\n" + text, "a.yaml", base)
        assert lot, issues
        return trace(lot, base, ready)

    return traced


def one_taster(cups, note):
    return f"cuppings: [{{sample: arrival, cups: {cups}, tasters: [{{taster: a, notes: [{note}]}}]}}]\n"


def kinds(report):
    return [step.kind for step in report.next]


def note(name, cups=5):
    return f"{{note: {name}, cups: {cups}}}"


def test_a_clear_answer_names_what_to_do_with_the_lot_before_any_question(report):
    told = report(TWO % (note("mouldy"), note("mouldy")) + WET + SWEAT)
    assert told.verdict == "source_supported"
    assert kinds(told)[:2] == ["hold", "act"]
    assert kinds(told).index("act") < [*kinds(told), "ask"].index("ask")
    assert next(step.source for step in told.next if step.kind == "act") == told.sources[0].fault


def test_an_open_answer_names_the_question_that_tells_most_for_its_cost(report):
    told = report(TWO % (note("smoky", 2), note("smoky", 1)))
    assert told.verdict == "insufficient_evidence"
    assert "act" not in kinds(told)
    first = next(step for step in told.next if step.kind == "ask")
    best = max(told.asks, key=lambda ask: ask.gain_per_cost)
    assert first.ask == best.id
    assert best.text in next_step(told)


def test_after_a_stop_nothing_that_is_tasted_or_smelled_is_next(report, base):
    told = report(TWO % (note("petrol"), note("petrol")))
    assert kinds(told)[0] == "stop"
    assert not any(base.enquiries[step.ask].by_senses for step in told.next if step.ask)
    assert "sample" not in kinds(told)


def test_one_weak_cup_asks_for_more_cups_and_a_full_table_does_not(report):
    # 59 cups show a share of 1 in 20 with 95 %: log(0.05) / log(0.95), any textbook of sampling.
    few = report(one_taster(5, note("harsh", 1)))
    assert any("59 cups" in step.text for step in few.next if step.kind == "sample")
    many = report(one_taster(60, note("harsh", 1)))
    assert "sample" not in kinds(many)


def test_a_time_limit_on_the_sheet_is_among_the_next_steps(report):
    limit = "clocks: [{what: quality claim, clause: contract 7, days: 14, from: 2026-03-01}]\n"
    told = report(limit + TWO % (note("mouldy"), note("mouldy")) + WET)
    claim = next(step for step in told.next if step.kind == "claim")
    assert "2026-03-15" in claim.text
    assert "quality claim" in claim.text


def test_open_words_alone_are_settled_first(report):
    told = report(
        "cuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, language: en, notes: [chemical]}]}]\n"
    )
    assert told.unmatched_words
    assert kinds(told)[0] in ("words", "stop")


def test_a_clean_lot_has_nothing_next(report):
    told = report("cuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, notes: [clean]}]}]\n")
    assert told.next == ()
