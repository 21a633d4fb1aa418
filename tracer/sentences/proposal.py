"""What a sentence may mean on the lot sheet."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Literal

from tracer.amounts import Amount

Kind = Literal[
    "record", "answer", "pattern", "comparison", "sample", "normal", "lot", "note", "contact", "laboratory"
]


@dataclass(frozen=True, slots=True)
class NoteSaid:
    """How a note stands in a sentence."""

    state: str
    intensity: str
    cups: int | None
    of: int | None
    which: tuple[int, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """One entry of the sheet that a sentence may mean. It counts only once it is confirmed."""

    id: str
    """Id of the phrase; for the rest made of its kind and what it names: note_musty, contact_onion, laboratory_tca."""
    kind: Kind
    target: str
    """Record, question, level, what is compared, sample, stage, off-note, material or compound."""
    value: str | float | None
    """yes, no or a choice; the answer; share, shows; how the thing met the coffee; the laboratory's result."""
    score: float
    sure: bool
    """Everything the way of saying it needs stands in the sentence."""
    places: tuple[int, ...]
    """Signs of the sentence it rests on."""
    amount: Amount | None = None
    stage: str | None = None
    hearsay: bool = False
    note: NoteSaid | None = None
    unit: str | None = None
    day: datetime.date | None = None
    right: float | None = None
    """Probability that a careful person would put it on the sheet, where it is known."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing that a sentence says, with what it may mean, likeliest first."""

    proposals: tuple[Proposal, ...]

    @property
    def first(self) -> Proposal:
        """The likeliest."""
        return self.proposals[0]


@dataclass(frozen=True, slots=True)
class Read:
    """A sentence with what it says; nothing where it was read only as text."""

    text: str
    line: int
    language: str
    statements: tuple[Statement, ...]
    hearsay: bool
    """Somebody is said to say so."""

    @property
    def proposals(self) -> tuple[Proposal, ...]:
        """All proposals, those of the first statement first."""
        return tuple(one for statement in self.statements for one in statement.proposals)
