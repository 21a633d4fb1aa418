"""Where a taster stands, worked by hand: sessions, due days, alarms beyond chance, notes that are weak or mixed up, and what each needs."""

from __future__ import annotations

import datetime

import pytest
from scipy.stats import binom

from tracer.casebook.sessions import Kept, add_drill, first_answers
from tracer.panel.standing import standings, weak_and_strong

DAY = datetime.date(2026, 3, 2)


def cup(number, given=(), named=(), session=1, taster="Ana", on=DAY):
    return Kept(session, on, taster, f"{number:03d}", f"s{number}", given, named, 3.0, False)


def cups(right, of, session=1, taster="Ana", on=DAY, note="musty"):
    """Cups with a note, of which so many are named right and the others left blank."""
    return [
        cup(session * 100 + place, (note,), (note,) if place < right else (), session, taster, on)
        for place in range(of)
    ]


def standing(rows, base, on=DAY):
    (one,) = standings(rows, base, on)
    return one


def test_a_visit_is_the_right_cups_of_a_session(base):
    rows = cups(7, 9) + cups(3, 4, session=2, on=DAY + datetime.timedelta(days=30))
    found = standing(rows, base)
    assert [(v.right, v.cups) for v in found.visits] == [(7, 9), (3, 4)]
    assert (found.cups, found.last) == (13, DAY + datetime.timedelta(days=30))


def test_a_session_of_one_cup_is_a_visit_too(base):
    assert [(v.on, v.right, v.cups) for v in standing(cups(1, 1), base).visits] == [(DAY, 1, 1)]


def test_a_cup_is_right_where_just_what_was_in_it_is_named(base):
    rows = [
        cup(1, ("musty", "earthy"), ("earthy", "musty")),
        cup(2, ("musty",), ("musty", "earthy")),
        cup(3, (), ()),
        cup(4, (), ("musty",)),
    ]
    assert [(v.right, v.cups) for v in standing(rows, base).visits] == [(2, 4)]


def test_the_next_session_is_due_after_the_days_of_the_settings_and_overdue_the_day_after(base):
    rows = cups(9, 9)
    due = DAY + datetime.timedelta(days=base.settings.panel.every_days)
    assert standing(rows, base).due == due
    on_the_day, after = standing(rows, base, due), standing(rows, base, due + datetime.timedelta(days=1))
    assert (on_the_day.overdue, after.overdue) == (False, True)
    assert "calibrate again: it is due" not in on_the_day.needs
    assert "calibrate again: it is due" in after.needs


def test_whoever_is_due_longest_comes_first_and_one_name_is_one_taster_however_written(base):
    early = cups(9, 9, taster="Zoe")
    late = cups(9, 9, session=2, taster="Ana", on=DAY + datetime.timedelta(days=1))
    again = cups(9, 9, session=3, taster="ANA", on=DAY + datetime.timedelta(days=1))
    found = standings(late + again + early, base, DAY)
    assert [(one.taster, one.cups) for one in found] == [("Zoe", 9), ("ANA", 18)]


@pytest.mark.parametrize(
    ("earlier", "last", "alarm", "why"),
    [
        ([(12, 12)], (2, 6), True, "a dozen earlier cups are enough"),
        ([(11, 11)], (2, 6), False, "eleven are not"),
        ([(6, 6), (6, 6)], (2, 6), True, "of all earlier sessions together"),
        ([(12, 12)], (5, 6), False, "one miss is chance"),
        ([(6, 12)], (2, 6), False, "no worse than ever"),
        ([], (0, 12), False, "the first session has no norm"),
    ],
)
def test_the_alarm_goes_where_the_last_session_is_worse_than_the_earlier_ones_beyond_chance(
    base, earlier, last, alarm, why
):
    sessions = [*earlier, last]
    rows = [
        one
        for number, (right, of) in enumerate(sessions, 1)
        for one in cups(right, of, number, on=DAY + datetime.timedelta(days=number))
    ]
    assert standing(rows, base).alarm is alarm, why


@pytest.mark.parametrize("right", range(9))
def test_the_alarm_is_the_lower_tail_of_the_binomial_at_the_norm_with_half_a_cup_added(base, right):
    # Norm (18 + 0.5) / (24 + 1) = 0.74, after Hautus; tail by scipy.
    rows = cups(18, 24) + cups(right, 8, session=2, on=DAY + datetime.timedelta(days=9))
    tail = binom.cdf(right, 8, 18.5 / 25)
    assert standing(rows, base).alarm == (tail <= base.settings.panel.alarm_limit)


def test_two_notes_named_for_each_other_twice_are_mixed_up_and_once_is_an_accident(base):
    once = [cup(1, ("musty",), ("earthy",)), *cups(3, 3, session=1)[1:]]
    assert standing(once, base).mixed_up == ()
    twice = [cup(1, ("musty",), ("earthy",)), cup(2, ("musty",), ("earthy",)), cup(3, ("musty",), ("musty",))]
    assert standing(twice, base).mixed_up == (("musty", "earthy", 2, 3),)
    (need,) = [one for one in standing(twice, base).needs if one.startswith("side by side")]
    musty, earthy = base.descriptors["musty"].label, base.descriptors["earthy"].label
    assert need.startswith(f"side by side: {musty} and {earthy} (2 of 3 mixed up)")


def test_the_pairs_mixed_up_most_come_first_and_two_are_practised(base):
    rows = [
        *(cup(place, ("musty",), ("earthy",)) for place in range(2)),
        *(cup(10 + place, ("smoky",), ("phenolic",)) for place in range(3)),
        *(cup(20 + place, ("grassy_green",), ("potato_pea",)) for place in range(2)),
    ]
    found = standing(rows, base)
    assert [number for *_, number, _ in found.mixed_up] == [3, 2, 2]
    assert len([one for one in found.needs if one.startswith("side by side")]) == 2


def test_blanks_are_no_note_that_is_mixed_up(base):
    rows = [cup(place, (), ("musty",)) for place in range(3)] + [
        cup(10 + place, ("musty",), ()) for place in range(3)
    ]
    assert standing(rows, base).mixed_up == ()


def test_a_note_never_found_in_four_cups_may_be_one_that_the_taster_cannot_smell(base):
    # Of Beta(14, 6): after 0 of 4 the mean is 14/24, not below a half; after 0 of 30 it is 14/50 and surely weak.
    test = f"test whether {base.descriptors['musty'].label} can be smelled at all (ascending 3-AFC)"
    assert test in standing(cups(0, 4), base).needs
    assert test not in standing(cups(0, 3), base).needs
    assert test not in standing(cups(1, 4), base).needs


def test_a_note_surely_found_less_than_half_the_time_is_practised(base):
    practise = f"practise {base.descriptors['musty'].label} at a strength that is found, then lower it"
    assert practise in standing(cups(0, 30), base).needs
    assert practise not in standing(cups(30, 30), base).needs
    # 14 + 1 of 20 + 11: mean 0.484, but the upper end of the 90 % interval is 0.63: below 0.7, practised.
    assert practise in standing(cups(1, 11), base).needs
    # 14 + 4 of 20 + 16: mean exactly a half, not below it.
    assert practise not in standing(cups(4, 16), base).needs


def test_who_names_a_note_where_it_is_not_needs_blanks(base):
    rows = cups(6, 6) + [cup(300 + place, (), ("musty",)) for place in range(6)]
    assert (
        f"more blanks: names {base.descriptors['musty'].label} where it is not" in standing(rows, base).needs
    )
    quiet = cups(6, 6) + [cup(300 + place, (), ()) for place in range(6)]
    assert not [one for one in standing(quiet, base).needs if one.startswith("more blanks")]


def test_the_weakest_note_of_a_taster_stands_first(base):
    found = standing(cups(6, 6) + cups(1, 6, session=2, note="earthy"), base)
    assert [note for note, _ in found.scores] == ["earthy", "musty"]
    assert [(one.counts.hits, one.counts.misses) for _, one in found.scores] == [(1, 5), (6, 0)]


def test_the_panel_s_notes_are_told_weakest_first_with_their_cups(base):
    rows = cups(6, 6) + cups(1, 6, session=2, note="earthy", taster="Bui")
    hit = base.settings.tasters.hit
    found = weak_and_strong(rows, base)
    assert [(note, number) for note, _, number in found] == [("earthy", 6), ("musty", 6)]
    assert found[0][1].mean == pytest.approx((hit.a + 1) / (hit.a + hit.b + 6))


def test_published_cases_of_the_drill_stand_beside_the_cups_by_their_first_answers(base, tmp_path):
    book = tmp_path / "book.sqlite"
    at = datetime.datetime(2026, 3, 1, 9, tzinfo=datetime.UTC)
    for person, card, was_right, day in (
        ("Ana", "case:one:stage", False, 0),
        ("ana", "case:one:stage", True, 1),
        ("Ana", "case:two:stage", True, 1),
        ("Ana", "stage:x:y", True, 1),
        ("Ana", "case:three:stage", True, 30),
        ("Bui", "case:one:stage", True, 0),
    ):
        add_drill(book, person, card, was_right, at + datetime.timedelta(days=day))
    told = first_answers(book, "case", datetime.date(2026, 3, 10))
    assert told == {"ana": (1, 2), "bui": (1, 1)}
    rows = [cup(1, ("musty",), ("musty",), taster=name) for name in ("Ana", "Chi")]
    found = {one.taster: one.cases for one in standings(rows, base, datetime.date(2026, 3, 10), told)}
    assert found == {"Ana": (1, 2), "Chi": (0, 0)}


def test_under_the_alarm_stands_what_to_do_about_it_before_the_usual_practice(base):
    later = DAY + datetime.timedelta(days=30)
    rows = cups(20, 20) + cups(2, 10, session=2, on=later)
    found = standing(rows, base)
    assert found.alarm
    assert found.needs[0].startswith("worse than before: look for the reason first")
    assert found.needs[1].startswith("calibrate again within days")
    steady = standing(cups(20, 20) + cups(9, 10, session=2, on=later), base)
    assert not any("worse than before" in need or "within days" in need for need in steady.needs)
