"""One thing known of a lot, as the rules see it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, order=True)
class Fact:
    """`name` holds `value`; `source` says where that stands in the sheet, or what it was computed from.

    A yes or no is the text 'yes' or 'no' with kind yes_no; a date is a number of days.
    """

    name: str
    value: int | float | str
    kind: Literal["number", "text", "yes_no"]
    source: str
