"""One thing that is known of a lot."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Kind = Literal["number", "text", "yes_no"]


@dataclass(frozen=True, slots=True)
class Fact:
    """A known value; what is not known is no fact at all.

    >>> Fact("moisture_now", 12.4, "number", "green.moisture_now").value
    12.4
    """

    name: str
    """The record's id, or the name of a concluded finding."""
    value: bool | int | float | str
    """A number in the record's own unit, a text, or the text yes or no."""
    kind: Kind
    from_: str
    """Where it comes from: a place in the lot sheet, `computed from ...`, or `rule:<id>`."""

    def __post_init__(self) -> None:
        if isinstance(self.value, float) and not math.isfinite(self.value):
            raise ValueError(f"{self.name} is {self.value}: a number is finite, or it is not known")

    @property
    def order(self) -> tuple[str, str, str, str]:
        """Key that sorts facts of any kind."""
        return (self.name, self.kind, str(self.value), self.from_)
