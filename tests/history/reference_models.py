"""Published models that ours is compared with. They are no part of the tool."""

from __future__ import annotations

import math

import numpy as np
import psychrolib

from tracer.history.isotherm import equilibrium
from tracer.history.moisture import to_dry_basis
from tracer.history.thin_layer import rate_constant
from tracer.knowledge.physics import Isotherm, ThinLayer

SEA_LEVEL = 101325.0
"""Standard pressure, Pa."""


def modified_midilli(t: float, k: float, n: float, b: float) -> float:
    """MR = exp(-k t^n) + b t. Phitakwinai, Thepa and Nilnont 2019, Food Sci. Nutr. 7:2921, table 2 (as transcribed)."""
    return math.exp(-k * t**n) + b * t


def page(t: float, k: float, n: float) -> float:
    """MR = exp(-k t^n), the Page rows of the same table."""
    return math.exp(-k * t**n)


def wood_critical_humidity(temperature: float) -> float:
    """RHcrit = -0.00267 T^3 + 0.160 T^2 - 3.13 T + 100 up to 20 C, else 80. Hukka and Viitanen 1999."""
    if temperature > 20:
        return 80.0
    return -0.00267 * temperature**3 + 0.160 * temperature**2 - 3.13 * temperature + 100


def wood_weeks_to_first_growth(temperature: float, humidity: float) -> float:
    """exp(-0.68 ln T - 13.9 ln RH + 66.02) weeks on pine sapwood. Hukka and Viitanen 1999."""
    return math.exp(-0.68 * math.log(temperature) - 13.9 * math.log(humidity) + 66.02)


def respiration(dry_matter_loss: float, moisture_wet: float) -> dict[str, float]:
    """CO2 (g), water (g), heat (kJ) a kg of dry matter, and the moisture of a closed liner afterwards.

    C6H12O6 + 6 O2 -> 6 CO2 + 6 H2O + 2835 kJ; molar masses 180.156, 44.0095, 18.0153 g.
    """
    moles = dry_matter_loss / 180.156
    water = 6 * moles * 18.0153
    dry, wet = 1000 - dry_matter_loss, 1000 * moisture_wet / (100 - moisture_wet) + water
    return {
        "co2_g": 6 * moles * 44.0095,
        "water_g": water,
        "heat_kJ": moles * 2835,
        "new_moisture_wb_pct": 100 * wet / (wet + dry),
    }


def humidity_ratio(temperature: float, humidity: float, pressure: float = SEA_LEVEL) -> float:
    """Mass of vapour to mass of dry air."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetHumRatioFromRelHum(temperature, humidity, pressure))


def wet_bulb(temperature: float, humidity: float, pressure: float = SEA_LEVEL) -> float:
    """Wet-bulb temperature, C."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetTWetBulbFromRelHum(temperature, humidity, pressure))


def hours_to(
    moisture_wet: float,
    temperature: float,
    humidity: float,
    start_wet: float,
    isotherm: Isotherm,
    layer: ThinLayer,
) -> float:
    """Hours in constant air from a starting moisture to another (both % wet basis); infinite if it cannot be reached."""
    end = float(equilibrium(humidity, temperature, isotherm))
    goal, start = to_dry_basis(moisture_wet), to_dry_basis(start_wet)
    if goal <= end:
        return float("inf")
    k = float(rate_constant(temperature, humidity, layer))
    return float((-np.log((goal - end) / (start - end)) / k) ** (1 / layer.q))


def found_at_least_once(rate: float, cups: int) -> float:
    """Chance that at least one of so many cups shows it."""
    return 1 - (1 - rate) ** cups


def none_of(cups: int, a: float, b: float) -> float:
    """P(no cup of n shows it) where the rate itself varies as Beta(a, b): B(a, b + n) / B(a, b)."""
    return math.exp(math.lgamma(b + cups) + math.lgamma(a + b) - math.lgamma(b) - math.lgamma(a + b + cups))
