"""Properties of the physics, and CoolProp as an outside reference for moist air."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracer.history import air, mould
from tracer.history.isotherm import FORMS, equilibrium, misprinted, water_activity
from tracer.history.moisture import difference, to_dry_basis, to_wet_basis
from tracer.history.thin_layer import dry_through
from tracer.knowledge.load import load_or_fail

PHYSICS = load_or_fail().settings.physics
ISOTHERM, LAYER, GROWTH = PHYSICS.isotherm, PHYSICS.thin_layer, PHYSICS.mould_growth
temperatures = st.floats(5, 55)
activities = st.floats(0.05, 0.97)
# Coefficients for the textbook forms, chosen so that 12 % wet basis lies near 0.65: no published fit.
OTHERS = {
    "oswin": {"a": (11.5, -0.02), "b": (0.35,)},
    "gab": {"mono": (7.5,), "c": (12.0,), "k": (0.75,)},
    "modified_henderson": {"k": (0.00005,), "c": (60.0,), "n": (2.1,)},
}


def _isotherm(form: str):
    if form == "roa":
        return ISOTHERM
    return ISOTHERM.model_copy(update={"form": form, "coefficients": OTHERS[form]})


@pytest.mark.parametrize("form", FORMS)
@given(aw=activities, temperature=temperatures)
def test_water_activity_is_the_inverse_of_the_isotherm(form, aw, temperature):
    isotherm = _isotherm(form)
    moisture = equilibrium(aw, temperature, isotherm)
    assert float(water_activity(moisture, temperature, isotherm)) == pytest.approx(aw, abs=1e-6)


@given(aw=activities, more=st.floats(0.001, 0.02), temperature=temperatures)
def test_coffee_in_wetter_air_holds_more_water(aw, more, temperature):
    assert equilibrium(aw + more, temperature, ISOTHERM) > equilibrium(aw, temperature, ISOTHERM)


@given(moisture=st.floats(8, 20), temperature=st.floats(5, 50), more=st.floats(0.5, 5))
def test_the_same_coffee_has_a_higher_water_activity_when_warmer(moisture, temperature, more):
    cold = water_activity(to_dry_basis(moisture), temperature, ISOTHERM)
    assert water_activity(to_dry_basis(moisture), temperature + more, ISOTHERM) >= cold - 1e-9


@given(st.floats(0.1, 80))
def test_wet_and_dry_basis_are_inverse(moisture):
    assert to_wet_basis(to_dry_basis(moisture)) == pytest.approx(moisture, rel=1e-12)


def test_the_shipped_isotherm_is_not_misprinted():
    assert misprinted(ISOTHERM) is None


@settings(deadline=None)
@given(temperature=st.floats(1, 50), humidity=st.floats(0.1, 1.0))
def test_dew_point_and_pressure_agree_with_coolprop(temperature, humidity):
    # CoolProp humid air (IAPWS water): within 0.05 % of pressure, 0.02 K of dew point.
    coolprop = pytest.importorskip("CoolProp.HumidAirProp")
    kelvin = temperature + 273.15
    dew = coolprop.HAPropsSI("D", "T", kelvin, "P", 101325, "R", humidity) - 273.15
    if dew < 0.5:  # below, one speaks of frost and the other of dew
        return
    assert float(air.dew_point(temperature, humidity)) == pytest.approx(dew, abs=0.02)
    water = pytest.importorskip("CoolProp.CoolProp").PropsSI("P", "T", kelvin, "Q", 1, "Water")
    assert float(air.saturation_pressure(temperature)) == pytest.approx(water, rel=5e-4)


@settings(deadline=None)
@given(temperature=st.floats(-30, 60), humidity=st.floats(0.05, 1.0))
def test_the_table_of_vapour_pressure_equals_psychrolib(temperature, humidity):
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    exact = psychrolib.GetSatVapPres(temperature)
    assert float(air.saturation_pressure(temperature)) == pytest.approx(exact, rel=1e-5)
    assert float(air.dew_point(temperature, humidity)) <= temperature + 1e-6


@given(temperature=st.floats(16, 36), aw=st.floats(0.70, 0.96), more=st.floats(0.001, 0.01))
def test_mould_grows_no_slower_in_wetter_coffee(temperature, aw, more):
    slow, fast = mould.growth_rate(temperature, [aw, min(aw + more, 0.973)], GROWTH)
    assert fast >= slow


@given(cold=st.floats(12, 29), more=st.floats(0.1, 1))
def test_mould_grows_no_slower_when_warmer_up_to_30_degrees(cold, more):
    slow, fast = mould.growth_rate([cold, cold + more], 0.88, GROWTH)
    assert fast >= slow


def test_a_dry_spell_of_three_days_starts_the_lag_anew():
    hours = 24 * 10
    temperature = np.full(hours, 25.0)
    wet = np.full(hours, 0.90)
    broken = wet.copy()
    broken[40 : 40 + 72] = 0.60
    steady = mould.growth_index(temperature, wet, 1.0, GROWTH)
    again = mould.growth_index(temperature, broken, 1.0, GROWTH)
    assert again[40 + 72 + 20] == again[40]
    assert steady[-1] > again[-1] > 0


@given(humidity=st.floats(0.3, 0.75), wetter=st.floats(0.01, 0.1), temperature=st.floats(15, 45))
def test_coffee_dries_no_faster_in_wetter_air(humidity, wetter, temperature):
    air_now = np.full(60, temperature)
    factors = np.array([1.0])
    dry = dry_through(air_now, np.full(60, humidity), 1.0, 55, factors, ISOTHERM, LAYER)
    damp = dry_through(air_now, np.full(60, humidity + wetter), 1.0, 55, factors, ISOTHERM, LAYER)
    assert (damp >= dry - 1e-9).all()


def test_steps_of_equivalent_time_equal_the_closed_form_in_constant_air():
    k = 0.0143 * float(air.deficit(30, 0.5)) ** LAYER.n
    end = float(equilibrium(0.5, 30, ISOTHERM))
    closed = end + (to_dry_basis(55.0) - end) * np.exp(-k * 48.0**LAYER.q)
    for steps in (12, 48, 192):
        found = dry_through(
            np.full(steps, 30.0), np.full(steps, 0.5), 48 / steps, 55, np.array([1.0]), ISOTHERM, LAYER
        )
        assert found[-1, 0] == pytest.approx(closed, rel=1e-9)


def test_a_rise_within_the_error_of_two_methods_is_not_called_a_rise():
    methods = PHYSICS.moisture_methods
    gain, _, real = difference((11.0, "iso6673"), (12.0, "iso1446"), methods)
    assert gain == pytest.approx(0.0)
    assert not real
    gain, error, real = difference((11.0, "iso6673"), (13.0, "iso6673"), methods)
    assert gain == 2
    assert real
    assert error < 0.5
    assert not difference((11.0, "unknown"), (12.5, "meter"), methods)[2]
