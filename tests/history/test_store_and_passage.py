"""The air of a store and of a container: values worked by hand, with a value on each limit and one beside it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.history.build import BASE, PHYSICS, START, log, log_at, lot, measured, undated
from tracer.history import mould
from tracer.history.air import dew_point
from tracer.history.isotherm import equilibrium, water_activity_of_wet_basis
from tracer.history.measure import measure
from tracer.history.moisture import to_wet_basis
from tracer.history.series import (
    rolling_mean,
)

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
    assert set(found) == {
        f"warehouse_{name}"
        for name in (
            "humidity",
            "temperature",
            "balance_moisture",
            "damp_days",
            "slow_mould_days",
            "mould_growth",
        )
    }
    assert "store_damp_days" in store(humidity, stage="origin_storage")


def test_the_balance_of_a_store_is_the_mean_over_time_and_its_error_that_of_the_isotherm():
    found = store(np.repeat([60.0, 80.0], 48))["warehouse_balance_moisture"]
    both = [to_wet_basis(float(equilibrium(one, 25.0, PHYSICS.isotherm))) for one in (0.6, 0.8)]
    middle = sum(both) / 2
    dry = 100 * middle / (100 - middle)
    room = 2 * 0.54 * 100**2 / (100 + dry) ** 2
    assert found.value == round(middle, 2)
    assert (found.low, found.high) == pytest.approx((middle - room, middle + room))


def test_a_reading_counts_in_the_mean_of_a_store_for_the_time_it_stands_for():
    made = log_at(
        [0, 0.5, 1, 3, 5, 7],
        "destination_storage",
        humidity=[90, 90, 60, 60, 60, 60],
        temperature=[30, 30, 20, 20, 20, 20],
    )
    found = measured(made)
    # Half an hour twice, two hours four times.
    assert found["warehouse_humidity"].value == round((90 + 8 * 60) / 9, 1)
    assert found["warehouse_temperature"].value == round((30 + 8 * 20) / 9, 1)


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
    assert store(humidity)["warehouse_humidity"].inputs.endswith("over 15 days")
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
    assert (
        gain(undated("origin_storage", 10.5, "start"), undated("drying", 10.4, "end"), stage="origin_storage")
        == 10.5
    )
    assert gain(undated("drying", 10.4, "end"), stage="origin_storage") == 10.4
    assert gain(extra="history: {transport: {moisture_on_arrival: 10.6 %}}\n") == 10.6
    assert (
        gain(extra="history: {drying: {moisture_leaving_drying: 10.7 %}}\n", stage="origin_storage") == 10.7
    )
    assert gain(extra="history: {drying: {moisture_leaving_drying: 10.7 %}}\n") is None


# A container.


def box(hours=48, file="transport.csv", where="air", start=0, **channels):
    made = log(
        "transport",
        where,
        **{name: np.broadcast_to(np.asarray(one, dtype=float), hours) for name, one in channels.items()},
    )
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
    assert (
        wet_hours(
            box(temperature=25.0, humidity=88.0), box(file="out.csv", where="outside", temperature=dew + 2.1)
        )[1]
        == 0
    )
    late = box(file="out.csv", where="outside", temperature=dew, start=25)
    assert wet_hours(box(temperature=25.0, humidity=88.0), late)[1] == 0
    in_time = box(file="out.csv", where="outside", temperature=dew, start=24)
    assert wet_hours(box(temperature=25.0, humidity=88.0), in_time)[1] == 48
    short = box(hours=23, file="out.csv", where="outside", temperature=dew)
    assert wet_hours(box(temperature=25.0, humidity=88.0), short)[1] == 0
    assert (
        wet_hours(
            box(temperature=25.0, humidity=88.0), box(hours=24, file="o", where="outside", temperature=dew)
        )[1]
        == 48
    )


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
    assert (
        "cargo of 12.0 % at the mean temperature of 24 h in transport.csv"
        in found["condensation_hours"].inputs
    )

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
    surface[10], surface[11], surface[12] = (
        dew_of(20.0) - error - 0.05,
        dew_of(20.0) - error + 0.05,
        dew_of(20.0) + error - 0.05,
    )
    assert wet_hours(box(hours=96, temperature=temperature, surface=surface), readings=loaded) == (1, 2, 3)


def test_the_moisture_at_loading_may_be_that_of_the_end_of_drying_or_of_a_row():
    air = box(temperature=30.0, surface=20.0)
    assert wet_hours(air) is None
    assert wet_hours(air, readings=[undated("drying", 12.0, "end")])[1] == 48
    assert (
        wet_hours(air, readings=[undated("transport", 4.0, "start"), undated("drying", 12.0, "end")])[1] == 0
    )
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
    stores = [
        log("origin_storage", "air", temperature=np.full(n, 22.0), humidity=np.full(n, 60.0))
        for n in (48, 30)
    ]
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
