"""The physics at its limits, and what a number of cups can show: worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tests.history.build import PHYSICS
from tracer.history import isotherm, mould, sampling
from tracer.history.air import deficit, dew_point, saturation_pressure
from tracer.history.isotherm import equilibrium, misprinted, water_activity
from tracer.history.thin_layer import dry_through

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
        assert both[:, column] == pytest.approx(
            mould.growth_index(warm, aw[:, column], 0.5, PHYSICS.mould_growth)
        )


def test_the_lack_of_saturation_is_in_kilopascal():
    # 3.169 kPa at 25 C (ASHRAE), half of it missing at 50 %.
    assert float(deficit(25.0, 0.5)) == pytest.approx(3.169 / 2, rel=1e-3)
    assert float(dew_point(25.0, 0.0)) == -60.0


def test_ice_gives_way_to_water_at_a_hundredth_of_a_degree():
    # 611.657 Pa at the triple point of water (IAPWS, from memory).
    assert float(saturation_pressure(0.01)) == pytest.approx(611.657, rel=1e-4)
    below, at, above = (float(saturation_pressure(0.01 + step)) for step in (-0.005, 0.0, 0.005))
    assert at / below > above / at


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
    "gab": (
        {"mono": (5.0,), "c": (10.0,), "k": (0.8,)},
        5 * 10 * 0.4 / (0.6 * 4.6),
        5 * 10 * 0.64 / (0.36 * 6.76),
    ),
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
    plain = PHYSICS.isotherm.model_copy(
        update={"form": "oswin", "coefficients": flat, "guard": guard, "temperature": (5, 55)}
    )
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
