"""Sorption isotherms: moisture of coffee in balance with air, and back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from tracer.history.moisture import to_dry_basis
from tracer.knowledge.physics import Isotherm
from tracer.wording.sentence import say

Array = npt.NDArray[np.float64]
LEAST_AW, MOST_AW = 0.005, 1.0
_HALVINGS = 48


def _roa(aw: Array, temperature: Array, p: tuple[float, ...], q: tuple[float, ...]) -> Array:
    exponent = (q[0] * aw + q[1] * aw**2 + q[2] * aw**3) * temperature
    return np.asarray((p[0] * aw + p[1] * aw**2 + p[2] * aw**3) * np.exp(exponent))


def _oswin(aw: Array, temperature: Array, a: tuple[float, ...], b: tuple[float, ...]) -> Array:
    room = np.minimum(aw, 1 - 1e-9)
    return np.asarray((a[0] + a[1] * temperature) * (room / (1 - room)) ** b[0])


def _gab(
    aw: Array, temperature: Array, mono: tuple[float, ...], c: tuple[float, ...], k: tuple[float, ...]
) -> Array:
    x = k[0] * aw
    return np.asarray(mono[0] * c[0] * x / ((1 - x) * (1 - x + c[0] * x)) + 0 * temperature)


def _modified_henderson(
    aw: Array, temperature: Array, k: tuple[float, ...], c: tuple[float, ...], n: tuple[float, ...]
) -> Array:
    room = np.minimum(aw, 1 - 1e-9)
    return np.asarray((-np.log(1 - room) / (k[0] * (temperature + c[0]))) ** (1 / n[0]))


FORMS: dict[str, Callable[..., Array]] = {
    "roa": _roa,
    "oswin": _oswin,
    "gab": _gab,
    "modified_henderson": _modified_henderson,
}
"""Usual forms, all as Me(aw, T in C) in % dry basis. Roa: (p1 f + p2 f^2 + p3 f^3) exp[(q1 f + q2 f^2 + q3 f^3) T];
Trejos, Roa and Oliveros 1989, Cenicafe 40(1):5-15, eq. 2. The others are textbook forms, from memory."""


def equilibrium(aw: Any, temperature: Any, isotherm: Isotherm) -> Array:
    """Moisture (% dry basis) in balance with air of relative humidity `aw` (0 to 1) at a temperature (C)."""
    form = FORMS[isotherm.form]
    return form(np.asarray(aw, dtype=float), np.asarray(temperature, dtype=float), **isotherm.coefficients)


def water_activity(dry: Any, temperature: Any, isotherm: Isotherm) -> Array:
    """Water activity of coffee of a moisture (% dry basis) at a temperature (C), by halving.

    Every form rises with aw, so that the answer is unique; moisture above the curve gives 1.
    """
    dry, temperature = np.broadcast_arrays(np.asarray(dry, dtype=float), np.asarray(temperature, dtype=float))
    low, high = np.full(dry.shape, LEAST_AW), np.full(dry.shape, MOST_AW)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        above = equilibrium(middle, temperature, isotherm) > dry
        high = np.where(above, middle, high)
        low = np.where(above, low, middle)
    return np.asarray((low + high) / 2)


def water_activity_of_wet_basis(wet: Any, temperature: Any, isotherm: Isotherm) -> Array:
    """Water activity from % wet basis."""
    return water_activity(to_dry_basis(np.asarray(wet, dtype=float)), temperature, isotherm)


def misprinted(isotherm: Isotherm) -> str | None:
    """Why the coefficients cannot be right: they miss their own measured point, or do not rise with aw."""
    temperature, aw, measured, apart = isotherm.guard
    found = float(equilibrium(aw, temperature, isotherm))
    if abs(found - measured) > apart:
        return say(
            "gives {found:.1f} % dry basis at {temperature:g} C and aw {aw:g}, where {measured:g} was measured",
            found=found,
            temperature=temperature,
            aw=aw,
            measured=measured,
        )
    grid = np.linspace(0.01, 0.99, 99)
    for one in np.linspace(*isotherm.temperature, 11):
        if (np.diff(equilibrium(grid, one, isotherm)) <= 0).any():
            return say("does not rise with water activity at {one:.0f} C", one=one)
    return None
