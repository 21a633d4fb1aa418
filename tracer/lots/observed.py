"""What was heard of a lot: observations by off-note, words still open, words taken for others."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from tracer.issues import Place


@dataclass(frozen=True, slots=True)
class Observation:
    """One taster on one off-note: named in `found` of `cups` cups.

    `found` is 0 where the taster looked and found none, and None where the note was named without a
    count (in at least one cup). Not assessed has no observation at all.
    """

    descriptor: str
    taster: str
    found: int | None
    cups: int
    intensity: str
    doubtful: bool
    words: str
    cupping: int
    place: Place
    which: tuple[int, ...] = ()
    """Numbers of the cups, where the taster named them."""
    unasked: bool = False
    """Nothing was said of the note, by a taster who may name only what is found."""
    assumed: bool = False
    """Nobody says how many cups there were: `cups` is what is usual."""
    every: bool = False
    """All cups had it, in these words and not by a number."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A word that needs an answer from the taster before it counts."""

    words: str
    outcome: str
    question: str
    candidates: tuple[str, ...]
    suggestions: tuple[str, ...]
    taster: str
    place: Place
    weights: tuple[tuple[str, float], ...] = ()
    """Off-note, or innocent -> share of tasters who mean it."""
    sample: str = "unknown"
    denied: bool = False
    """The taster says that it is not there."""
    found: int | None = None
    cups: int = 0
    cupping: int = -1
    """In how many of how many cups of which cupping the word was used."""
    intensity: str = "unstated"
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class Understood:
    """A word that was taken for something other than as it stands: told, so that nothing is silent."""

    words: str
    how: str
    """corrected, or read by its usual meaning."""
    taken_for: str
    descriptor: str | None
    taster: str
    place: Place
    others: tuple[str, ...] = ()
    """Off-notes it may mean, where it has several meanings."""


@dataclass(frozen=True, slots=True)
class Heard:
    """All observations of the sample traced, and all words still open."""

    observations: tuple[Observation, ...]
    asked: tuple[Asked, ...]
    clean: bool
    """Somebody said the cup is clean."""
    checked_all: tuple[tuple[str, int, int], ...]
    """(taster, cups, cupping) of those who worked down the whole list, of any sample."""
    elsewhere: tuple[Observation, ...] = ()
    """What was heard of the lot's other samples."""
    asked_elsewhere: tuple[Asked, ...] = ()
    """Words still open in the lot's other samples."""
    understood: tuple[Understood, ...] = ()
    beside: tuple[Observation, ...] = ()
    """What was heard of the control and the other coffees of the tables."""
    asked_beside: tuple[Asked, ...] = ()

    def alarming(self, stops: Collection[str], least: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Stop notes named in any cup of any sample, and those that an open word means for a `least` share of tasters."""
        heard = (*self.observations, *self.elsewhere, *self.beside)
        named = [o.descriptor for o in heard if o.found != 0 and o.descriptor in stops]
        perhaps = [
            name
            for word in (*self.asked, *self.asked_elsewhere, *self.asked_beside)
            if not word.denied and sum(share for name, share in word.weights if name in stops) >= least
            for name in word.candidates
            if name in stops
        ]
        return tuple(dict.fromkeys(named)), tuple(dict.fromkeys(perhaps))

    def everywhere(self) -> tuple[str, ...]:
        """Descriptors somebody reported present in any sample of the lot, those of the sample traced first."""
        earlier = [o.descriptor for o in self.elsewhere if o.found != 0 and not o.doubtful]
        return tuple(dict.fromkeys((*self.reported(), *earlier)))

    def reported(self) -> tuple[str, ...]:
        """Descriptors somebody reported present, in the order first named."""
        present = [o.descriptor for o in self.observations if o.found != 0 and not o.doubtful]
        return tuple(dict.fromkeys(present))
