"""Amounts in water, with every unit spelled out: a wrong unit is a factor of a thousand."""

from __future__ import annotations

import math
import re

from tracer.wording.sentence import say, to_type

PER_LITRE = {"ng/l": 1e-3, "ug/l": 1.0, "mg/l": 1e3, "g/l": 1e6}
"""Unit -> ug in a litre."""
_DOUBTFUL = ("ppt", "ppb", "ppm", "ppq")
_AMOUNT = re.compile(r"\s*(\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?)\s*([^\s\d]+)\s*")


class AmountError(ValueError):
    """The amount cannot be used; `remedy` says how to write it."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


def per_litre(text: str) -> float:
    """ug in a litre, from what was written.

    >>> per_litre("2 ng/L")
    0.002
    """
    match = _AMOUNT.fullmatch(text)
    if match is None:
        raise AmountError(
            say("'{text}' is no amount", text=text), say("Write a number and its unit, such as 2.5 ug/L.")
        )
    unit = match[2].lower().replace("µ", "u").replace("μ", "u")
    if unit in _DOUBTFUL:
        raise AmountError(
            say(
                "'{unit}' is no safe unit: ppt is read as parts per thousand too, and ppm by mass or by volume",
                unit=match[2],
            ),
            say("Write ng/L, ug/L or mg/L."),
        )
    if unit not in PER_LITRE:
        raise AmountError(
            say("'{unit}' is no amount in a litre", unit=match[2]),
            say("Use {units}.", units=to_type(PER_LITRE)),
        )
    value = float(match[1].replace(",", ".")) * PER_LITRE[unit]
    if not 0 < value < math.inf:
        raise AmountError(say("'{text}' is nothing", text=text), say("Write an amount above 0."))
    return value


def two_units(value: float) -> str:
    """An amount of ug in a litre in the unit that reads best and in the next smaller one, to be checked by eye.

    >>> two_units(7.5)
    '7.5 ug/L = 7,500 ng/L'
    >>> two_units(0.006)
    '6 ng/L = 6,000 pg/L'
    """
    steps = (("g/L", 1e6), ("mg/L", 1e3), ("ug/L", 1.0), ("ng/L", 1e-3), ("pg/L", 1e-6))
    index = next((i for i, (_, size) in enumerate(steps[:-1]) if value >= size * 0.9999999), 3)
    name, size = steps[index]
    smaller, small = steps[index + 1]
    return f"{value / size:.4g} {name} = {figure(value / small)} {smaller}"


def figure(number: float) -> str:
    """A number as it is read at a bench: never with an exponent.

    >>> figure(285714.28), figure(61.2245)
    ('285,714', '61.22')
    """
    return f"{number:,.0f}" if number >= 1000 else f"{number:.4g}"
