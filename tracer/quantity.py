"""Numbers with units, as people write them: '9 h', '11,8 %', '104 °F'."""

from __future__ import annotations

import math
import re

from tracer.names import fold
from tracer.numbers import finite
from tracer.wording.sentence import Own, say, to_type

_NUMBER = re.compile(r"\s*([-+]?\d+(?:[.,]\d+)?)\s*(.*?)\s*")

FACTORS: dict[str, dict[str, float]] = {
    "h": {
        "h": 1,
        "hour": 1,
        "hours": 1,
        "hr": 1,
        "min": 1 / 60,
        "minutes": 1 / 60,
        "months": 730.5,
        "d": 24,
        "day": 24,
        "days": 24,
        "weeks": 168,
    },
    "min": {"min": 1, "minutes": 1, "minute": 1, "s": 1 / 60, "h": 60, "hours": 60},
    "points": {"points": 1, "point": 1, "pts": 1, "": 1},
    "d": {
        "d": 1,
        "day": 1,
        "days": 1,
        "h": 1 / 24,
        "hours": 1 / 24,
        "week": 7,
        "weeks": 7,
        "month": 365.25 / 12,
        "months": 365.25 / 12,
        "years": 365.25,
    },
    "weeks": {
        "week": 1,
        "weeks": 1,
        "d": 1 / 7,
        "day": 1 / 7,
        "days": 1 / 7,
        "month": 365.25 / 84,
        "months": 365.25 / 84,
        "years": 365.25 / 7,
        "h": 1 / 168,
    },
    "months": {
        "month": 1,
        "months": 1,
        "d": 12 / 365.25,
        "days": 12 / 365.25,
        "weeks": 84 / 365.25,
        "year": 12,
        "years": 12,
    },
    "%": {"%": 1, "percent": 1, "pct": 1},
    "cm": {"cm": 1, "mm": 0.1, "m": 100, "in": 2.54, "inch": 2.54, "inches": 2.54},
    "mm": {"mm": 1, "cm": 10, "in": 25.4},
    "m": {"m": 1, "masl": 1, "ft": 0.3048, "feet": 0.3048, "km": 1000},
    "kg": {"kg": 1, "g": 0.001, "lb": 0.45359237, "t": 1000},
    "g": {"g": 1, "kg": 1000},
    "mg/kg": {"mg/kg": 1, "ppm": 1, "ug/g": 1, "ug/kg": 0.001, "g/kg": 1000},
    "ug/kg": {"ug/kg": 1, "ppb": 1, "ng/g": 1, "mg/kg": 1000, "ng/kg": 0.001, "pg/g": 0.001},
    "ng/kg": {"ng/kg": 1, "ppt": 1, "pg/g": 1, "ug/kg": 1000, "ng/g": 1000},
    "g/l": {"g/l": 1, "mg/l": 0.001},
    "ng/l": {"ng/l": 1, "ug/l": 1000, "mg/l": 1_000_000, "pg/ml": 1},
    "ug/l": {"ug/l": 1, "ng/l": 0.001, "mg/l": 1000, "ppb": 1},
    "mg/l": {"mg/l": 1, "ug/l": 0.001, "ng/l": 0.000001},
    "aw": {"aw": 1},
    "ph": {"ph": 1},
    "1": {"": 1, "beans": 1, "bags": 1, "cups": 1, "times": 1},
}
"""Unit of a record -> accepted unit -> factor. Units are compared folded, with micro written u."""


class QuantityError(ValueError):
    """The text is no number in a unit that fits; the message says why, `remedy` how to mend it."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


def read_quantity(value: int | float | str, unit: str) -> float:
    """A number in `unit` from what was written.

    >>> read_quantity("2 days", "h")
    48.0
    >>> read_quantity("11,8 %", "%")
    11.8
    >>> round(read_quantity("104 °F", "C"), 6)
    40.0
    """
    match = _NUMBER.fullmatch(value) if isinstance(value, str) else None
    try:
        number = finite(match[1] if match else str(value))
    except ValueError:
        match, number = None, math.nan
    if not isinstance(value, str) and math.isfinite(number):
        return number
    if match is None:
        raise QuantityError(
            say("'{data}' is no number", data=value),
            say("Write a number, such as 9, or unknown.")
            if unit == "1"
            else say("Write a number with its unit, such as 9 {unit}, or unknown.", unit=Own(unit)),
        )
    written = unit_name(match[2])
    wanted = unit_name(unit)
    if not written or written == wanted:
        return number
    if wanted == "c":
        return _celsius(number, written, str(value))
    factors = FACTORS.get(wanted, {wanted: 1.0})
    if written not in factors:
        names = to_type(sorted(name for name in factors if name))
        raise QuantityError(
            say("'{unit}' is not a unit that fits here", unit=match[2]),
            say("Use {units}.", units=names) if names else say("Use a plain number."),
        )
    return number * factors[written]


def _celsius(number: float, written: str, value: str) -> float:
    if written in ("f", "fahrenheit"):
        return (number - 32) / 1.8
    if written in ("c", "celsius", "deg c"):
        return number
    raise QuantityError(
        say("'{value}' is not a temperature in a unit known here", value=value), say("Write C or F, as 26 C.")
    )


def unit_name(text: str) -> str:
    """A unit folded for comparison.

    >>> unit_name("µg/kg"), unit_name("°C")
    ('ug/kg', 'c')
    """
    return fold(text).replace("μ", "u").replace("µ", "u").replace("°", "").strip(" .")
