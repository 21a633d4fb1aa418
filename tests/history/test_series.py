"""A log as a series in time, and which logs can be used: worked by hand on a few readings."""

from __future__ import annotations

import dataclasses

import numpy as np

from tests.history.build import PHYSICS, START, log_at, lot
from tracer.history.series import (
    Window,
    durations,
    even,
    lasting_highest,
    longest,
    rolling_mean,
    runs,
    span,
    steps_since_start,
    usual_step,
    whole,
    windows,
)
from tracer.history.usable import in_turn, left_out, logs_of, why_not
from tracer.lots.logs.log import Defect

# A log as a series in time.


def test_a_window_of_one_row_is_told_without_a_span():
    assert Window("a.csv", "2026-01-01 04:00", "2026-01-01 04:00", 6, 6, 1.0).told == (
        "a.csv row 6 (2026-01-01 04:00)"
    )
    assert Window("a.csv", "04:00", "06:00", 6, 1008, 3.0).told == "a.csv rows 6 to 1,008 (04:00 to 06:00)"


def test_a_reading_before_a_gap_stands_for_no_more_than_the_usual_step():
    gap = log_at([0, 1, 1.5, 6], temperature=[1, 2, 3, 4])
    assert usual_step(gap) == 1
    assert durations(gap).tolist() == [1, 0.5, 1, 1]
    assert span(gap) == 6


def test_even_steps_are_means_and_an_empty_one_keeps_the_reading_before():
    one = log_at([0, 0.5, 1, 3.25], temperature=[10, 20, np.nan, 40], humidity=[1, 2, 3, 4])
    with np.errstate(all="raise"):
        times, means = even(one, 1.0)
    assert steps_since_start(one, 1.0).tolist() == [0, 0, 1, 3]
    assert means["temperature"].tolist() == [15, 15, 15, 40]
    assert means["humidity"].tolist() == [1.5, 3, 3, 4]
    assert ((times - START) / np.timedelta64(3600, "s")).tolist() == [0, 1, 2, 3]


def test_a_channel_that_begins_with_nothing_stays_unknown_until_its_first_reading():
    _, means = even(log_at([0, 1, 2], temperature=[np.nan, 7, 8]), 1.0)
    assert np.isnan(means["temperature"][0])
    assert means["temperature"].tolist()[1:] == [7, 8]


def test_a_step_is_a_second_at_least():
    assert steps_since_start(log_at([0, 1 / 3600, 2 / 3600], temperature=[1, 2, 3]), 0.0).tolist() == [
        0,
        1,
        2,
    ]


def test_a_rolling_mean_reaches_back_as_far_as_there_are_readings():
    assert rolling_mean(np.array([1.0, 2, 3, 6]), 2).tolist() == [1, 1.5, 2.5, 4.5]
    assert rolling_mean(np.array([1.0, 2, 3, 6]), 9).tolist() == [1, 1.5, 2, 3]


def test_the_lasting_highest_held_for_so_many_readings_in_a_row():
    values = np.array([1.0, 5, 6, 2, 9])
    assert lasting_highest(values, 2) == 5
    assert lasting_highest(values, 1) == 9
    assert lasting_highest(values, 0) == 9
    assert lasting_highest(values, 99) == 1
    assert lasting_highest(np.array([np.nan, 5, 6]), 2) == 5


def test_stretches_that_hold_are_the_longest_in_order_of_time():
    assert runs(np.array([True, False, True, True])) == [(0, 0), (2, 3)]
    assert longest(np.zeros(3, dtype=bool), np.ones(3)) == 0
    assert longest(np.array([True, False, True, True]), np.array([5.0, 1, 1, 2])) == 5
    mask = np.tile([True, False], 62)
    mask[7] = True
    one = log_at(np.arange(124), temperature=np.zeros(124))
    found = windows(one, mask)
    assert len(found) == 60
    assert found[3].hours == 3
    assert [window.first for window in found] == sorted(window.first for window in found)
    assert found[0] == Window("a.csv", "2026-01-01 00:00", "2026-01-01 00:00", 2, 2, 1.0)
    assert windows(one, mask, np.full(124, 2.0))[0].hours == 2
    [all_of_it] = whole(log_at([0, 1, 2], temperature=[1, 2, 3]))
    assert (all_of_it.first_row, all_of_it.last_row, all_of_it.hours) == (2, 4, 3)


# Which logs can be used.


def steady(hours, **fields):
    return dataclasses.replace(log_at(hours, temperature=np.zeros(len(hours))), **fields)


def test_a_fifth_of_the_rows_or_the_time_may_be_missing_and_no_more():
    hours = list(range(9))
    assert why_not(steady(hours[:8], total=10), PHYSICS) is None
    assert why_not(steady(hours[:7], total=9), PHYSICS) == (
        "22% of the rows of a.csv could not be used (more than 20%)"
    )
    assert why_not(steady([0, *range(2, 11)], gaps=((2, 3, 2.0),)), PHYSICS) is None
    assert why_not(steady([0, *range(3, 11)], gaps=((2, 3, 2.1),)), PHYSICS) == (
        "21% of the time in a.csv has no readings (more than 20%)"
    )


def test_logs_of_a_place_hold_what_is_needed_and_the_longest_comes_first():
    short = log_at([0, 1, 2], file="short", temperature=[1, 2, 3], humidity=[1, 2, 3])
    long = log_at([0, 1, 2, 3], file="long", temperature=[1, 2, 3, 4], humidity=[1, 2, 3, 4])
    warm = log_at([0, 1, 2, 3, 4], file="warm", temperature=[1, 2, 3, 4, 5])
    tank_log = log_at([0, 1], file="tank", where="tank", temperature=[1, 2])
    other = log_at([0, 1], file="other", stage="drying", temperature=[1, 2])
    sheet = lot(short, long, warm, tank_log, other)

    def names(*needs):
        return [one.file for one in logs_of(sheet, "transport", ("air",), PHYSICS, needs)]

    assert names() == ["warm", "long", "short"]
    assert names("humidity") == ["long", "short"]
    assert names("ph") == []
    broken = steady(range(9), file="broken", total=20)
    assert [one.file for one in logs_of(lot(broken, short), "transport", ("air",), PHYSICS)] == ["short"]


def later(hours, at, file="b.csv", where="air", **fields):
    made = log_at(at, file=file, where=where, temperature=np.ones(len(at)))
    return dataclasses.replace(made, **fields) if fields else made


def test_a_logger_that_follows_is_joined_and_one_that_runs_beside_stays_apart():
    first = steady(range(5))
    [both] = in_turn([later(0, range(5, 9)), first], PHYSICS)
    assert both.file == "a.csv + b.csv"
    assert both.total == 9
    assert both.rows.tolist() == [2, 3, 4, 5, 6, 2, 3, 4, 5]
    assert both.channels["temperature"].tolist() == [0] * 5 + [1] * 4
    assert len(both.at) == 9
    assert both.gaps == ()
    bad = Defect("twice the same time", 1, (3,), True)
    worse = Defect("no number", 1, (4,), True)
    [both] = in_turn(
        [dataclasses.replace(first, defects=(bad,)), later(0, range(5, 9), defects=(worse,))], PHYSICS
    )
    assert both.defects == (bad, worse)
    assert len(in_turn([first, later(0, range(4, 9))], PHYSICS)) == 2
    assert len(in_turn([first, later(0, range(5, 9), where="surface")], PHYSICS)) == 2
    humid = dataclasses.replace(later(0, range(5, 9)), channels={"humidity": np.ones(4)})
    assert len(in_turn([first, humid], PHYSICS)) == 2


def test_more_than_three_usual_steps_between_two_loggers_are_a_gap():
    first = dataclasses.replace(steady(range(20)), gaps=((4, 5, 0.5),))
    second = dataclasses.replace(later(0, range(22, 40)), gaps=((6, 7, 0.25),))
    assert in_turn([first, second], PHYSICS)[0].gaps == ((4, 5, 0.5), (6, 7, 0.25))
    second = dataclasses.replace(later(0, range(23, 40)), gaps=((6, 7, 0.25),))
    assert in_turn([first, second], PHYSICS)[0].gaps == ((4, 5, 0.5), (21, 2, 3.0), (6, 7, 0.25))
    far = later(0, range(60, 70))
    assert len(in_turn([first, far], PHYSICS)) == 2


def test_what_is_not_read_of_a_place_is_told_with_what_was():
    long, short = steady(range(9)), later(0, range(4))
    told = {one.what: one.because for one in left_out(lot(long, short), PHYSICS, {"a.csv"})}
    assert list(told) == ["log b.csv"]
    assert told["log b.csv"].startswith("a.csv is longer and was read of this place")
    told = {one.what: one.because for one in left_out(lot(long, short), PHYSICS, {"b.csv"})}
    assert told["log a.csv"].startswith("b.csv was read of this place, as it holds more of what is needed")
    same = later(0, range(9))
    [told] = left_out(lot(long, same), PHYSICS, {"a.csv"})
    assert told.because.startswith("a.csv is longer")
    nobody = {one.what for one in left_out(lot(long, short), PHYSICS, set())}
    assert nobody == {"log b.csv"}
    broken = steady(range(20), file="broken", total=99)
    told = {one.what: one.because for one in left_out(lot(long, short, broken), PHYSICS, set())}
    assert set(told) == {"log b.csv", "log broken"}
    assert told["log b.csv"].startswith("a.csv is longer")
    joined = later(0, range(9, 12))
    assert list(left_out(lot(long, joined), PHYSICS, {"a.csv + b.csv"})) == []
    elsewhere = later(0, range(3), where="surface")
    assert list(left_out(lot(long, elsewhere), PHYSICS, {"a.csv", "b.csv"})) == []
    [broken] = left_out(lot(steady(range(4), total=10)), PHYSICS, {"a.csv"})
    assert (broken.stage, broken.what) == ("transport", "log a.csv")
    assert "could not be used" in broken.because
