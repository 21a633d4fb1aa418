"""What the history of a lot shows once it is worked out: measured values with their windows, and what is not assessed."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.history.series import Window
from tracer.wording.sentence import Id, Name, joined, say


@dataclass(frozen=True, slots=True)
class Measured:
    """A record filled in from logs, readings or bed days."""

    record: Id
    value: float | str
    low: float | None
    high: float | None
    inputs: str
    """What it was worked out from, in words."""
    windows: tuple[Window, ...] = ()
    beside: tuple[Name, ...] = ()
    """Other logs that it was worked out from."""

    @property
    def logs(self) -> set[str]:
        """Files that it was worked out from."""
        return {window.file for window in self.windows} | set(self.beside)

    @property
    def source(self) -> str:
        """Where it comes from, in one line."""
        most = sorted(self.windows, key=lambda window: -window.hours)[:2]
        shown = joined((window.told for window in sorted(most, key=lambda window: window.first)), "; ")
        more = say(" and {count} more", count=len(self.windows) - 2) if len(self.windows) > 2 else ""
        return (
            say("{inputs}: {shown}{more}", inputs=self.inputs, shown=shown, more=more)
            if shown
            else self.inputs
        )


@dataclass(frozen=True, slots=True)
class NotAssessed:
    """Something that could not be worked out, and why: no finding either way."""

    stage: Id
    what: str
    because: str


@dataclass(frozen=True, slots=True)
class Proposed:
    """What a sentence of a message seems to say; it counts only once it is confirmed."""

    phrase: Id
    """Id of the proposal: what `confirmed:` names."""
    record: Id
    """The row of the sheet, or what else it speaks of: an off-note, a level of the pattern, a material ..."""
    value: float | str
    sentence: Name
    by: Name
    on: Name | None
    state: Id
    """open, confirmed or declined."""
    place: Name
    kind: Id = "record"
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
