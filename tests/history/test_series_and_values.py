"""Series and the values made of them, worked by hand on a few readings: what a reading stands for, what is left out, where a limit lies."""

from __future__ import annotations

import dataclasses
import datetime

import numpy as np
import pytest

from tests.history.build import BASE, PHYSICS, PLACE, START, log, log_at, lot, measured, reading
from tracer.history import beds, charts, dryer, drying, isotherm, mould, readings, sampling, tank
from tracer.history.air import deficit, dew_point
from tracer.history.history import Measured, NotAssessed, Proposed
from tracer.history.isotherm import equilibrium, misprinted, water_activity, water_activity_of_wet_basis
from tracer.history.measure import measure
from tracer.history.moisture import as_iso6673, difference, to_dry_basis, to_wet_basis
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
from tracer.history.thin_layer import dry_through
from tracer.history.usable import in_turn, left_out, logs_of, why_not
from tracer.lots.logs.log import Defect
from tracer.lots.lot import BedDay

METHODS = PHYSICS.moisture_methods
DAY = datetime.date(2026, 1, 3)


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
    assert steps_since_start(log_at([0, 1 / 3600, 2 / 3600], temperature=[1, 2, 3]), 0.0).tolist() == [0, 1, 2]


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
    [both] = in_turn([dataclasses.replace(first, defects=(bad,)), later(0, range(5, 9), defects=(worse,))], PHYSICS)
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
    assert [one.because for one in left_out(lot(long, same), PHYSICS, {"a.csv"})][0].startswith("a.csv is longer")
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


# The days of a bed.


def bed(on=1, layer=None, turns=None, rain=None, covered=None, stage="drying"):
    return BedDay(stage, datetime.date(2026, 1, on), turns, layer, rain, covered, PLACE)


def of_beds(*days):
    return {one.record: one for one in beds.measures(lot(beds=days), PHYSICS)}


def test_the_deepest_layer_counts_and_its_range_is_kept():
    found = of_beds(bed(1, layer=3.0), bed(2, layer=7.0), bed(3))["layer"]
    assert (found.value, found.low, found.high) == (7, 3, 7)
    assert found.inputs == "deepest of 2 days of the bed log"
    assert of_beds(bed(1, layer=3.0, stage="fermentation")) == {}


def test_turns_are_judged_where_half_of_the_days_tell_them():
    assert of_beds(bed(1, turns=3), bed(2))["turned_daily"].value == "yes"
    assert of_beds(bed(1, turns=2), bed(2, turns=3))["turned_daily"].value == "no"
    assert "turned_daily" not in of_beds(bed(1, turns=3), bed(2), bed(3))
    assert of_beds(bed(1, turns=4), bed(2, turns=3))["turned_daily"].inputs == (
        "3.5 turns a day, in the middle of 2 days"
    )


def test_rain_without_cover_reached_the_coffee_and_its_days_are_named():
    found = of_beds(bed(1, rain="yes", covered="no"), bed(2, rain="yes", covered="yes"), bed(3, rain="no"))
    assert (found["rain_on_coffee"].value, found["covered"].value) == ("yes", "no")
    assert found["rain_on_coffee"].inputs == "1 days of rain without cover"
    [day] = found["rain_on_coffee"].windows
    assert (day.first, day.last, day.first_row, day.last_row, day.hours) == ("2026-01-01", "2026-01-01", 1, 1, 24)
    assert found["covered"].windows == found["rain_on_coffee"].windows


def test_no_rain_on_the_coffee_is_said_only_where_every_day_says_so():
    found = of_beds(bed(1, rain="no"), bed(2, rain="yes", covered="yes"))
    assert found["rain_on_coffee"].value == "no"
    assert "covered" not in found
    assert of_beds(bed(1, rain="no", covered="yes"))["covered"].value == "yes"
    assert "rain_on_coffee" not in of_beds(bed(1, rain="no"), bed(2))
    assert "rain_on_coffee" not in of_beds(bed(1, rain="yes"))
    assert "rain_on_coffee" not in of_beds(bed(1, covered="yes"))
    assert "covered" not in of_beds(bed(1, covered="yes"), bed(2, covered="no"))


# Charts.


def test_a_chart_has_a_mean_for_each_step_and_nothing_where_nothing_was_read():
    one = log_at([0, 1, 2, 120, 239], temperature=[1, 2, 3.456, 4, 5], humidity=[9, 8, 7, np.nan, 5])
    wet = Window("a.csv", "x", "y", 2, 3, 1.0)
    other = dataclasses.replace(wet, file="b.csv")
    found = [
        Measured("transit_damp_hours", 1.0, None, None, "", (wet, other)),
        Measured("tank_hours", 1.0, None, None, "", (wet,)),
    ]
    [chart] = charts.charts([one], found)
    assert (chart.stage, chart.where, chart.file) == ("transport", "air", "a.csv")
    assert (chart.rows, chart.dropped, chart.missing) == (5, 0, 0)
    [warm, humid] = chart.series
    assert (warm.name, warm.unit, humid.unit) == ("temperature", "C", "%")
    assert len(chart.times) == len(warm.values) == 240
    assert warm.values[:4] == (1, 2, 3.46, None)
    assert humid.values[120] == 7
    assert chart.times[0] == "2026-01-01 00:00"
    assert chart.times[1] == "2026-01-01 01:00"
    assert chart.times[-1] == "2026-01-10 23:00"
    assert [(one.first, one.last, one.what) for one in chart.shaded] == [("x", "y", "very damp air")]


def test_a_chart_of_a_short_log_steps_by_the_minute():
    [chart] = charts.charts([log_at([0, 0.5, 1], temperature=[1, np.nan, 3])], [])
    assert len(chart.times) == 61
    assert chart.series[0].values[0] == 1
    [chart] = charts.charts([log_at([0, 0.5, 1], temperature=[np.nan, 2, 3])], [])
    assert chart.series[0].values[0] is None
    assert chart.series[0].values[30] == 2
    assert chart.times[1] == "2026-01-01 00:01"


# Heat in a dryer.


def heat(temperature, moisture=(), minutes=60):
    made = log("drying", "coffee", minutes=minutes, temperature=temperature)
    return {one.record: one for one in dryer.measures(lot(made, readings=moisture), PHYSICS)}


def test_coffee_is_too_hot_above_the_limit_and_not_on_it():
    wet = [reading("drying", 0, 50), reading("drying", 99, 50)]
    found = heat([40, 40, 43, 38], wet)
    assert found["overheated_hours"].value == 1
    assert found["overheated_degree_hours"].value == 3
    assert [(w.first_row, w.last_row) for w in found["overheated_hours"].windows] == [(4, 4)]
    dry = [reading("drying", 0, 20), reading("drying", 99, 20)]
    assert heat([40, 45, 46, 38], dry)["overheated_degree_hours"].value == 1
    assert heat([40, 45, 47, 38])["overheated_degree_hours"].value == 2
    assert "above 40 C while wetter than 20 %, else above 45 C" in found["overheated_hours"].inputs


def test_of_two_loggers_in_the_coffee_the_longest_is_read_and_values_are_told_to_a_tenth():
    first, second = log("drying", "coffee", temperature=[46.12, 46.16, 46.16]), log("drying", "coffee", temperature=[50, 50])
    second = dataclasses.replace(second, file="b.csv")
    found = list(dryer.measures(lot(first, second), PHYSICS))
    assert [one.record for one in found] == ["dryer_temperature", "overheated_hours", "overheated_degree_hours"]
    assert [one.value for one in found] == [46.2, 3, 3.4]
    short = log("drying", "coffee", minutes=20, temperature=[46, 46, 40, 40])
    assert [one.value for one in dryer.measures(lot(short), PHYSICS)][1:] == [0.67, 0.7]


def test_one_reading_of_moisture_does_not_say_how_wet_the_coffee_was_while_hot():
    assert heat([43, 43], [reading("drying", 0, 50)])["overheated_hours"].value == 0
    assert heat([43, 43], [reading("drying", 0, 50), reading("drying", 1, 30)])["overheated_hours"].value == 2


def test_a_reading_without_a_day_says_nothing_of_how_wet_the_coffee_was_while_hot():
    assert heat([43, 43], [undated("drying", 50), undated("drying", 50)])["overheated_hours"].value == 0


def test_moisture_runs_straight_between_two_readings():
    # From 30 to 10 % in 10 h: wetter than 20 % for the first five hours.
    found = heat([43] * 11, [reading("drying", 0, 30), reading("drying", 10, 10)])
    assert found["overheated_hours"].value == 5


def test_the_highest_lasting_temperature_held_for_half_an_hour():
    # Readings every ten minutes: three of them in a row.
    found = heat([38, 60, 60, 38, 50, 51, 50, 38], minutes=10)["dryer_temperature"]
    assert found.value == 50
    assert [(window.first_row, window.last_row) for window in found.windows] == [(3, 4), (6, 8)]
    assert "that lasted 30 minutes in drying.csv" in found.inputs


def test_the_loss_an_hour_is_that_from_the_first_reading_to_the_last():
    found = heat([38] * 20, [reading("drying", 2, 40), reading("drying", 5, 30), reading("drying", 12, 15)])
    assert found["drying_points_an_hour"].value == 2.5
    assert found["drying_points_an_hour"].inputs == "40 % to 15 % in 10 h"
    assert "drying_points_an_hour" not in heat([38] * 20, [reading("drying", 2, 40)])
    slow = heat([38] * 20, [reading("drying", 2, 40), reading("drying", 3, 39.75)])
    assert slow["drying_points_an_hour"].value == 0.25
    assert "drying_points_an_hour" not in heat([38] * 20, [undated("drying", 40), undated("drying", 30)])
    assert "drying_points_an_hour" not in heat([38] * 20, [reading("drying", 2, 40), undated("drying", 30)])
    at_once = [reading("drying", 2, 40), reading("drying", 2, 30)]
    assert "drying_points_an_hour" not in heat([38] * 20, at_once)
    alone = lot(readings=[reading("drying", 2, 40), reading("drying", 12, 20)])
    assert list(dryer.measures(alone, PHYSICS)) == []


# Readings.


def undated(stage, moisture, at=None, method="meter"):
    return dataclasses.replace(reading(stage, 0, moisture, method, at), on=None)


def value_at(stage, end, *given):
    found = readings.moisture_at(lot(readings=given), stage, end)
    return None if found is None else found.moisture


def test_readings_stand_by_their_time_and_undated_ones_as_the_sheet_has_them():
    dated = lot(readings=[reading("drying", 9, 12), reading("drying", 1, 40), reading("transport", 0, 11)])
    assert [one.moisture for one in readings.of_stage(dated, "drying")] == [40, 12]
    mixed = lot(readings=[reading("drying", 9, 12), undated("drying", 40)])
    assert [one.moisture for one in readings.of_stage(mixed, "drying")] == [12, 40]
    assert readings.of_stage(lot(readings=[dataclasses.replace(undated("drying", 1), moisture=None)]), "drying") == []


def test_the_reading_at_an_end_is_the_one_that_says_so_else_the_first_or_last_of_several():
    start, end = undated("transport", 11, "start"), undated("transport", 12, "end")
    assert (value_at("transport", "start", end, start), value_at("transport", "end", end, start)) == (11, 12)
    twice = (undated("transport", 11, "start"), undated("transport", 13, "start"))
    assert value_at("transport", "start", *twice) == 11
    ends = (undated("transport", 11, "end"), undated("transport", 13, "end"))
    assert value_at("transport", "end", *ends) == 13
    free = (undated("transport", 11), undated("transport", 12), undated("transport", 13))
    assert (value_at("transport", "start", *free), value_at("transport", "end", *free)) == (11, 13)
    assert value_at("transport", "start", free[0]) is None
    assert value_at("transport", "end", start, free[1]) == 12
    assert value_at("drying", "end", undated("drying", 12)) == 12
    assert value_at("drying", "end", undated("drying", 12, "start")) is None


def of_readings(*given):
    return {one.record: one for one in readings.measures(lot(readings=given), PHYSICS)}


def test_a_reading_fills_its_record_on_the_scale_of_iso_6673_within_two_errors():
    found = of_readings(undated("drying", 12.5, "end", "iso1446"))["moisture_leaving_drying"]
    assert (found.value, found.low, found.high) == pytest.approx((11.5, 10.9, 12.1))
    assert found.inputs == "12.5 % by iso1446"
    assert of_readings(reading("drying", 0, 12.5))["moisture_leaving_drying"].inputs == (
        "12.5 % by meter on 2026-01-01"
    )
    now = of_readings(undated("destination_storage", 12), undated("transport", 11, "start"))
    assert (now["moisture_now"].value, now["moisture_at_loading"].value) == (12, 11)


def test_a_gain_is_real_beyond_two_errors_of_both_methods():
    # Two meters: 2 sqrt(0.25 + 0.25) = 1.41 points.
    def gain(record, *given):
        found = of_readings(*given).get(record)
        return None if found is None else found.value

    sea = [undated("transport", 11.0, "start"), undated("transport", 12.5, "end")]
    assert gain("sea_gain_is_real", *sea) == "yes"
    assert gain("sea_gain_is_real", sea[0], undated("transport", 12.4, "end")) == "no"
    assert gain("sea_gain_is_real", sea[0], undated("transport", 9.0, "end")) == "no"
    assert gain("sea_gain_is_real", sea[0]) is None
    assert gain("sea_gain_is_real", sea[1]) is None
    assert gain("store_gain_is_real", undated("drying", 11.0, "end"), undated("transport", 12.5, "start")) == "yes"
    assert gain("store_gain_is_real", undated("drying", 11.0, "end"), undated("transport", 12.5, "end")) is None
    words = of_readings(*sea)["sea_gain_is_real"].inputs
    assert words == "gain +1.5 points, error of the two methods 0.7: 11 % by meter, then 12.5 % by meter"


def test_a_difference_of_readings_has_the_error_of_both():
    gain, error, real = difference((11.0, "iso6673"), (12.0, "meter"), METHODS)
    assert (gain, error) == pytest.approx((1.0, np.hypot(0.3, 0.5)))
    assert not real
    exact = METHODS.model_copy(update={"error": {"meter": 0.0, "iso6673": 1.0, "iso1446": 1.0, "unknown": 1.0}})
    assert not difference((11.0, "iso6673"), (13.0, "meter"), exact)[2]
    assert difference((13.1, "iso6673"), (11.0, "meter"), exact)[2]
    assert as_iso6673(12.0, "iso1446", METHODS) == 11.0
    assert (to_dry_basis(20.0), to_wet_basis(25.0)) == (25.0, 20.0)


def doubts(aw, moisture=11.0, method="iso6673", temperature=25.0):
    one = dataclasses.replace(reading("drying", 0, moisture, method), aw=aw, temperature=temperature)
    return list(readings.doubts(lot(readings=[one]), PHYSICS))


def test_a_water_activity_is_doubted_beyond_two_errors_of_what_the_moisture_gives():
    goes = float(water_activity_of_wet_basis(11.0, 25.0, PHYSICS.isotherm))
    assert doubts(goes + 0.099) == []
    assert doubts(goes - 0.099) == []
    [told] = doubts(goes + 0.101)
    assert "within 0.10" in told
    assert doubts(goes + 0.101, method="unknown") == []
    assert len(doubts(goes + 0.261, method="unknown")) == 1
    warm = float(water_activity_of_wet_basis(11.0, 40.0, PHYSICS.isotherm))
    assert warm > goes + 0.02
    assert doubts(warm + 0.09, temperature=40.0) == []
    assert len(doubts(warm + 0.09, temperature=None)) == 1
    assert doubts(goes + 0.099, temperature=None) == []
    assert doubts(None) == []
    assert doubts(0.5, moisture=None) == []
    assert len(doubts(goes + 0.099, moisture=12.0, method="iso1446")) == 0


def test_methods_are_counted_only_where_they_read_moisture():
    bare = dataclasses.replace(undated("drying", 1, method="iso1446"), moisture=None)
    assert list(readings.doubts(lot(readings=[undated("drying", 12), bare]), PHYSICS)) == []
    [told] = readings.doubts(lot(readings=[undated("drying", 12), undated("drying", 12, method="iso1446")]), PHYSICS)
    assert "different methods (iso1446 and meter)" in told or "(iso1446, meter)" in told


# A tank.


def test_a_tank_is_as_warm_as_its_mean_over_time_and_as_sour_as_its_last_hour():
    made = log_at(
        [0, 2, 4, 5, 6], "processing", "tank", temperature=[20, 20, 20, 30, 30], ph=[6, 5.5, 5, 4.4, 4.2]
    )
    found = {one.record: one for one in tank.measures(lot(made), PHYSICS)}
    # Steps 2, 2, 1, 1 h, none longer than the usual, 1.5 h, and the last as that: (20 * 4 + 30 * 2.5) / 6.5.
    assert found["tank_temperature"].value == 23.8
    assert found["tank_highest_temperature"].value == 30
    assert found["tank_hours"].value == 6
    assert found["ph_at_wash"].value == 4.3
    assert all(one.windows[0].hours == 6.5 for one in found.values())
    assert list(tank.measures(lot(dataclasses.replace(made, stage="drying")), PHYSICS)) == []


def test_of_two_loggers_in_a_tank_the_longest_is_read_and_values_are_told_to_a_tenth():
    first = log("processing", "tank", minutes=10, temperature=[20.12, 20.16, 20.26, 20.26], ph=[5, 5, 4.126, 4.128])
    second = dataclasses.replace(log("processing", "tank", minutes=10, temperature=[30, 30], ph=[4, 4]), file="b.csv")
    found = [(one.record, one.value) for one in tank.measures(lot(second, first), PHYSICS)]
    assert found == [("tank_hours", 0.5), ("tank_temperature", 20.2), ("tank_highest_temperature", 20.3), ("ph_at_wash", 4.56)]
    quarter = log("processing", "tank", minutes=5, temperature=[20, 20, 20, 20])
    assert next(iter(tank.measures(lot(quarter), PHYSICS))).value == 0.2


# The drying curve.

AIR = {"temperature": np.full(240, 26.0), "humidity": np.full(240, 60.0)}


def curve(*given, process="washed", **channels):
    return drying.curve(lot(log("drying", "air", **(channels or AIR)), readings=given, process=process), PHYSICS)


def test_no_log_is_no_curve_and_a_log_without_a_reading_near_it_is_told():
    assert drying.curve(lot(readings=[reading("drying", 1, 40)]), PHYSICS) is None
    for far in ([], [reading("drying", -24.1, 40)], [reading("drying", 240 + 24, 12)]):
        found = curve(*far)
        assert isinstance(found, NotAssessed)
        assert (found.stage, found.what) == ("drying", "drying curve")
        assert found.because == "drying.csv has no dated moisture reading beside it"
    assert isinstance(curve(reading("drying", -24, 40)), drying.Curve)
    assert isinstance(curve(reading("drying", 239 + 24, 12)), drying.Curve)
    assert isinstance(curve(undated("drying", 12)), NotAssessed)


def test_the_course_begins_at_an_early_reading_that_is_still_wet_else_at_the_usual_moisture():
    late = reading("drying", 120, 15, "iso6673")

    def start(*given, process="washed"):
        return curve(*given, late, process=process).moisture[0].tolist()

    assert start(reading("drying", 12, 42)) == pytest.approx([42] * 3)
    assert start(reading("drying", 12.5, 42)) == pytest.approx([55] * 3)
    assert start(reading("drying", 12, 25)) == pytest.approx([55] * 3)
    assert start(reading("drying", 12, 25.1)) == pytest.approx([25.1] * 3)
    assert start(process="natural") == pytest.approx([65] * 3)


def posterior(values, errors, wet, usual, spread, factors):
    """Least squares with a lognormal prior, on the grid."""
    score = -0.5 * (np.log(factors / usual) / np.log(spread)) ** 2
    for (at, value), error in zip(values, errors, strict=True):
        score = score - 0.5 * ((wet[at] - value) / error) ** 2
    weight = np.exp(score - score.max())
    place = np.cumsum(weight) / weight.sum()
    return [float(factors[int(np.argmax(place >= tail))]) for tail in (0.05, 0.5, 0.95)]


@pytest.mark.parametrize(("process", "usual", "spread", "start"), [("washed", 1.0, 1.6, 55), ("natural", 0.6, 2.0, 65)])
def test_the_factor_is_that_of_least_squares_with_its_prior(process, usual, spread, start):
    factors = np.geomspace(usual / spread**3, usual * spread**3, 61)
    humid = np.linspace(50, 75, 240)
    course = dry_through(np.repeat(26.0, 480), np.repeat(humid / 100, 2), 0.5, start, factors, PHYSICS.isotherm, PHYSICS.thin_layer)
    wet = to_wet_basis(course)
    values = [(60, 33.0), (200, 15.0), (300, 14.9)]
    found = curve(
        *(reading("drying", at / 2, value, "iso6673") for at, value in values),
        process=process, temperature=np.full(240, 26.0), humidity=humid,
    )
    assert found.factors == pytest.approx(posterior(values, (2.0, 2.0, 0.7), wet, usual, spread, factors))
    assert [value for _, value, _ in found.readings] == [33.0, 15.0, 14.9]
    chosen = [int(np.argmin(abs(factors - one))) for one in found.factors]
    assert found.moisture == pytest.approx(wet[: len(found.moisture), chosen])


def test_the_course_goes_on_from_a_reading_that_is_really_wetter():
    found = curve(*(reading("drying", h, m, "iso6673") for h, m in ((24, 30), (48, 20), (72, 26), (96, 18))))
    assert found.rises == ((2, pytest.approx(6.0)),)
    assert found.moisture[144].tolist() == pytest.approx([26] * 3)
    assert found.moisture[143, 1] < 20
    assert found.moisture[145, 1] < 26


def test_a_rise_counts_from_a_point_and_beyond_the_error_of_the_readings():
    def rises(second):
        return curve(reading("drying", 24, 30, "iso6673"), reading("drying", 48, second, "iso6673")).rises

    assert rises(30.84) == ()
    assert rises(31.0) == ((1, pytest.approx(1.0)),)
    assert rises(30.95) == ()
    assert rises(28.0) == ()


def test_hours_of_mould_are_those_of_warm_coffee_between_its_two_limits():
    # Air of 90 % at 26 C: the coffee comes to rest at a water activity of 0.90, in the window from then on.
    humid = {"temperature": np.full(480, 26.0), "humidity": np.full(480, 90.0)}
    given = [reading("drying", 300, 22, "iso6673")]
    made = lot(log("drying", "air", **humid), readings=given)
    found = {one.record: one for one in drying.measures(made, PHYSICS)}
    aw, cases = drying.water_activities(made, drying.curve(made, PHYSICS), PHYSICS)
    inside = float(((aw >= 0.8) & (aw < 0.98)).sum() * 0.5)
    assert found["drying_mould_hours"].value == inside > 100
    each = [float(((case >= 0.8) & (case < 0.98)).sum() * 0.5) for case in cases.T]
    assert (found["drying_mould_hours"].low, found["drying_mould_hours"].high) == (min(each), max(each))
    assert found["drying_toxin_hours"].value == float(((aw >= 0.85) & (aw < 0.98)).sum() * 0.5)
    assert sum(w.hours for w in found["drying_mould_hours"].windows) == inside
    assert found["drying_mould_hours"].inputs == (
        "drying curve from drying.csv and 1 moisture reading; water activity within 0.03"
    )
    begin = int(np.argmax(aw < 0.98))
    steps = np.full(len(aw) - begin, 26.0)
    grown = mould.growth_index(steps, aw[begin:], 0.5, PHYSICS.mould_growth)
    growth = found["drying_mould_growth"]
    assert growth.value == round(grown[-1], 2) > 0
    first = int(np.argmax(grown > 0)) + begin
    assert growth.windows[0].first == str(START + first * np.timedelta64(1800, "s")).replace("T", " ")[:16]
    assert growth.low < growth.value < growth.high
    for cold in (14.9, 37.1):
        other = lot(log("drying", "air", temperature=np.full(480, cold), humidity=humid["humidity"]), readings=given)
        told = {one.record: one for one in drying.measures(other, PHYSICS)}
        assert told["drying_mould_hours"].value == 0
    for edge in (15.0, 37.0):
        other = lot(log("drying", "air", temperature=np.full(480, edge), humidity=humid["humidity"]), readings=given)
        told = {one.record: one for one in drying.measures(other, PHYSICS)}
        assert told["drying_mould_hours"].value > 50


def test_the_water_activity_of_fruit_is_less_sure_than_that_of_parchment():
    for process, error in (("washed", 0.03), ("natural", 0.06)):
        made = lot(log("drying", "air", **AIR), readings=[reading("drying", 200, 13)], process=process)
        aw, cases = drying.water_activities(made, drying.curve(made, PHYSICS), PHYSICS)
        assert cases.shape == (len(aw), 9)
        middle = cases[-1].reshape(3, 3)
        assert middle[1] - middle[0] == pytest.approx([error] * 3)
        assert middle[2] - middle[1] == pytest.approx([error] * 3)
        assert cases.max() <= 1
        soaked = aw >= 0.98
        assert cases[soaked, 4] == pytest.approx(aw[soaked])
        assert cases[soaked, 7] == pytest.approx(aw[soaked])
        assert soaked.any()
        told = {one.record: one for one in drying.measures(made, PHYSICS)}
        assert f"within {error:.2f}" in told["drying_mould_hours"].inputs
    assert drying.water_activities(made, drying.curve(made, PHYSICS), PHYSICS)[0][-1] == pytest.approx(
        float(water_activity_of_wet_basis(drying.curve(made, PHYSICS).moisture[-2, 1], 26.0, PHYSICS.isotherm)), abs=1e-9
    )


def test_a_curve_says_the_more_the_more_it_was_read():
    def told(count):
        given = [reading("drying", 40 * k, 40 - 6 * k) for k in range(1, count + 1)]
        return {one.record: one for one in drying.measures(lot(log("drying", "air", **AIR), readings=given), PHYSICS)}

    assert told(1)["drying_readings"].value == 1
    assert "drying_rate_factor" not in told(1)
    two = told(2)["drying_rate_factor"]
    assert two.low < two.value < two.high
    assert "2 moisture readings" in told(2)["drying_mould_hours"].inputs
    assert "rewetted_points" not in told(3)
    assert told(4)["rewetted_points"].value == 0


def test_a_stop_is_told_where_twelve_hours_lose_next_to_nothing_while_wet_and_warm():
    # Air of 99 % stops the drying for 36 of 240 hours.
    humid = np.full(240, 60.0)
    humid[24:60] = 99.0

    def still(temperature, moisture=30):
        given = [reading("drying", 1, moisture + 10, "iso6673"), reading("drying", 60, moisture, "iso6673")]
        made = log("drying", "air", temperature=np.full(240, temperature), humidity=humid)
        found = {one.record: one for one in drying.measures(lot(made, readings=given), PHYSICS)}
        return found["drying_stood_still_hours"]

    found = still(20.0)
    assert found.value == pytest.approx(36, abs=1)
    [window] = found.windows
    assert abs(window.first_row - 26) <= 1
    assert window.hours == found.value
    assert abs(window.last_row - 61) <= 1
    assert still(15.0).value == 0
    assert still(15.1).value > 0


# A store.


def store(humidity, temperature=25.0, stage="destination_storage", readings=(), extra="", **fields):
    made = log(stage, "air", temperature=np.broadcast_to(temperature, len(humidity)), humidity=humidity)
    return measured(dataclasses.replace(made, **fields), readings=readings, extra=extra)


def test_a_store_is_damp_on_days_whose_mean_passes_the_limit():
    humidity = np.repeat([60.0, 70.0, 80.0, 80.0, 60.0, 70.2], 24)
    found = store(humidity)
    assert found["warehouse_damp_days"].value == 3
    spans = [(w.first_row, w.last_row) for w in found["warehouse_damp_days"].windows]
    # A day more: the first reading after the last damp hour closes it, but for the end of the log.
    assert spans == [(50, 97), (122, 145)]
    assert found["warehouse_humidity"].value == 70.0
    assert found["warehouse_humidity"].inputs == "mean of destination_storage.csv over 6 days"
    assert found["warehouse_temperature"].value == 25
    assert set(found) == {f"warehouse_{name}" for name in (
        "humidity", "temperature", "balance_moisture", "damp_days", "slow_mould_days", "mould_growth")}
    assert "store_damp_days" in store(humidity, stage="origin_storage")


def test_the_balance_of_a_store_is_the_mean_over_time_and_its_error_that_of_the_isotherm():
    found = store(np.repeat([60.0, 80.0], 48))["warehouse_balance_moisture"]
    both = [to_wet_basis(float(equilibrium(one, 25.0, PHYSICS.isotherm))) for one in (0.6, 0.8)]
    middle = sum(both) / 2
    dry = 100 * middle / (100 - middle)
    room = 2 * 0.54 * 100**2 / (100 + dry) ** 2
    assert found.value == round(middle, 2)
    assert (found.low, found.high) == pytest.approx((middle - room, middle + room))


def test_slow_mould_is_counted_where_the_bags_stand_in_its_window():
    # A bag follows the mean of 72 h. From 60 to 80 % it passes 70 % after 36 h and 78 % after 64.8 h.
    found = store(np.repeat([60.0, 80.0], (96, 96)))
    assert found["warehouse_slow_mould_days"].value == round(29 / 24, 1)
    assert store(np.full(96, 70.01))["warehouse_slow_mould_days"].value == 4
    assert store(np.full(96, 69.99))["warehouse_slow_mould_days"].value == 0
    assert store(np.full(96, 77.99))["warehouse_slow_mould_days"].value == 4
    assert store(np.full(96, 78.01))["warehouse_slow_mould_days"].value == 0


def test_mould_at_the_bags_is_that_of_the_air_they_follow_within_an_error():
    humidity = np.full(24 * 15, 88.0)
    found = store(humidity)["warehouse_mould_growth"]
    warm = np.full(len(humidity), 25.0)
    grown = [
        float(mould.growth_index(warm, np.full(len(warm), aw), 1.0, PHYSICS.mould_growth)[-1])
        for aw in (0.83, 0.88, 0.93)
    ]
    assert found.value == round(grown[1], 2) > 0
    assert (found.low, found.high) == pytest.approx((grown[0], grown[2]))
    assert store(np.full(240, 100.0))["warehouse_humidity"].value == 99.9


def test_the_moisture_that_goes_into_a_store_is_the_nearest_before_it():
    air = np.full(48, 60.0)
    heading = store(air)["warehouse_balance_moisture"].value

    def gain(*given, stage="destination_storage", extra=""):
        prefix = "store" if stage == "origin_storage" else "warehouse"
        one = store(air, stage=stage, readings=given, extra=extra).get(f"{prefix}_rewetting_points")
        return None if one is None else round(heading - one.value, 1)

    own, end, begin = (
        undated("destination_storage", 10.1, "start"),
        undated("transport", 10.2, "end"),
        undated("transport", 10.3, "start"),
    )
    assert (gain(begin, end, own), gain(begin, end), gain(begin), gain()) == (10.1, 10.2, 10.3, None)
    told = store(air, readings=[begin])["warehouse_rewetting_points"]
    assert told.value == round(to_wet_basis(float(equilibrium(0.6, 25.0, PHYSICS.isotherm))) - 10.3, 2)
    assert f"balance of {heading:.1f} % against 10.3 % going in" in told.inputs
    assert gain(undated("transport", 11.2, "end", "iso1446")) == 10.2
    assert gain(undated("drying", 10.4, "end")) is None
    assert gain(undated("origin_storage", 10.5, "start"), undated("drying", 10.4, "end"), stage="origin_storage") == 10.5
    assert gain(undated("drying", 10.4, "end"), stage="origin_storage") == 10.4
    assert gain(extra="history: {transport: {moisture_on_arrival: 10.6 %}}\n") == 10.6
    assert gain(extra="history: {drying: {moisture_leaving_drying: 10.7 %}}\n", stage="origin_storage") == 10.7
    assert gain(extra="history: {drying: {moisture_leaving_drying: 10.7 %}}\n") is None


# A container.


def box(hours=48, file="transport.csv", where="air", start=0, **channels):
    made = log("transport", where, **{name: np.broadcast_to(np.asarray(one, dtype=float), hours) for name, one in channels.items()})
    return dataclasses.replace(made, file=file, at=made.at + np.timedelta64(start * 3600, "s"))


def wet_hours(*logs, readings=(), extra=""):
    found = measured(*logs, readings=readings, extra=extra).get("condensation_hours")
    return None if found is None else (found.low, found.value, found.high)


def test_a_wall_is_wet_below_the_dew_point_within_the_error_of_the_logger():
    # 27 C and 70 %: dew point by psychrolib's own curve; 3 points of humidity at 25 C and 70 % are 0.7 K.
    dew = float(dew_point(27.0, 0.70))
    room = float(dew_point(25.0, 0.73) - dew_point(25.0, 0.70))
    assert 0.5 < room < 0.9
    roof = np.full(48, 30.0)
    roof[:10], roof[20:25], roof[30:32] = dew - room - 0.01, dew - 0.01, dew + room - 0.01
    found = measured(box(temperature=27.0, humidity=70.0, surface=roof))
    hours, run = found["condensation_hours"], found["condensation_longest_run"]
    assert (hours.low, hours.value, hours.high) == (10, 15, 17)
    assert (run.low, run.value, run.high) == (10, 10, 10)
    assert hours.inputs == "wall or roof in transport.csv below the dew point of the air in transport.csv"
    assert found["transit_days_logged"].value == 2
    roof[20:25], roof[10:12] = dew + room + 0.01, dew - 0.01
    run = measured(box(temperature=27.0, humidity=70.0, surface=roof))["condensation_longest_run"]
    assert (run.low, run.value, run.high) == (10, 12, 12)


def test_without_a_probe_the_roof_is_two_degrees_below_the_air_outside_or_else_inside():
    dew = float(dew_point(25.0, 0.88))
    assert 22.7 < dew < 23
    assert wet_hours(box(temperature=25.0, humidity=88.0))[1] == 0
    assert wet_hours(box(temperature=25.0, humidity=89.0))[1] == 48
    outside = box(file="out.csv", where="outside", temperature=dew + 1.9)
    found = measured(box(temperature=25.0, humidity=88.0), outside)["condensation_hours"]
    assert found.value == 48
    assert found.beside == ("out.csv",)
    assert "taken 2 K below the outside air of out.csv" in found.inputs
    assert wet_hours(box(temperature=25.0, humidity=88.0), box(file="out.csv", where="outside", temperature=dew + 2.1))[1] == 0
    late = box(file="out.csv", where="outside", temperature=dew, start=25)
    assert wet_hours(box(temperature=25.0, humidity=88.0), late)[1] == 0
    in_time = box(file="out.csv", where="outside", temperature=dew, start=24)
    assert wet_hours(box(temperature=25.0, humidity=88.0), in_time)[1] == 48
    short = box(hours=23, file="out.csv", where="outside", temperature=dew)
    assert wet_hours(box(temperature=25.0, humidity=88.0), short)[1] == 0
    assert wet_hours(box(temperature=25.0, humidity=88.0), box(hours=24, file="o", where="outside", temperature=dew))[1] == 48


def test_a_probe_of_its_own_logger_is_read_at_the_times_of_the_air():
    air = box(temperature=25.0, humidity=80.0)
    dew = float(dew_point(25.0, 0.80))
    roof = box(file="roof.csv", where="surface", temperature=np.where(np.arange(48) < 12, dew - 1, dew + 3))
    found = measured(air, roof)["condensation_hours"]
    assert (found.value, found.beside) == (12, ("roof.csv",))
    assert found.inputs.startswith("wall or roof in roof.csv below")
    part = box(hours=12, file="roof.csv", where="surface", temperature=dew - 1, start=30)
    found = measured(box(hours=96, temperature=25.0, humidity=80.0), part)["condensation_hours"]
    assert found.value == 12
    assert [(w.first_row, w.last_row) for w in found.windows] == [(32, 43)]
    assert found.beside == ("roof.csv",)
    never = box(hours=12, file="roof.csv", where="surface", temperature=dew - 1, start=500)
    assert wet_hours(air, never)[1] == 0


def test_the_dew_point_of_a_cargo_follows_the_mean_air_of_a_day():
    temperature = np.where(np.arange(96) < 48, 20.0, 30.0)
    loaded = [undated("transport", 12.0, "start", "iso6673")]
    found = measured(box(hours=96, temperature=temperature, surface=np.zeros(96)), readings=loaded)
    assert "cargo of 12.0 % at the mean temperature of 24 h in transport.csv" in found["condensation_hours"].inputs

    def dew_of(warmth):
        return float(dew_point(warmth, float(water_activity_of_wet_basis(12.0, warmth, PHYSICS.isotherm))))

    # Twelve hours into the warmth the cargo stands at 25 C.
    for roof, wet in ((dew_of(25.0) - 0.05, True), (dew_of(25.0) + 0.05, False)):
        surface = np.full(96, 50.0)
        surface[59] = roof
        told = measured(box(hours=96, temperature=temperature, surface=surface), readings=loaded)
        assert (told["condensation_hours"].value == 1) is wet
    error = float(dew_point(25.0, 0.70) - dew_point(25.0, 0.65))
    surface = np.full(96, 50.0)
    surface[10], surface[11], surface[12] = dew_of(20.0) - error - 0.05, dew_of(20.0) - error + 0.05, dew_of(20.0) + error - 0.05
    assert wet_hours(box(hours=96, temperature=temperature, surface=surface), readings=loaded) == (1, 2, 3)


def test_the_moisture_at_loading_may_be_that_of_the_end_of_drying_or_of_a_row():
    air = box(temperature=30.0, surface=20.0)
    assert wet_hours(air) is None
    assert wet_hours(air, readings=[undated("drying", 12.0, "end")])[1] == 48
    assert wet_hours(air, readings=[undated("transport", 4.0, "start"), undated("drying", 12.0, "end")])[1] == 0
    assert wet_hours(air, extra="history: {transport: {moisture_at_loading: 12 %}}\n")[1] == 48
    assert wet_hours(air, extra="history: {drying: {moisture_leaving_drying: 12 %}}\n")[1] == 48
    assert wet_hours(air, extra="history: {transport: {moisture_on_arrival: 12 %}}\n") is None


def test_a_logger_with_humidity_is_read_before_a_longer_one_unless_it_ran_too_short_and_the_cargo_is_known():
    long = box(hours=200, file="long.csv", temperature=30.0)
    humid = box(hours=100, file="humid.csv", temperature=30.0, humidity=99.0)
    loaded = [undated("transport", 8.0, "start", "iso6673")]
    assert "humid.csv" in measured(long, humid)["condensation_hours"].inputs
    assert "cargo of 8.0 %" in measured(long, humid, readings=loaded)["condensation_hours"].inputs
    as_long = box(hours=180, file="humid.csv", temperature=30.0, humidity=99.0)
    assert "the air in humid.csv" in measured(long, as_long, readings=loaded)["condensation_hours"].inputs


def test_damp_hours_of_a_passage_count_from_the_limit_on_and_its_mould_from_what_the_bags_follow():
    humidity = np.repeat([84.9, 85.0, 90.0], (24, 24, 24 * 12))
    found = measured(box(hours=len(humidity), temperature=25.0, humidity=humidity))
    assert found["transit_damp_hours"].value == 24 * 13
    assert "hours at 85 % humidity or more" in found["transit_damp_hours"].inputs
    bag = rolling_mean(humidity / 100, 72)
    grown = [
        float(mould.growth_index(np.full(len(bag), 25.0), bag + error, 1.0, PHYSICS.mould_growth)[-1])
        for error in (-0.05, 0.0, 0.05)
    ]
    growth = found["transit_mould_growth"]
    assert growth.value == round(grown[1], 2) > 0
    assert (growth.low, growth.high) == pytest.approx((grown[0], grown[2]))
    assert "over 72 h" in growth.inputs


def test_of_two_loggers_of_a_container_the_longest_is_read_and_days_are_told_to_a_tenth():
    long = box(hours=57, file="a.csv", temperature=25.0, humidity=90.0, surface=10.0)
    short = box(hours=40, file="b.csv", temperature=25.0, humidity=90.0, surface=10.0)
    sealed = [box(hours=hours, file=f"{hours}.csv", where="sealed", humidity=90.0) for hours in (20, 30)]
    found = measure(lot(short, long, *sealed), BASE).measured
    assert len({one.record for one in found}) == len(found)
    told = {one.record: one.value for one in found}
    assert told["transit_days_logged"] == 2.4
    assert (told["transit_damp_hours"], told["sealed_wet_hours"]) == (57, 30)
    stores = [log("origin_storage", "air", temperature=np.full(n, 22.0), humidity=np.full(n, 60.0)) for n in (48, 30)]
    stores[1] = dataclasses.replace(stores[1], file="b.csv")
    found = measure(lot(*stores), BASE).measured
    assert len({one.record for one in found}) == len(found)
    third = box(hours=4, temperature=25.0, humidity=90.0, surface=10.0)
    third = dataclasses.replace(third, at=START + (np.arange(4) * 1224).astype("timedelta64[s]"))
    told = {one.record: one for one in measure(lot(third), BASE).measured}
    assert told["condensation_hours"].value == 1.36
    assert told["condensation_longest_run"].value == 1.36
    assert told["transit_damp_hours"].value == 1.4


def test_the_warmest_cargo_is_read_off_its_own_curve():
    temperature = np.linspace(20, 34, 96)
    loaded = [undated("transport", 12.0, "start", "iso6673")]
    cargo = rolling_mean(temperature, 24)
    aw = float(water_activity_of_wet_basis(12.0, cargo[-1], PHYSICS.isotherm))
    dew = float(dew_point(cargo[-1], aw))
    for roof, wet in ((dew - 0.004, 1), (dew + 0.004, 0)):
        surface = np.full(96, 50.0)
        surface[-1] = roof
        assert wet_hours(box(hours=96, temperature=temperature, surface=surface), readings=loaded)[1] == wet


def test_a_sealed_logger_counts_from_the_limit_of_mould_on():
    found = measured(box(where="sealed", humidity=np.repeat([79.9, 80.0], (10, 38))))["sealed_wet_hours"]
    assert found.value == 38
    assert [(w.first_row, w.last_row) for w in found.windows] == [(12, 49)]


# What was measured against the sheet.


def test_the_source_of_a_value_names_its_two_longest_windows_in_order():
    def window(first, hours):
        return Window("a.csv", first, first, 1, 1, hours)

    def source(*windows):
        return Measured("tank_hours", 1.0, None, None, "seen", windows).source

    a, b, c, d = window("1", 1.0), window("2", 5.0), window("3", 2.0), window("4", 9.0)
    assert source() == "seen"
    assert source(a, b) == "seen: a.csv row 1 (1); a.csv row 1 (2)"
    assert source(a, b, c) == "seen: a.csv row 1 (2); a.csv row 1 (3) and 1 more"
    assert source(a, d, b, c) == "seen: a.csv row 1 (2); a.csv row 1 (4) and 2 more"
    both = Measured("tank_hours", 1.0, None, None, "seen", (a,), ("b.csv",))
    assert both.logs == {"a.csv", "b.csv"}


def quarrels(row, *logs, **more):
    return [one for one in measure(lot(*logs, extra=row, **more), BASE).doubts if "what was measured" in one]


def test_a_row_within_a_twentieth_of_the_measured_range_is_no_quarrel():
    made = log("processing", "tank", ph=np.full(21, 4.5))

    def row(hours):
        return quarrels(f"history: {{processing: {{tank_hours: {hours} h}}}}\n", made)

    assert (row(20), row(21), row(19)) == ([], [], [])
    [told] = row(21.1)
    assert "tank_hours" not in told
    assert "but from first to last reading of processing.csv" in told
    assert "gives 20.0: what was measured counts. Ask which is right." in told
    assert len(row(18.9)) == 1
    ranged = [undated("drying", 12.0, "end")]  # 11 to 13 by two errors of a meter
    assert quarrels("history: {drying: {moisture_leaving_drying: 13.6 %}}\n", readings=ranged) == []
    assert len(quarrels("history: {drying: {moisture_leaving_drying: 13.7 %}}\n", readings=ranged)) == 1
    assert quarrels("history: {drying: {moisture_leaving_drying: 10.5 %}}\n", readings=ranged) == []
    assert len(quarrels("history: {drying: {moisture_leaving_drying: 10.4 %}}\n", readings=ranged)) == 1
    assert len(quarrels("history: {drying: {covered: yes}}\n", beds=[bed(1, rain="yes", covered="no")])) == 1
    assert quarrels("history: {drying: {covered: no}}\n", beds=[bed(1, rain="yes", covered="no")]) == []


def test_a_word_where_a_figure_was_measured_is_a_quarrel_too():
    history = measure(lot(beds=[bed(1, layer=3.0)], extra="history: {drying: {layer: 3 cm}}\n"), BASE)
    assert history.doubts == ()
    made = lot(beds=[bed(1, layer=3.0)], extra="history: {drying: {layer: 3 cm}}\n")
    [row] = made.records
    told = measure(dataclasses.replace(made, records=(dataclasses.replace(row, value="deep"),)), BASE).doubts
    assert len(told) == 1
    unknown = dataclasses.replace(made, records=(dataclasses.replace(row, value=None),))
    assert measure(unknown, BASE).doubts == ()


def test_a_confirmed_sentence_against_a_row_of_the_sheet_is_told_once_it_is_confirmed():
    def told(**fields):
        one = Proposed("said_x", "covered", "no", "It was not covered", "the mill", None, "confirmed", "lot.yaml:9")
        made = lot(beds=[bed(1)], extra="history: {drying: {covered: yes}}\n")
        return [one for one in measure(made, BASE, (dataclasses.replace(one, **fields),)).doubts]

    [quarrel] = told()
    assert quarrel.startswith("the mill says 'It was not covered', but the sheet says")
    assert told(state="open") == []
    assert told(value="yes") == []
    assert told(kind="note") == []
    assert told(record="turned_daily") == []
    one = Proposed("said_x", "covered", "no", "It was not covered", "the mill", None, "confirmed", "lot.yaml:9")
    made = lot(beds=[bed(1)], extra="history: {drying: {covered: yes}}\n")
    for row in (dataclasses.replace(made.records[0], said=True), dataclasses.replace(made.records[0], value=None)):
        assert measure(dataclasses.replace(made, records=(row,)), BASE, (one,)).doubts == ()


def test_history_keeps_what_was_proposed_and_read_only_as_text():
    one = Proposed("said_x", "covered", "no", "It was not covered", "the mill", None, "open", "lot.yaml:9")
    found = measure(lot(beds=[bed(1)]), BASE, (one,), ("Good day",))
    assert (found.proposed, found.unread) == ((one,), ("Good day",))
    assert measure(lot(), BASE, (one,)).proposed == ()
    gone = measure(lot(log("drying", "air", **AIR), beds=[bed(1, layer=3.0)]), BASE)
    assert "drying curve" in [one.what for one in gone.not_assessed]
    assert all(isinstance(one, NotAssessed) for one in gone.not_assessed)
    assert [one.record for one in gone.measured] == ["layer"]


# Physics at its limits.


def test_mould_does_not_grow_at_its_limits_of_warmth_and_starts_after_its_lag():
    growth = PHYSICS.mould_growth
    assert mould.growth_rate([0.0, 40.0, 41.0, -1.0], 0.9, growth).tolist() == [0, 0, 0, 0]
    assert (mould.growth_rate([0.5, 30.0], 0.973, growth)[1]) == pytest.approx(growth.fastest)
    assert float(mould.growth_rate(39.9, 0.9, growth)) > 0
    assert mould.cardinal([1.0, 2.0, 3.0, 0.9, 3.1], 1.0, 2.0, 3.0).tolist() == [0, 1, 0, 0, 0]
    assert mould.lag([0.95, 0.90, 0.85, 0.5, 1.0], growth) == pytest.approx([24, 42, 60, 60, 24])
    # Lag of 42 h at 0.90: nothing before the step that ends it, and the rate of a day for each after.
    warm = np.full(60, 25.0)
    found = mould.growth_index(warm, np.full(60, 0.90), 1.0, growth)
    rate = float(mould.growth_rate(25.0, 0.90, growth))
    assert found[40] == 0
    begun = int(np.argmax(found > 0))
    assert begun in (41, 42)
    assert found[-1] == pytest.approx(rate * (60 - begun) / 24)


def test_a_dry_spell_of_just_two_days_does_not_begin_the_lag_anew():
    warm = np.full(200, 25.0)
    for dry_hours, again in ((48, False), (49, True)):
        aw = np.full(200, 0.90)
        aw[60 : 60 + dry_hours] = 0.69
        found = mould.growth_index(warm, aw, 1.0, PHYSICS.mould_growth)
        at = 60 + dry_hours
        assert bool(found[at + 1] == found[at - 1]) is again
    aw = np.full(200, 0.90)
    aw[60:160] = 0.70
    found = mould.growth_index(warm, aw, 1.0, PHYSICS.mould_growth)
    assert found[161] > found[159]


def test_several_columns_grow_apart_at_the_same_warmth():
    warm = np.linspace(20, 30, 100)
    aw = np.column_stack([np.full(100, 0.85), np.full(100, 0.95)])
    both = mould.growth_index(warm, aw, 0.5, PHYSICS.mould_growth)
    for column in (0, 1):
        assert both[:, column] == pytest.approx(mould.growth_index(warm, aw[:, column], 0.5, PHYSICS.mould_growth))


def test_the_lack_of_saturation_is_in_kilopascal():
    # 3.169 kPa at 25 C (ASHRAE), half of it missing at 50 %.
    assert float(deficit(25.0, 0.5)) == pytest.approx(3.169 / 2, rel=1e-3)
    assert float(dew_point(25.0, 0.0)) == -60.0


def test_coffee_drier_than_the_air_takes_up_water_at_the_rate_of_a_thin_layer():
    # dM/dt = q k (Me - M): the closed form in constant air.
    isotherm_, layer = PHYSICS.isotherm, PHYSICS.thin_layer
    found = dry_through(np.full(10, 25.0), np.full(10, 0.8), 2.0, 8.0, np.array([1.0, 0.5]), isotherm_, layer)
    end = float(equilibrium(0.8, 25.0, isotherm_))
    k = layer.m * float(deficit(25.0, 0.8)) ** layer.n
    start = 100 * 8 / 92
    for column, factor in ((0, 1.0), (1, 0.5)):
        assert found[-1, column] == pytest.approx(end + (start - end) * np.exp(-layer.q * k * factor * 20))
    assert found[0].tolist() == pytest.approx([start] * 2)
    wet = dry_through(np.full(4, 25.0), np.full(4, 1.2), 1.0, 60.0, np.array([1.0]), isotherm_, layer)
    capped = dry_through(np.full(4, 25.0), np.full(4, 0.999), 1.0, 60.0, np.array([1.0]), isotherm_, layer)
    assert wet == pytest.approx(capped)


def test_moisture_above_the_curve_has_the_highest_water_activity_and_none_the_lowest():
    assert float(water_activity(90.0, 25.0, PHYSICS.isotherm)) == pytest.approx(1.0)
    assert float(water_activity(0.0, 25.0, PHYSICS.isotherm)) == pytest.approx(0.005)
    assert water_activity([10.0, 12.0], 25.0, PHYSICS.isotherm).shape == (2,)


FORMS = {
    # Worked with a calculator: 10 (0.5/0.5)^0.4; 0.1 (0.5/0.5)... at aw 0.5 and 0.8, 20 C.
    "oswin": ({"a": (11.0, -0.05), "b": (0.4,)}, 10.0, 10.0 * 4**0.4),
    "gab": ({"mono": (5.0,), "c": (10.0,), "k": (0.8,)}, 5 * 10 * 0.4 / (0.6 * 4.6), 5 * 10 * 0.64 / (0.36 * 6.76)),
    "modified_henderson": (
        {"k": (0.0001,), "c": (50.0,), "n": (2.0,)},
        (np.log(2) / 0.007) ** 0.5,
        (np.log(5) / 0.007) ** 0.5,
    ),
}


@pytest.mark.parametrize("form", FORMS)
def test_the_usual_forms_are_those_of_the_textbooks(form):
    coefficients, half, most = FORMS[form]
    one = PHYSICS.isotherm.model_copy(update={"form": form, "coefficients": coefficients})
    assert equilibrium([0.5, 0.8], 20.0, one).tolist() == pytest.approx([half, most])
    assert np.isfinite(equilibrium(1.0, 20.0, one))
    assert equilibrium([0.5, 0.5], [20.0, 20.0], one).shape == (2,)


def test_a_misprint_is_found_by_its_own_point_and_by_a_curve_that_falls():
    guard = (25.0, 0.5, 10.0, 0.5)
    flat = {"a": (10.0, 0.0), "b": (0.4,)}
    plain = PHYSICS.isotherm.model_copy(update={"form": "oswin", "coefficients": flat, "guard": guard, "temperature": (5, 55)})
    assert misprinted(plain) is None
    off = plain.model_copy(update={"guard": (25.0, 0.5, 10.5, 0.5)})
    assert misprinted(off) is None
    off = plain.model_copy(update={"guard": (25.0, 0.5, 9.4, 0.5)})
    assert misprinted(off) == "gives 10.0 % dry basis at 25 C and aw 0.5, where 9.4 was measured"
    level = plain.model_copy(update={"coefficients": {"a": (10.0, 0.0), "b": (0.0,)}})
    assert misprinted(level) == "does not rise with water activity at 5 C"
    assert isotherm.LEAST_AW > 0


# What a number of cups can show.


def test_counts_of_bags_and_cups_at_their_ends():
    assert sampling.bags_found(10, 0, 5) == 0
    assert sampling.bags_found(10, 10, 1) == 1
    assert sampling.bags_found(10, 1, 10) == 1
    assert sampling.bags_found(10, 3, 0) == 0
    for wrong in ((10, 11, 1), (10, -1, 1), (10, 1, 11), (10, 1, -1)):
        with pytest.raises(ValueError, match="lie from 0"):
            sampling.bags_found(*wrong)
    assert (sampling.highest_rate_missed(0), sampling.highest_rate_missed(1)) == (1.0, pytest.approx(0.95))
    assert (sampling.cups_needed(1), sampling.cups_needed(0.5, 0.5)) == (1, 1)
    for wrong in (0, -0.1, 1.1):
        with pytest.raises(ValueError, match="above 0"):
            sampling.cups_needed(wrong)
    assert sampling.rate_interval(0, 5)[0] == 0
    assert sampling.rate_interval(5, 5)[1] == 1
    assert sampling.rate_interval(0, 5)[1] == pytest.approx(1 - 0.025 ** (1 / 5))
    assert sampling.rate_interval(5, 5)[0] == pytest.approx(0.025 ** (1 / 5))
    assert sampling.rate_interval(0, 5, 0.9)[1] == pytest.approx(1 - 0.05 ** (1 / 5))
    # One bean in a thousand, 65 in a cup: 6.3 % of cups; of two cups one, ten times against 95 %.
    speck = 1 - 0.999**65
    assert sampling.pattern(1, 2, 0.95, 0.001, 65) == pytest.approx(
        np.log10(0.95 * 0.05 / (speck * (1 - speck)))
    )
    assert sampling.pattern(0, 2, 1.0, 0.001, 65) == pytest.approx(-300 - 2 * np.log10(1 - speck))
