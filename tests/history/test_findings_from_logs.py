"""What logs, readings and bed days become: values with their window, and findings only where something was logged."""

from __future__ import annotations

import dataclasses
import datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.history.build import BASE, PHYSICS, PLACE, SHEET, log, lot, measured, reading
from tracer.history.measure import measure
from tracer.history.series import durations, even, longest, runs, windows
from tracer.knowledge.shipped import scenarios_folder
from tracer.lots.logs.log import Log
from tracer.lots.lot import BedDay
from tracer.lots.read import read_lot
from tracer.tracing import prepare, trace

READY = prepare(BASE)


def example(name: str):
    found, issues = read_lot(scenarios_folder() / f"{name}.yaml", BASE)
    assert found is not None, issues
    return found


def test_every_measured_record_is_in_the_knowledge_and_of_its_kind():
    names = [path.stem for path in scenarios_folder().glob("log_*.yaml")]
    assert len(names) >= 5
    for name in names:
        for one in measure(example(name), BASE).measured:
            record = BASE.records[one.record]
            assert isinstance(one.value, str) == (record.kind == "yes_no")
            if record.possible:
                assert record.possible[0] <= float(one.value) <= record.possible[1]


def test_no_log_makes_no_finding():
    history = measure(lot(), BASE)
    assert history.measured == ()
    assert not {
        fact for finding in trace(lot(), BASE, READY).findings for fact in finding.facts if "log" in fact
    }


def test_six_hours_of_a_roof_below_the_dew_point_are_counted_with_their_window():
    hours = 24 * 10
    roof = np.full(hours, 25.0)
    roof[100:106] = 15.0  # dew point of 27 C and 65 % is 20 C
    found = measured(
        log("transport", "air", temperature=np.full(hours, 27.0), humidity=np.full(hours, 65.0), surface=roof)
    )
    one = found["condensation_hours"]
    assert one.value == 6
    [window] = one.windows
    assert (window.first_row, window.last_row) == (102, 107)
    assert (window.first, window.last) == ("2026-01-05 04:00", "2026-01-05 09:00")
    assert "transport.csv rows 102 to 107" in one.source


def test_without_humidity_the_dew_point_comes_from_the_cargo():
    # Worked value: 12.5 % at 30 C has a dew point of 24.66 C (checks.yaml, condense_T30_wb12_5).
    hours = 24 * 10
    box = log("transport", "air", temperature=np.full(hours, 30.0), surface=np.full(hours, 24.0))
    found = measured(box, readings=[reading("transport", 0, 12.5, "iso6673", "start")])
    assert found["condensation_hours"].value == hours
    warm = log("transport", "air", temperature=np.full(hours, 30.0), surface=np.full(hours, 25.5))
    assert (
        measured(warm, readings=[reading("transport", 0, 12.5, "iso6673", "start")])[
            "condensation_hours"
        ].value
        == 0
    )
    history = measure(lot(box), BASE)
    assert any(one.what == "condensation" and "not known" in one.because for one in history.not_assessed)


def test_a_sealed_logger_reads_the_coffee_and_not_the_hold():
    found = measured(log("transport", "sealed", humidity=np.full(100, 83.0)))
    assert found["sealed_wet_hours"].value == 100
    assert "condensation_hours" not in found


@settings(deadline=None, max_examples=25)
@given(humidity=st.floats(45, 94), more=st.floats(0.5, 5), temperature=st.floats(16, 32))
def test_a_damper_store_never_looks_drier(humidity, more, temperature):
    hours = 24 * 20
    names = (
        "warehouse_humidity",
        "warehouse_balance_moisture",
        "warehouse_damp_days",
        "warehouse_mould_growth",
    )
    dry, damp = (
        measured(
            log(
                "destination_storage",
                "air",
                temperature=np.full(hours, temperature),
                humidity=np.full(hours, one),
            )
        )
        for one in (humidity, humidity + more)
    )
    for name in names:
        assert damp[name].value >= dry[name].value


def test_a_store_at_75_percent_and_25_degrees_takes_coffee_to_13_percent():
    # Equilibrium table worked from Trejos and others 1989: 13.03 % wet basis.
    air = log("destination_storage", "air", temperature=np.full(240, 25.0), humidity=np.full(240, 75.0))
    found = measured(
        air,
        readings=[
            reading("transport", -10, 11.0, "iso6673", "end"),
            reading("transport", -99, 11.0, "iso6673", "start"),
        ],
    )
    assert found["warehouse_balance_moisture"].value == pytest.approx(13.03, abs=0.02)
    assert found["warehouse_rewetting_points"].value == pytest.approx(2.03, abs=0.02)


def test_heat_counts_from_40_degrees_while_wet_and_from_45_when_dry():
    temperature = np.full(400, 38.0)
    temperature[60:120] = 43.0
    temperature[300:360] = 43.0
    dryer = log("drying", "coffee", minutes=5, temperature=temperature)
    readings = [reading("drying", 0, 50), reading("drying", 15, 22), reading("drying", 33, 11)]
    found = measured(dryer, readings=readings)
    assert found["overheated_hours"].value == pytest.approx(5.0)
    assert found["overheated_degree_hours"].value == pytest.approx(15.0)
    assert found["dryer_temperature"].value == 43.0
    assert measured(dryer)["overheated_hours"].value == 0


def test_a_spike_of_ten_minutes_is_not_the_highest_lasting_temperature():
    temperature = np.full(300, 38.0)
    temperature[50:52] = 60.0
    assert (
        measured(log("drying", "coffee", minutes=5, temperature=temperature))["dryer_temperature"].value
        == 38.0
    )


def test_the_drying_rate_of_a_lot_dried_at_half_speed_is_found_again():
    from tracer.history.moisture import to_wet_basis
    from tracer.history.thin_layer import dry_through

    hours = 24 * 14
    warm, air = np.full(hours, 26.0), np.full(hours, 0.60)
    for factor in (0.5, 1.0):
        course = to_wet_basis(
            dry_through(warm, air, 1.0, 55, np.array([factor]), PHYSICS.isotherm, PHYSICS.thin_layer)[:, 0]
        )
        readings = [reading("drying", h, float(course[h]), "iso6673") for h in range(24, hours, 36)]
        found = measured(log("drying", "air", temperature=warm, humidity=100 * air), readings=readings)
        assert found["drying_rate_factor"].value == pytest.approx(factor, rel=0.05)
        assert found["rewetted_points"].value == 0


def test_water_taken_up_again_is_found_and_its_days_are_named():
    warm, air = np.full(24 * 12, 26.0), np.full(24 * 12, 60.0)
    readings = [
        reading("drying", h, m) for h, m in ((24, 42), (72, 25), (120, 16), (144, 21.5), (192, 15), (240, 12))
    ]
    found = measured(log("drying", "air", temperature=warm, humidity=air), readings=readings)
    assert found["rewetted_points"].value == 5.5
    [window] = found["rewetted_points"].windows
    assert (window.first[:10], window.last[:10]) == ("2026-01-06", "2026-01-07")


def test_a_stop_of_two_days_while_wet_is_found():
    hours = 24 * 10
    humidity = np.full(hours, 55.0)
    humidity[24:72] = 99.0
    warm = np.full(hours, 24.0)
    found = measured(
        log("drying", "air", temperature=warm, humidity=humidity), readings=[reading("drying", 230, 12.5)]
    )
    assert found["drying_stood_still_hours"].value == pytest.approx(48, abs=3)


def test_a_bed_log_without_a_word_on_rain_says_nothing_of_rain():
    day = datetime.date(2026, 1, 3)
    silent = measured(beds=[BedDay("drying", day, 5, 3.0, None, None, PLACE)])
    assert set(silent) == {"layer", "turned_daily"}
    dry = measured(beds=[BedDay("drying", day, 5, 3.0, "no", None, PLACE)])
    assert dry["rain_on_coffee"].value == "no"
    wet = measured(beds=[BedDay("drying", day, 1, 7.0, "yes", "no", PLACE)])
    assert (wet["rain_on_coffee"].value, wet["covered"].value, wet["turned_daily"].value) == (
        "yes",
        "no",
        "no",
    )


def test_a_tank_log_gives_hours_warmth_and_the_last_acidity():
    tank = log(
        "processing", "tank", minutes=30, temperature=np.linspace(18, 26, 61), ph=np.linspace(6.2, 4.2, 61)
    )
    found = measured(tank)
    assert found["tank_hours"].value == 30
    assert found["tank_temperature"].value == pytest.approx(22, abs=0.1)
    assert found["ph_at_wash"].value == pytest.approx(4.25, abs=0.06)


def test_two_methods_are_compared_on_one_scale_and_the_user_is_told():
    # ISO 6673 (2003), scope: about a point lower than ISO 1446.
    readings = [
        reading("transport", 0, 11.2, "iso6673", "start"),
        reading("transport", 900, 12.2, "iso1446", "end"),
    ]
    history = measure(lot(readings=readings), BASE)
    found = {one.record: one for one in history.measured}
    assert found["moisture_on_arrival"].value == 11.2
    assert found["sea_gain_is_real"].value == "no"
    assert any("different methods" in doubt for doubt in history.doubts)


def test_moisture_and_water_activity_that_do_not_go_together_are_told():
    # 11 % at 25 C goes with 0.61 (checks.yaml, roa_aw_wb11_T25).
    odd = dataclasses.replace(reading("drying", 0, 11.0, "iso6673"), aw=0.78, temperature=25.0)
    assert any("one reading is wrong" in doubt for doubt in measure(lot(readings=[odd]), BASE).doubts)
    fair = dataclasses.replace(odd, aw=0.60)
    assert not measure(lot(readings=[fair]), BASE).doubts


def test_a_log_that_misses_more_than_its_share_makes_nothing_and_says_so():
    broken = dataclasses.replace(
        log("destination_storage", "air", temperature=np.full(240, 25.0), humidity=np.full(240, 80.0)),
        gaps=((10, 11, 80.0),),
    )
    history = measure(lot(broken), BASE)
    assert history.measured == ()
    [one] = history.not_assessed
    assert "no readings" in one.because
    assert "damp_warehouse" not in {finding.rule for finding in trace(lot(broken), BASE, READY).findings}


def test_what_was_logged_counts_before_what_was_written_and_the_quarrel_is_told():
    damp = log(
        "destination_storage", "air", temperature=np.full(24 * 40, 22.0), humidity=np.full(24 * 40, 80.0)
    )
    sheet = lot(damp, extra="history: {destination_storage: {warehouse_humidity: 55 %}}\n")
    report = trace(sheet, BASE, READY)
    rules = {finding.rule for finding in report.findings}
    assert "damp_warehouse" in rules
    assert "dry_warehouse" not in rules
    assert any("what was measured counts" in doubt for doubt in report.history.doubts)


def test_a_finding_names_the_log_and_the_hours_that_made_it():
    report = trace(example("log_sea_passage"), BASE, READY)
    facts = [
        fact for finding in report.findings if finding.rule == "container_sweat_log" for fact in finding.facts
    ]
    assert any("passage_winter.csv rows" in fact and "2026-02" in fact for fact in facts)


@pytest.mark.parametrize("fault", ["slow_drying_mould", "rewetting", "container_condensation"])
def test_a_perfect_log_lowers_suspicion_and_never_raises_it(fault):
    alone = dataclasses.replace(READY, cases=None)
    sound = example("log_perfect")
    bare = dataclasses.replace(sound, logs=(), readings=(), beds=())
    with_logs = {line.fault: line for line in trace(sound, BASE, alone, keep=fault).sources}
    without = {line.fault: line for line in trace(bare, BASE, alone, keep=fault).sources}
    assert with_logs[fault].present < without[fault].present / 2
    assert with_logs[fault].probability < without[fault].probability


def test_a_long_stay_where_toxin_forms_is_a_caution_whatever_the_source():
    report = trace(example("log_rain_breaks"), BASE, READY)
    assert any(c.level == "hold" and "drying log" in c.text for c in report.cautions)


def test_runs_windows_and_durations_agree():
    one = log("transport", "air", temperature=np.arange(50.0))
    mask = np.zeros(50, dtype=bool)
    mask[[3, 4, 5, 20, 21, 49]] = True
    assert runs(mask) == [(3, 5), (20, 21), (49, 49)]
    assert longest(mask, durations(one)) == 3
    assert sum(window.hours for window in windows(one, mask)) == mask.sum()


@settings(deadline=None, max_examples=40)
@given(st.lists(st.floats(-10, 40), min_size=5, max_size=200), st.integers(1, 30))
def test_even_steps_keep_the_mean_of_a_regular_log(values, minutes):
    one = log("drying", "air", minutes=minutes, temperature=values)
    _, means = even(one, minutes / 60)
    assert means["temperature"] == pytest.approx(values)


def test_a_file_with_gaps_is_not_filled_in(tmp_path: Path):
    hours = [h for h in range(200) if not 50 <= h < 70]
    start = datetime.datetime(2026, 1, 1)
    text = "Time,T,RH\n" + "".join(
        f"{start + datetime.timedelta(hours=h):%Y-%m-%d %H:%M},25,90\n" for h in hours
    )
    (tmp_path / "a.csv").write_text(text, encoding="utf-8")
    sheet = SHEET + (
        "history:\n  destination_storage:\n    logs:\n      - {file: a.csv, where: air, columns: {time: Time, temperature: T, humidity: RH}, "
        "degrees: C, dates: year_first}\n"
    )
    (tmp_path / "lot.yaml").write_text(sheet, encoding="utf-8")
    found, issues = read_lot(tmp_path / "lot.yaml", BASE)
    assert found is not None
    assert durations(found.logs[0]).sum() == len(hours)
    assert any("20.0 h without readings" in issue.message for issue in issues)


def parted(whole: Log, place: int) -> tuple[Log, Log]:
    """The same readings as two files."""
    return tuple(
        dataclasses.replace(
            whole,
            file=name,
            rows=whole.rows[some],
            at=whole.at[some],
            channels={channel: values[some] for channel, values in whole.channels.items()},
            total=len(whole.at[some]),
        )
        for name, some in (("first.csv", slice(None, place)), ("second.csv", slice(place, None)))
    )


@pytest.mark.parametrize("place", [24, 300, 700])
def test_two_loggers_that_ran_one_after_the_other_say_what_one_would_have_said(place):
    lot, _ = read_lot(scenarios_folder() / "log_sea_passage.yaml", BASE)
    assert lot is not None
    [whole] = [one for one in lot.logs if one.stage == "transport"]
    found = []
    for logs in ((whole,), parted(whole, place), parted(whole, place)[::-1]):
        told = measure(dataclasses.replace(lot, logs=logs), BASE)
        assert not [one for one in told.not_assessed if "second.csv" in one.what or "first.csv" in one.what]
        found.append({(one.record, one.value) for one in told.measured})
    assert found[0] == found[1] == found[2]


def test_a_logger_that_came_far_too_late_is_told_and_takes_nothing_from_the_first():
    lot, _ = read_lot(scenarios_folder() / "log_sea_passage.yaml", BASE)
    assert lot is not None
    [whole] = [one for one in lot.logs if one.stage == "transport"]
    first, second = parted(whole, 900)
    late = dataclasses.replace(second, at=second.at + np.timedelta64(400 * 24, "h"))
    alone, both = (measure(dataclasses.replace(lot, logs=logs), BASE) for logs in ((first,), (first, late)))
    assert [(one.record, one.value) for one in alone.measured] == [
        (one.record, one.value) for one in both.measured
    ]
    assert any("second.csv" in one.what for one in both.not_assessed)


def beside(first: Log, file: str, start: int = 0, **channels) -> Log:
    """A second logger of the same place, so many hours later, in a file of its own."""
    made = log(first.stage, first.where, **channels)
    return dataclasses.replace(made, file=file, at=made.at + np.timedelta64(start * 3600, "s"))


def unread(*logs: Log) -> dict[str, str]:
    return {one.what: one.because for one in measure(lot(*logs), BASE).not_assessed}


def test_a_probe_of_a_shorter_logger_beside_the_longest_is_read_for_the_time_it_ran():
    long = log("transport", "air", temperature=np.full(960, 25.0), humidity=np.full(960, 70.0))
    cold = np.where(np.arange(720) < 48, 10.0, 30.0)
    probe = beside(long, "b.csv", temperature=np.full(720, 25.0), humidity=np.full(720, 70.0), surface=cold)
    found = measured(long, probe)["condensation_hours"]
    assert found.value == 48
    assert "wall or roof in b.csv while it ran, else roof, taken" in found.inputs
    assert "log b.csv" not in unread(long, probe)


def test_the_damp_of_a_shorter_logger_is_read_where_the_longest_has_no_humidity():
    long = log("transport", "air", temperature=np.full(960, 25.0))
    wet = beside(long, "b.csv", temperature=np.full(720, 25.0), humidity=np.full(720, 97.0))
    found = measured(long, wet)
    assert found["transit_damp_hours"].value == 720
    assert found["condensation_hours"].value == 720
    assert unread(long, wet) == {
        "log transport.csv": "b.csv was read of this place, as it holds more of what is needed; trace this one by itself to compare"
    }


def test_a_logger_that_runs_beside_the_longest_and_is_not_read_is_told_whatever_it_holds():
    long = log("origin_storage", "air", temperature=np.full(960, 22.0), humidity=np.full(960, 60.0))
    other = beside(
        long, "b.csv", temperature=np.full(720, 22.0), humidity=np.full(720, 60.0), surface=np.full(720, 20.0)
    )
    assert "origin_storage.csv is longer and was read of this place" in unread(long, other)["log b.csv"]


def test_warmth_and_acidity_of_a_tank_may_come_from_two_loggers():
    warm = log("processing", "tank", temperature=np.full(30, 24.0))
    sour = beside(warm, "ph.csv", ph=np.linspace(6.0, 4.2, 20))
    found = measured(warm, sour)
    assert found["tank_temperature"].value == 24.0
    assert found["ph_at_wash"].value == pytest.approx(4.2, abs=0.06)
    assert unread(warm, sour) == {}
