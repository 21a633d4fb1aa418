"""The drying curve and what it says of mould, stops and rewetting: worked anew from the same physics."""

from __future__ import annotations

import numpy as np
import pytest

from tests.history.build import PHYSICS, START, log, lot, reading, undated
from tracer.history import drying, mould
from tracer.history.history import NotAssessed
from tracer.history.isotherm import water_activity_of_wet_basis
from tracer.history.moisture import to_wet_basis
from tracer.history.thin_layer import dry_through

AIR = {"temperature": np.full(240, 26.0), "humidity": np.full(240, 60.0)}


def curve(*given, process="washed", **channels):
    return drying.curve(
        lot(log("drying", "air", **(channels or AIR)), readings=given, process=process), PHYSICS
    )


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


@pytest.mark.parametrize(
    ("process", "usual", "spread", "start"), [("washed", 1.0, 1.6, 55), ("natural", 0.6, 2.0, 65)]
)
def test_the_factor_is_that_of_least_squares_with_its_prior(process, usual, spread, start):
    factors = np.geomspace(usual / spread**3, usual * spread**3, 61)
    humid = np.linspace(50, 75, 240)
    course = dry_through(
        np.repeat(26.0, 480),
        np.repeat(humid / 100, 2),
        0.5,
        start,
        factors,
        PHYSICS.isotherm,
        PHYSICS.thin_layer,
    )
    wet = to_wet_basis(course)
    values = [(60, 33.0), (200, 15.0), (300, 14.9)]
    found = curve(
        *(reading("drying", at / 2, value, "iso6673") for at, value in values),
        process=process,
        temperature=np.full(240, 26.0),
        humidity=humid,
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


def test_a_rise_is_told_with_the_readings_and_hours_between_which_it_came():
    given = [
        reading("drying", h, m, "iso6673") for h, m in ((24, 30), (48, 20), (78, 26), (96, 18), (120, 19.5))
    ]
    made = lot(log("drying", "air", **AIR), readings=given)
    found = {one.record: one for one in drying.measures(made, PHYSICS)}["rewetted_points"]
    assert found.value == 6.0
    first, second = found.windows
    assert (first.file, first.first, first.last) == ("readings", "2026-01-03 00:00", "2026-01-04 06:00")
    assert (first.first_row, first.last_row, first.hours) == (2, 3, 30)
    assert (second.first_row, second.last_row, second.hours) == (4, 5, 24)


def test_a_rise_counts_from_a_point_and_beyond_the_error_of_the_readings():
    def rises(second):
        return curve(reading("drying", 24, 30, "iso6673"), reading("drying", 48, second, "iso6673")).rises

    assert rises(30.84) == ()
    assert rises(31.0) == ((1, pytest.approx(1.0)),)
    assert rises(30.95) == ()
    assert rises(28.0) == ()


def test_a_rise_of_a_point_within_the_error_of_the_readings_is_none():
    unsure = PHYSICS.model_copy(
        update={"moisture_methods": PHYSICS.moisture_methods.model_copy(update={"certain": 4})}
    )
    given = [reading("drying", 24, 30, "iso6673"), reading("drying", 48, 31.5, "iso6673")]
    made = lot(log("drying", "air", **AIR), readings=given)
    assert drying.curve(made, PHYSICS).rises == ((1, pytest.approx(1.5)),)
    assert drying.curve(made, unsure).rises == ()


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
        other = lot(
            log("drying", "air", temperature=np.full(480, cold), humidity=humid["humidity"]), readings=given
        )
        told = {one.record: one for one in drying.measures(other, PHYSICS)}
        assert told["drying_mould_hours"].value == 0
    for edge in (15.0, 37.0):
        other = lot(
            log("drying", "air", temperature=np.full(480, edge), humidity=humid["humidity"]), readings=given
        )
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
        float(
            water_activity_of_wet_basis(drying.curve(made, PHYSICS).moisture[-2, 1], 26.0, PHYSICS.isotherm)
        ),
        abs=1e-9,
    )


def test_a_curve_says_the_more_the_more_it_was_read():
    def told(count):
        given = [reading("drying", 40 * k, 40 - 6 * k) for k in range(1, count + 1)]
        return {
            one.record: one
            for one in drying.measures(lot(log("drying", "air", **AIR), readings=given), PHYSICS)
        }

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
