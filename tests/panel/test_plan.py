"""A training plan: from novice to calibrated, by what was found, with amounts that the cards give, and pairs that are one reference said."""

from __future__ import annotations

import datetime
import json
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.command import run
from tracer.casebook.sessions import Kept
from tracer.knowledge.load import load_or_fail
from tracer.panel.cards import candidates
from tracer.panel.plan import make, steps_passed, usual_notes
from tracer.panel.references import references

BASE = load_or_fail()
FIRST = datetime.date(2026, 3, 2)
STEPS = BASE.settings.panel.plan.steps
NOTES = usual_notes(BASE)


def cup(taster: str, note: str, multiple: float, found: bool, session: int = 1) -> Kept:
    day = FIRST - datetime.timedelta(days=30 - session)
    return Kept(
        session, day, taster, f"{100 + session}", note, (note,), (note,) if found else (), multiple, False
    )


def test_every_note_begins_three_times_above_threshold_and_goes_down_one_step_at_a_time():
    plan = make(BASE, (), ("Ana", "Bui"), NOTES[:4], 6, FIRST)
    assert STEPS[0] == 3
    for note in NOTES[:4]:
        served = [one.multiple for week in plan.weeks for one in week.serves if one.note == note]
        assert served[0] == 3
        assert served == sorted(served, reverse=True)
        assert all(STEPS.index(other) - STEPS.index(one) <= 1 for one, other in pairwise(served))


@given(
    st.lists(st.sampled_from(NOTES), min_size=1, max_size=12, unique=True),
    st.integers(2, 20),
    st.integers(1, 8),
)
@settings(max_examples=25, deadline=None)
def test_no_session_is_longer_than_tasters_bear_and_none_holds_two_notes_of_one_reference(
    notes, weeks, tasters
):
    plan = make(BASE, (), [f"T{n}" for n in range(tasters)], notes, weeks, FIRST)
    assert [week.number for week in plan.weeks] == list(range(1, weeks + 1))
    assert [week.check for week in plan.weeks] == [False] * (weeks - 1) + [True]
    for week in plan.weeks:
        assert week.cups <= BASE.settings.panel.most_cups
        assert week.blanks >= 1
        assert len({one.card.compound for one in week.serves}) == len(week.serves)
        assert week.trainer_minutes > week.taster_minutes > 0


def test_what_is_weighed_makes_the_strength_that_is_planned():
    plan = make(BASE, (), ("Ana", "Bui", "Chi"), NOTES[:6], 4, FIRST)
    litres = BASE.settings.panel.plan.litres_a_cup * BASE.settings.panel.plan.spare
    for week in plan.weeks:
        for one in week.serves:
            volume = 3 * (1 if week.check else 2) * litres
            assert one.card.volume == pytest.approx(volume, abs=1e-3)
            assert one.card.needed == pytest.approx(one.card.threshold * one.multiple * one.card.volume)
            assert one.mass * 1000 * 0.98 > one.card.needed
    bought = dict(plan.buy)
    for label in bought:
        weighed = sum(one.mass for week in plan.weeks for one in week.serves if one.card.label == label)
        assert bought[label] == pytest.approx(weighed)


def test_a_step_is_passed_when_the_last_two_cups_at_it_or_weaker_were_found():
    assert steps_passed((), "musty", STEPS) == 0
    assert steps_passed([cup("Ana", "musty", 3, True)], "musty", STEPS) == 0
    twice = [cup("Ana", "musty", 3, True, n) for n in (1, 2)]
    assert steps_passed(twice, "musty", STEPS) == 1
    assert steps_passed([*twice, cup("Ana", "musty", 3, False, 3)], "musty", STEPS) == 0
    assert steps_passed([cup("Ana", "musty", STEPS[-1], True, n) for n in (1, 2)], "musty", STEPS) == len(
        STEPS
    )


def test_the_slowest_taster_sets_the_strength_and_the_weakest_note_comes_first():
    cups = [cup("Ana", note, 3, True, n) for note in NOTES[:3] for n in (1, 2)]
    cups += [cup("Bui", note, 3, note != NOTES[2], n) for note in NOTES[:3] for n in (1, 2)]
    plan = make(BASE, cups, ("Ana", "Bui"), NOTES[:3], 5, FIRST)
    first = {one.note: one.multiple for one in plan.weeks[0].serves}
    assert first == {NOTES[0]: STEPS[1], NOTES[1]: STEPS[1], NOTES[2]: 3}
    assert plan.weeks[0].serves[0].note == NOTES[2]
    assert [one.state for one in plan.starts] == ["training", "training"]
    assert plan.starts[1].weakest[0] == NOTES[2]


def test_who_has_passed_all_is_calibrated_until_due_and_the_panel_comes_back_in_the_fourth_month():
    cups = [cup("Ana", note, STEPS[-1], True, n) for note in NOTES[:2] for n in (1, 2)]
    [start] = make(BASE, cups, ("Ana",), NOTES[:2], 3, FIRST).starts
    assert start.state == "calibrated"
    late = make(BASE, cups, ("Ana",), NOTES[:2], 3, FIRST + datetime.timedelta(days=200))
    assert late.starts[0].state == "training"
    assert 90 < (late.again - late.weeks[-1].on).days <= 122


def test_two_notes_have_different_references_wherever_the_knowledge_has_them():
    served = [note for note in BASE.descriptors if candidates(BASE, note)[0]]
    for one, other in combinations(served, 2):
        found = references(BASE, [one, other])
        both = {c.id for c in candidates(BASE, one)[0]} | {c.id for c in candidates(BASE, other)[0]}
        assert bool(found.one) == (len(both) == 1), (one, other)


def test_a_set_says_which_notes_are_one_reference(tmp_path):
    words = (
        "panel",
        "set",
        "--note",
        "ashy",
        "--note",
        "scorched_note",
        "--note",
        "smoky",
        "--taster",
        "Ana",
        "--out",
        str(tmp_path / "s"),
    )
    done = run(*words)
    assert done.returncode == 0, done.stderr
    assert "Ashy and Scorched" in done.stderr
    assert "are one reference here (4-ethylguaiacol" in done.stderr
    assert "Prepared from: Ashy: 4-ethylguaiacol" in done.stdout


def test_the_sets_of_a_printed_plan_can_be_made_as_they_stand(tmp_path):
    import shlex

    done = run(
        "panel",
        "plan",
        "--taster",
        "Ana",
        "--taster",
        "Bùi N.",
        "--weeks",
        "3",
        "--start",
        "2026-03-02",
        "--note",
        "musty",
        "--note",
        "phenolic",
    )
    assert done.returncode == 0, done.stderr
    for told in (
        "Where each begins",
        "What to weigh",
        "What to buy",
        "Time in all",
        "in month 4 after the check",
    ):
        assert told in done.stdout
    text = " ".join(
        line.strip() for line in done.stdout.split("The sets")[1].split("Before each")[0].splitlines()
    )
    sets = [f"tracer panel set{part}" for part in text.split("tracer panel set")[1:]]
    assert len(sets) == 3
    for one in sets:
        made = run(*shlex.split(one)[1:], cwd=tmp_path)
        assert made.returncode == 0, made.stderr
    data = run("panel", "plan", "--taster", "Ana", "--weeks", "3", "--json")
    assert json.loads(data.stdout)["weeks"][0]["serves"][0]["multiple"] == 3


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "there is no taster to plan for"),
        (("--taster", "Ana", "--start", "soon"), "--start: error"),
        (("--taster", "Ana", "--note", "blorp"), "is no off-note"),
        (("--taster", "Ana", "--note", "petroleum"), "is not served"),
    ],
)
def test_a_plan_that_cannot_be_made_is_refused_with_a_mend(words, told):
    done = run("panel", "plan", *words)
    assert done.returncode == 1
    assert told in done.stderr
