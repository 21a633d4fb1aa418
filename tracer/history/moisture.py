"""Moisture of coffee: wet and dry basis, methods, and whether a difference is more than the methods' error."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from tracer.knowledge.physics import MoistureMethods

Amount = TypeVar("Amount", float, npt.NDArray[np.float64])


def to_dry_basis(wet: Amount) -> Amount:
    """Moisture in % of the dry mass from % of the whole: 100 w / (100 - w).

    >>> round(to_dry_basis(12.5), 4)
    14.2857
    """
    return 100 * wet / (100 - wet)


def to_wet_basis(dry: Amount) -> Amount:
    """Moisture in % of the whole from % of the dry mass: 100 d / (100 + d).

    >>> round(to_wet_basis(to_dry_basis(11.0)), 9)
    11.0
    """
    return 100 * dry / (100 + dry)


def as_iso6673(moisture: float, method: str, methods: MoistureMethods) -> float:
    """What ISO 6673 would have read, % wet basis: methods differ by about a point."""
    return moisture - methods.above_iso6673[method]


def difference(
    before: tuple[float, str], after: tuple[float, str], methods: MoistureMethods
) -> tuple[float, float, bool]:
    """Gain from one reading (moisture, method) to another: points, its standard error, and whether it is real.

    Two readings by one method share its bias, so that only the scatter of each counts; an unknown method keeps
    its whole error. Formula: error of a difference, sqrt(a^2 + b^2).
    """
    gain = as_iso6673(*after, methods) - as_iso6673(*before, methods)
    error = math.hypot(methods.error[before[1]], methods.error[after[1]])
    return gain, error, abs(gain) > methods.certain * error
