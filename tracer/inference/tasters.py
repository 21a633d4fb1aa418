"""What is measured of the tasters of a lot: their own rates and confusions in place of the defaults."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tracer.lots.lot import Lot
from tracer.names import fold
from tracer.wording.sentence import Name


@dataclass(frozen=True, slots=True)
class TasterRates:
    """One taster on one note: Beta laws of hits and false alarms, and the chance that they cannot smell it."""

    hit: tuple[float, float]
    false_alarm: tuple[float, float]
    cannot_smell: float
    multiple: float | None = None
    """Of its threshold, at which the note was served (geometric mean over the cups); None where nobody wrote it down."""


@dataclass(frozen=True, slots=True)
class MeasuredTaster:
    """What a measurement rests on, for the report."""

    taster: Name
    cups: int
    last: Name
    notes: int
    """Notes measured on enough cups."""
    age_days: int


@dataclass(frozen=True)
class MeasuredPanel:
    """Rates by taster (folded name) and note; how often a taster calls a note given by another's name: (taster, given, named)."""

    rates: Mapping[tuple[str, str], TasterRates] = field(default_factory=dict)
    confusions: Mapping[tuple[str, str, str], float] = field(default_factory=dict)
    tasters: tuple[MeasuredTaster, ...] = ()

    def of(self, taster: str, note: str) -> TasterRates | None:
        """Rates of a taster on a note, or None where they were never measured."""
        return self.rates.get((fold(taster), note))


PanelOf = Callable[[Lot], MeasuredPanel | None]
"""What is measured of the tasters of a lot; None where nothing was."""
