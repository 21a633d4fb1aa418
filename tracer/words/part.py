"""A piece of a clause with its meanings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tracer.words.clauses import Count
from tracer.words.tongue import QUIET, Meaning

How = Literal["listed", "inflected", "compound", "corrected", "foreign", "likened", "unknown"]
NOTES = frozenset(["note", "misspelt", "ambiguity"])
JOINING = frozenset(
    [*QUIET, "noticing", "negation", "break", "slight", "moderate", "strong", "doubt", "seen", "lacking"]
)
"""Kinds that may stand between a denial and what it denies."""


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a clause with its meanings, and how they were found."""

    text: str
    meanings: tuple[Meaning, ...] = ()
    how: How = "listed"
    count: Count | None = None
    corrected: str | None = None
    """The word of the vocabulary that a misspelt one was taken for."""
    likened: tuple[tuple[str, float], ...] = ()
    """For a piece of known likenesses: off-note and its share."""
    doubted: bool = False
    """A question mark stands behind it."""
    guessed: bool = False
    """A short misspelling, or a compound with an unknown member: it is put as a question."""

    @property
    def kinds(self) -> frozenset[str]:
        """Kinds of its meanings."""
        return frozenset(meaning.kind for meaning in self.meanings)

    @property
    def names_a_note(self) -> bool:
        """True if it names an off-note, or may."""
        return bool(self.kinds & NOTES) or bool(self.likened)

    @property
    def joins(self) -> bool:
        """True if a plain denial reaches over it: a small word, a word of finding, another off-note in the list."""
        known = bool(self.kinds & (NOTES | JOINING))
        return self.count is not None or (known and self.how != "foreign")
