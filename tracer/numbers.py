"""Numbers as people write them."""

from __future__ import annotations

import math


def finite(text: str) -> float:
    """A number with a point or a comma. Raises ValueError for anything else, infinity and 'nan' too.

    >>> finite("1,5"), finite(" 3 ")
    (1.5, 3.0)
    """
    number = float(text.replace(",", "."))
    if not math.isfinite(number):
        raise ValueError(f"{text} is no finite number")
    return number
