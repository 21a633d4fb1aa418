"""Published models that ours is compared with. They are no part of the tool."""

from __future__ import annotations

import math


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
