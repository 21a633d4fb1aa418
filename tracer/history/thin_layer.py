"""Thin-layer drying of parchment: moisture step by step through changing air."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from tracer.history.air import deficit
from tracer.history.isotherm import equilibrium
from tracer.history.moisture import to_dry_basis
from tracer.knowledge.physics import Isotherm, ThinLayer

Array = npt.NDArray[np.float64]


def rate_constant(temperature: Any, humidity: Any, layer: ThinLayer) -> Array:
    """k of MR = exp(-k t^q) in air of a temperature (C) and humidity (0 to 1), t in hours: k = m D^n, D in kPa.

    Parra-Coronado, Roa and Oliveros 2008, eq. 15.
    """
    return np.asarray(layer.m * np.maximum(deficit(temperature, humidity), 1e-9) ** layer.n)


def dry_through(
    temperature: Array,
    humidity: Array,
    step: float,
    start_wet: float,
    factors: Array,
    isotherm: Isotherm,
    layer: ThinLayer,
) -> Array:
    """Moisture (% dry basis) at the start and after each step of a log, for several factors on the rate at once.

    `temperature` (C) and `humidity` (0 to 1) are means over steps of `step` hours; the result has one row more than the
    log and one column for each factor. Changing air is stepped by equivalent time: tau is when the coffee
    would have come to its moisture in the air of now. Below the balance it takes up water at the rate q k.
    """
    air = np.minimum(humidity, 0.999)
    balance = equilibrium(air, temperature, isotherm)
    constants = rate_constant(temperature, air, layer)
    now = np.full(len(factors), to_dry_basis(start_wet))
    first = now.copy()
    found = np.empty((len(balance) + 1, len(factors)))
    found[0] = now
    power = 1 / layer.q
    for index in range(len(balance)):
        end, k = balance[index], constants[index] * factors
        above = np.maximum(first - end, 1e-9)
        ratio = np.clip((now - end) / above, 1e-12, 1.0)
        tau = (-np.log(ratio) / k) ** power
        dried = end + (now - end) * np.exp(-k * ((tau + step) ** layer.q - tau**layer.q))
        wetted = end + (now - end) * np.exp(-layer.q * k * step)
        now = np.where(now > end, dried, wetted)
        found[index + 1] = now
    return found
