"""What the history of a lot shows once it is worked out: measured values with their windows, and what is not assessed."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.history.series import Window


@dataclass(frozen=True, slots=True)
class Measured:
    """A record filled in from logs, readings or bed days."""

    record: str
    value: float | str
    low: float | None
    high: float | None
    inputs: str
    """What it was worked out from, in words."""
    windows: tuple[Window, ...] = ()

    @property
    def source(self) -> str:
        """Where it comes from, in one line."""
        most = sorted(self.windows, key=lambda window: -window.hours)[:2]
        shown = "; ".join(map(str, sorted(most, key=lambda window: window.first)))
        more = f" and {len(self.windows) - 2} more" if len(self.windows) > 2 else ""
        return f"{self.inputs}: {shown}{more}" if shown else self.inputs


@dataclass(frozen=True, slots=True)
class NotAssessed:
    """Something that could not be worked out, and why: no finding either way."""

    stage: str
    what: str
    because: str


@dataclass(frozen=True, slots=True)
class Proposed:
    """What a sentence of a message seems to say; it counts only once it is confirmed."""

    phrase: str
    """Id of the proposal: what `confirmed:` names."""
    record: str
    """The row of the sheet, or what else it speaks of: an off-note, a level of the pattern, a material ..."""
    value: float | str
    sentence: str
    by: str
    on: str | None
    state: str
    """open, confirmed or declined."""
    place: str
    kind: str = "record"
    rank: int = 1
    """1 for the likeliest meaning of what is said, 2 and 3 for its rivals."""
    hearsay: bool = False


@dataclass(frozen=True, slots=True)
class History:
    """Everything worked out from the history of a lot."""

    measured: tuple[Measured, ...] = ()
    not_assessed: tuple[NotAssessed, ...] = ()
    doubts: tuple[str, ...] = ()
    proposed: tuple[Proposed, ...] = ()
    unread: tuple[str, ...] = ()
    """Sentences that matched no phrase."""
