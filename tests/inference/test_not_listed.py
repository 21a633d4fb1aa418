"""A cause that is not listed and the lean of the cases: worked by hand on small figures, and as properties of whole lots."""

from __future__ import annotations

from dataclasses import replace
from math import prod

import numpy as np
import pytest

from tracer.findings.gathered import gather
from tracer.inference.leaning import leaned, shares, with_leaning
from tracer.inference.not_listed import Unlisted
from tracer.inference.sources import source_probabilities
from tracer.inference.unlisted import gone_wrong, nothing_there, unlisted, with_unlisted
from tracer.lots.read import parse_lot
from tracer.tracing import set_against, weighed

# Two segments: the first with stages 0 and 1, the second with stages 1 and 2; stage 3 cannot reach what is traced.
MEMBERS = np.array([[True, True, False, False], [False, True, True, False]])


def test_it_is_parted_over_segments_and_within_one_half_evenly_and_half_as_the_listed_faults_divide():
    other = Unlisted(np.array([0.5]), np.array([[0.25, 0.75]]), MEMBERS)
    listed = np.array([[0.3, 0.1, 0.1, 0.4]])
    found = other.by_stage(listed, np.array([0.8]))
    # Of 0.8 * 0.5 = 0.4: a quarter in the first (0.5 + 0.75 halved, 0.5 + 0.25 halved), three quarters in the second (even).
    first, second = (0.5 + 0.75) / 2, (0.5 + 0.25) / 2
    assert found[0] == pytest.approx(
        0.4 * np.array([0.25 * first, 0.25 * second + 0.75 * 0.5, 0.75 * 0.5, 0.0])
    )
    assert found.sum() == pytest.approx(0.4)


def test_where_no_listed_fault_is_near_it_lies_evenly():
    other = Unlisted(np.array([1.0]), np.array([[1.0, 0.0]]), MEMBERS)
    assert other.by_stage(np.zeros((1, 4)), np.array([0.6]))[0] == pytest.approx([0.3, 0.3, 0.0, 0.0])


def test_it_leans_as_the_cases_do_and_stays_as_large():
    other = Unlisted(np.array([1.0]), np.array([[1.0, 0.0]]), MEMBERS)
    leaning = np.array([[3.0, 1.0, 5.0, 5.0]])
    assert other.by_stage(np.zeros((1, 4)), np.array([0.8]), leaning)[0] == pytest.approx(
        [0.6, 0.2, 0.0, 0.0]
    )


def test_where_no_stage_can_reach_what_is_traced_it_lies_nowhere():
    other = Unlisted(np.array([1.0]), np.array([[1.0]]), np.zeros((1, 2), dtype=bool))
    assert other.by_stage(np.zeros((1, 2)), np.array([0.7]))[0] == pytest.approx([0.0, 0.0])


def test_rows_of_several_lots_are_those_of_each():
    both = Unlisted(np.array([0.5, 0.2]), np.array([[0.25, 0.75], [1.0, 0.0]]), MEMBERS)
    listed, none = np.array([[0.3, 0.1, 0.1, 0.4], [0.0, 0.2, 0.0, 0.0]]), np.array([0.8, 0.5])
    for place in (0, 1):
        alone = both.row(place).by_stage(listed[place : place + 1], none[place : place + 1])
        assert both.by_stage(listed, none)[place] == pytest.approx(alone[0])


def a_lot(base, ready, text, placed=True):
    made, issues = parse_lot(text, "a.yaml", base)
    assert made, issues
    if placed:
        return weighed(made, base, ready)
    return set_against(gather(made, base, ready), ready)


CUPPED = "{lot: A, process: washed, cuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, notes: [{note: smoky, cups: 3}]}]}]}"


def everywhere(lot):
    return np.ones((1, len(lot.weighed.network.structure.faults)))


def test_the_mean_of_the_lean_over_the_shares_of_the_mechanism_is_one(base, ready):
    lot = a_lot(base, ready, CUPPED, placed=False)
    [own], _ = shares(base, lot, lot.weighed.network, everywhere(lot))
    assert own.sum() == pytest.approx(1)
    uncapped = base.settings.precedents.model_copy(update={"cap": 50.0})
    leaning = ready.cases.leaning(lot.marks, uncapped, own)
    assert max(leaning.values()) > 1 > min(leaning.values())
    mean = sum(share * leaning[stage] for share, stage in zip(own, base.stages, strict=True))
    assert mean == pytest.approx(1)


def test_the_share_of_a_stage_is_that_of_its_listed_faults_and_of_its_part_of_what_is_not_listed(base, ready):
    lot = a_lot(base, ready, CUPPED, placed=False)
    weigh, network = lot.weighed, lot.weighed.network
    stages = [
        frozenset(p for fault in base.faults_of(stage) for p in lot.whole.fault[fault])
        for stage in base.stages
    ]
    every = frozenset(range(len(network.structure.faults)))
    *live, any_of = source_probabilities(network, weigh.evidence, weigh.traced, [*stages, every])[0]
    half = everywhere(lot)
    half[0, list(stages[0])] = 0.0  # a second row in which nothing went wrong in the first stage
    found, other = shares(base, lot, network, np.concatenate([everywhere(lot), half]))
    assert found.sum(axis=1) == pytest.approx([1, 1])
    listed = np.array([live])
    whole = listed + other.row(0).by_stage(listed, np.array([1 - any_of]))
    assert found[0] == pytest.approx(whole[0] / whole.sum())
    assert found[1, 0] < found[0, 0]


def test_the_lean_multiplies_the_odds_of_the_faults_of_a_stage_and_of_no_other(base, ready):
    lot = a_lot(base, ready, CUPPED, placed=False)
    assert leaned(base, lot, {}) is lot
    made = leaned(base, lot, {"drying": 3.0})
    before, after = (one.weighed.network.numbers.prior for one in (lot, made))
    odds = (after / (1 - after)) / (before / (1 - before))
    own = {place for fault in base.faults_of("drying") for place in lot.whole.fault[fault]}
    for place in range(odds.shape[1]):
        assert odds[0, place] == pytest.approx(3.0 if place in own else 1.0)
    assert made.leaning == {"drying": 3.0}
    spoken = [one.weighed.spoken.numbers.prior for one in (lot, made)]
    assert (spoken[1] >= spoken[0] - 1e-15).all()
    assert (spoken[1] > spoken[0]).any()


def test_a_note_that_is_normal_for_the_coffee_needs_no_cause_and_a_strange_one_does(base, ready):
    plain = a_lot(base, ready, CUPPED)
    needed = {}
    for name, text in (
        ("expected", CUPPED.replace("smoky", "earthy").replace("washed", "wet_hulled, species: robusta")),
        ("strange", CUPPED.replace("smoky", "petrol")),
    ):
        needed[name] = float(a_lot(base, ready, text).unlisted.needed[0])
    assert 0 < plain.unlisted.needed[0] <= 1
    assert needed["expected"] < needed["strange"]


def test_stages_hold_what_is_listed_and_the_part_that_is_not(base, ready):
    lot = a_lot(base, ready, CUPPED)
    listed = np.linspace(0.05, 0.1, len(base.stages))
    whole, more = with_unlisted(base, lot, listed, 0.4)
    assert whole == pytest.approx(listed + more)
    assert 0 < more.sum() <= 0.4
    alone, none = with_unlisted(base, replace(lot, unlisted=None), listed, 0.4)
    assert alone == pytest.approx(listed)
    assert not none.any()


def test_of_a_lot_never_cupped_each_stage_has_what_its_priors_make_of_it(base, ready):
    lot = a_lot(base, ready, "{lot: A, process: washed}", placed=False)
    network = lot.weighed.network
    found = gone_wrong(base, lot, network, everywhere(lot))[0]
    for at, stage in enumerate(base.stages):
        places = [place for fault in base.faults_of(stage) for place in lot.whole.fault[fault]]
        assert found[at] == pytest.approx(
            1 - prod(1 - float(network.numbers.prior[0, place]) for place in places)
        )
    [own], other = shares(base, lot, network, everywhere(lot))
    assert other is None
    assert own == pytest.approx(found / found.sum())


def test_with_every_leak_of_a_segment_stopped_there_is_less_to_explain(base, ready):
    text = (
        "{lot: A, cuppings: [{sample: pre_shipment, cups: 5, tasters: [{taster: a, notes: [], not_found: [smoky]}]},"
        " {sample: arrival, cups: 5, tasters: [{taster: a, notes: [{note: smoky, cups: 4}]}]}]}"
    )
    lot = a_lot(base, ready, text)
    [segments] = lot.unlisted.segments
    assert segments.sum() == pytest.approx(1)
    assert len(segments) == len(lot.chain.segments) > 1
    stages = [{stage for stage, _, _ in places} for places in lot.chain.segments]
    for here, members in zip(stages, lot.unlisted.members, strict=True):
        assert {stage for stage, is_in in zip(base.stages, members, strict=True) if is_in} <= here
    late = sum(share for share, here in zip(segments, stages, strict=True) if "transport" in here)
    assert late > 0.75, "most of it: the note came after a sample that had not got it"


def test_nothing_is_absent_where_something_was_seen_or_measured(base, ready):
    lot = a_lot(base, ready, CUPPED)
    on = everywhere(lot)
    there = nothing_there(lot.weighed.network, lot.weighed.evidence, lot.weighed.traced, on)
    assert 0 < there[0] < 1
    signs = replace(lot.weighed.traced, signs=frozenset({0}))
    assert nothing_there(lot.weighed.network, lot.weighed.evidence, signs, on) == pytest.approx([0.0])


def test_what_is_needed_is_one_less_the_chance_that_nothing_is_there(base, ready):
    lot = a_lot(base, ready, CUPPED.replace("smoky", "petrol"))
    on = everywhere(lot)
    weigh = lot.weighed
    nothing = nothing_there(weigh.network, weigh.evidence, weigh.traced, on)
    twice = unlisted(base, lot, weigh.network, on, nothing * 8, nothing * 2)
    assert twice.needed[0] == pytest.approx(0.5, abs=0.01)
    assert unlisted(base, lot, weigh.network, on, nothing, nothing * 0).needed[0] == pytest.approx(
        1 - nothing[0], abs=0.02
    )


def test_a_lot_with_one_more_answer_leans_as_it_did(base, ready):
    lot = a_lot(base, ready, CUPPED)
    bare = a_lot(base, ready, CUPPED, placed=False)
    again = with_leaning(base, bare, lot.leaning)
    assert again.leaning == lot.leaning
    sets = [frozenset(lot.whole.fault[fault]) for fault in base.faults_of("drying")]
    both = [
        source_probabilities(one.weighed.network, one.weighed.evidence, one.weighed.traced, sets)[0]
        for one in (lot, again)
    ]
    assert list(both[0]) == pytest.approx(list(both[1]))
    for name in ("needed", "segments"):
        assert getattr(again.unlisted, name) == pytest.approx(getattr(lot.unlisted, name))
    untraced = a_lot(base, ready, "{lot: A}", placed=False)
    assert with_leaning(base, untraced, {}) is untraced
