"""How much to weigh for a stock, and how far weighing and measuring can be out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tracer.knowledge.panel_settings import PanelSettings


@dataclass(frozen=True, slots=True)
class Stock:
    """What is at hand: mg of a purity made up to mL."""

    mass: float
    purity: float
    volume: float

    @property
    def strength(self) -> float:
        """ug/mL.

        >>> round(Stock(10, 0.98, 100).strength, 9)
        98.0
        """
        return 1000 * self.mass * self.purity / self.volume


def suitable_mass(needed: float, volume: float, stock: Stock, settings: PanelSettings) -> float:
    """mg to weigh so that the carrier stays within its limit: the stock's own mass, or more, rounded up to two figures."""
    room = settings.most_carrier * volume
    least = needed / room * stock.volume / stock.purity / 1000
    if least <= stock.mass:
        return stock.mass
    size = 10 ** (math.floor(math.log10(least)) - 1)
    return float(math.ceil(least / size) * size)


def relative_error(parts: list[float]) -> float:
    """Root of the sum of squares of independent relative errors."""
    return math.sqrt(math.fsum(part**2 for part in parts))
