"""Which compound stands for which note in one set: different ones where the knowledge has them, else the notes are one reference."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.compound import Compound
from tracer.panel.cards import candidates


@dataclass(frozen=True, slots=True)
class References:
    """References of some notes that are served together."""

    compounds: Mapping[str, Compound]
    """Note -> what to prepare; a note without one is not here."""
    one: tuple[tuple[str, str, str], ...]
    """Two notes and the compound that stands for both: a cup of the one is a cup of the other."""


def references(base: KnowledgeBase, notes: Sequence[str]) -> References:
    """A compound for each note, as many different ones as there can be (Kuhn's augmenting paths), the usual one first.

    >>> from tracer.knowledge.load import load_or_fail
    >>> found = references(load_or_fail(), ["musty", "mushroom"])
    >>> len(set(found.compounds.values())), found.one
    (2, ())
    """
    options = {note: candidates(base, note)[0] for note in dict.fromkeys(notes)}
    taken: dict[str, str] = {}

    def place(note: str, seen: set[str]) -> bool:
        for compound in options[note]:
            if compound.id not in seen:
                seen.add(compound.id)
                if compound.id not in taken or place(taken[compound.id], seen):
                    taken[compound.id] = note
                    return True
        return False

    for note in options:
        place(note, set())
    held = {note: compound for compound, note in taken.items()}
    chosen = {
        note: next((one for one in several if one.id == held.get(note)), several[0])
        for note, several in options.items()
        if several
    }
    pairs = [
        (one, other, chosen[one].label)
        for one, other in combinations(chosen, 2)
        if chosen[one].id == chosen[other].id
    ]
    return References(chosen, tuple(pairs))
