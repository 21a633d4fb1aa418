"""Moist air: vapour pressure, dew point and deficit, by psychrolib, looked up from a fine table for whole logs."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import psychrolib

Array = npt.NDArray[np.float64]
_LOWEST, _HIGHEST, _STEP = -60.0, 160.0, 0.05
TRIPLE_POINT = 0.01
"""Of water, C."""


@cache
def _table() -> tuple[Array, Array]:
    """Temperatures (C) and the logarithm of the saturation pressure (Pa) there; over ice below 0.01 C."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    # The curve has a kink where ice gives way to water, so that point is in the table itself.
    temperatures = np.union1d(np.arange(_LOWEST, _HIGHEST + _STEP / 2, _STEP), [TRIPLE_POINT])
    pressures = [psychrolib.GetSatVapPres(float(t)) for t in temperatures]
    return temperatures, np.log(pressures)


def saturation_pressure(temperature: Any) -> Array:
    """Vapour pressure of saturated air, Pa (ASHRAE, Hyland and Wexler); temperature in C."""
    temperatures, logs = _table()
    return np.asarray(np.exp(np.interp(temperature, temperatures, logs)))


def vapour_pressure(temperature: Any, humidity: Any) -> Array:
    """Vapour pressure, Pa; humidity from 0 to 1."""
    return np.asarray(np.asarray(humidity) * saturation_pressure(temperature))


def dew_point(temperature: Any, humidity: Any) -> Array:
    """Temperature (C) at which air of this temperature (C) and humidity (0 to 1) begins to condense."""
    temperatures, logs = _table()
    pressure = np.maximum(vapour_pressure(temperature, humidity), 1e-6)
    return np.asarray(np.interp(np.log(pressure), logs, temperatures))


def deficit(temperature: Any, humidity: Any) -> Array:
    """Vapour pressure deficit of air, kPa."""
    return np.asarray(saturation_pressure(temperature) * (1 - np.asarray(humidity)) / 1000)
