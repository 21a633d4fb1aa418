"""Values made of bed days, a dryer, readings and a tank, and the charts: worked by hand, with a value on each limit and one beside it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.history.build import PHYSICS, bed, log, log_at, lot, reading, undated
from tracer.history import beds, charts, dryer, readings, tank
from tracer.history.history import Measured
from tracer.history.isotherm import water_activity_of_wet_basis
from tracer.history.moisture import as_iso6673, difference, to_dry_basis, to_wet_basis
from tracer.history.series import (
    Window,
)

METHODS = PHYSICS.moisture_methods


# The days of a bed.


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
    assert (day.first, day.last, day.first_row, day.last_row, day.hours) == (
        "2026-01-01",
        "2026-01-01",
        1,
        1,
        24,
    )
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
    other = dataclasses.replace(wet, file="b.csv", first="z")
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
    first, second = (
        log("drying", "coffee", temperature=[46.12, 46.16, 46.16]),
        log("drying", "coffee", temperature=[50, 50]),
    )
    second = dataclasses.replace(second, file="b.csv")
    found = list(dryer.measures(lot(first, second), PHYSICS))
    assert [one.record for one in found] == [
        "dryer_temperature",
        "overheated_hours",
        "overheated_degree_hours",
    ]
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
    # Every twelve minutes two and a half: two of them.
    assert heat([38, 60, 60, 38, 38], minutes=12)["dryer_temperature"].value == 60


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


def value_at(stage, end, *given):
    found = readings.moisture_at(lot(readings=given), stage, end)
    return None if found is None else found.moisture


def test_readings_stand_by_their_time_and_undated_ones_as_the_sheet_has_them():
    dated = lot(readings=[reading("drying", 9, 12), reading("drying", 1, 40), reading("transport", 0, 11)])
    assert [one.moisture for one in readings.of_stage(dated, "drying")] == [40, 12]
    mixed = lot(readings=[reading("drying", 9, 12), undated("drying", 40)])
    assert [one.moisture for one in readings.of_stage(mixed, "drying")] == [12, 40]
    assert (
        readings.of_stage(lot(readings=[dataclasses.replace(undated("drying", 1), moisture=None)]), "drying")
        == []
    )


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
    assert (
        gain("store_gain_is_real", undated("drying", 11.0, "end"), undated("transport", 12.5, "start"))
        == "yes"
    )
    assert (
        gain("store_gain_is_real", undated("drying", 11.0, "end"), undated("transport", 12.5, "end")) is None
    )
    words = of_readings(*sea)["sea_gain_is_real"].inputs
    assert words == "gain +1.5 points, error of the two methods 0.7: 11 % by meter, then 12.5 % by meter"


def test_a_difference_of_readings_has_the_error_of_both():
    gain, error, real = difference((11.0, "iso6673"), (12.0, "meter"), METHODS)
    assert (gain, error) == pytest.approx((1.0, np.hypot(0.3, 0.5)))
    assert not real
    exact = METHODS.model_copy(
        update={"error": {"meter": 0.0, "iso6673": 1.0, "iso1446": 1.0, "unknown": 1.0}}
    )
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
    [told] = readings.doubts(
        lot(readings=[undated("drying", 12), undated("drying", 12, method="iso1446")]), PHYSICS
    )
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
    first = log(
        "processing", "tank", minutes=10, temperature=[20.12, 20.16, 20.26, 20.26], ph=[5, 5, 4.126, 4.128]
    )
    second = dataclasses.replace(
        log("processing", "tank", minutes=10, temperature=[30, 30], ph=[4, 4]), file="b.csv"
    )
    found = [(one.record, one.value) for one in tank.measures(lot(second, first), PHYSICS)]
    assert found == [
        ("tank_hours", 0.5),
        ("tank_temperature", 20.2),
        ("tank_highest_temperature", 20.3),
        ("ph_at_wash", 4.56),
    ]
    quarter = log("processing", "tank", minutes=5, temperature=[20, 20, 20, 20])
    assert next(iter(tank.measures(lot(quarter), PHYSICS))).value == 0.2
