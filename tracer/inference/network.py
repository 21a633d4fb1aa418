"""The extended network as plain arrays: what may be wrong, what it leaves in each segment, what is heard, said and seen.

Faults are binary roots, each in one segment of the chain. Compounds of a segment and notes of a segment have the
ordered states 0 absent < 1 scattered < 2 throughout, and are the largest of independent contributions:
    P(Y <= y | parents) = L(y) prod_u Q(y | u),   Q(y | u) = P(contribution <= y | u),   L(y) = P(leak <= y)
(noisy-MAX, net parameters; Pradhan et al. 1994; Diez and Galan 2003). A note heard at an event is the largest over
the segments the event reaches. A word is a noisy-MAX child of the notes it may mean. A sign is an any-of:
    P(not seen) = (1 - q) prod over causes (1 - p).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Pairs = tuple[tuple[int, int], ...]
_SLACK = 1e-9


@dataclass(frozen=True)
class Structure:
    """Who may cause what; everything is an index into the names."""

    faults: tuple[str, ...]
    compounds: tuple[str, ...]
    """Compounds of a segment."""
    notes: tuple[str, ...]
    """Notes of a segment."""
    heard: tuple[tuple[int, ...], ...]
    """For each note heard at an event, the notes of segments that it is the largest of."""
    fault_links: Pairs
    """(fault, compound)"""
    note_links: Pairs
    """(compound, note)"""
    signs: tuple[str, ...] = ()
    sign_faults: Pairs = ()
    """(sign, fault)"""
    sign_compounds: Pairs = ()
    """(sign, compound)"""
    words: tuple[str, ...] = ()
    word_links: Pairs = ()
    """(word, note heard)"""

    @cached_property
    def links_into_compound(self) -> tuple[tuple[int, ...], ...]:
        """Fault links into each compound."""
        return _grouped(self.fault_links, 1, len(self.compounds))

    @cached_property
    def links_into_note(self) -> tuple[tuple[int, ...], ...]:
        """Note links into each note of a segment."""
        return _grouped(self.note_links, 1, len(self.notes))

    @cached_property
    def links_of_fault(self) -> tuple[tuple[int, ...], ...]:
        """Fault links from each fault."""
        return _grouped(self.fault_links, 0, len(self.faults))

    @cached_property
    def sources(self) -> NDArray[np.int64]:
        """The compound of each note link."""
        return np.array(self.note_links, dtype=np.int64).reshape(-1, 2)[:, 0]

    @cached_property
    def named(self) -> tuple[str, ...]:
        """The note, without its segment, that each note of a segment is."""
        return tuple(name.partition("@")[0] for name in self.notes)

    @cached_property
    def links_into_word(self) -> tuple[tuple[int, ...], ...]:
        """Word links into each word."""
        return _grouped(self.word_links, 0, len(self.words))

    @cached_property
    def heard_of_note(self) -> tuple[tuple[int, ...], ...]:
        """Notes heard that each note of a segment is part of."""
        found: list[list[int]] = [[] for _ in self.notes]
        for index, notes in enumerate(self.heard):
            for note in notes:
                found[note].append(index)
        return tuple(map(tuple, found))

    def makers(self, notes: Iterable[int]) -> set[int]:
        """Compounds that lead to any of some notes of segments."""
        return {self.note_links[link][0] for note in notes for link in self.links_into_note[note]}

    def faults_into(self, compounds: Iterable[int]) -> set[int]:
        """Faults that lead to any of some compounds."""
        return {self.fault_links[link][0] for one in compounds for link in self.links_into_compound[one]}

    def with_more(self, **more: tuple[str, ...] | Pairs) -> Structure:
        """This structure with other signs or words; what was worked out of faults, compounds and notes is kept."""
        other = replace(self, **more)  # type: ignore[arg-type]
        other.__dict__.update({name: getattr(self, name) for name in _LASTING})
        return other


_LASTING = (
    "links_into_compound",
    "links_into_note",
    "links_of_fault",
    "heard_of_note",
    "sources",
    "named",
)
"""What of a structure depends on neither signs nor words."""


def _grouped(pairs: Pairs, side: int, size: int) -> tuple[tuple[int, ...], ...]:
    found: list[list[int]] = [[] for _ in range(size)]
    for index, pair in enumerate(pairs):
        found[pair[side]].append(index)
    return tuple(map(tuple, found))


@dataclass(frozen=True)
class Numbers:
    """How likely each is. The first axis is of rows: 1 where all rows share the figure.

    `prior` (R, faults). Cumulative laws: `fault` (R, fault links, S) given the fault on; `note` (R, note links, S of the
    compound, S); `compound_leak` (R, compounds, S); `note_leak` (R, notes, S); `word_leak` (R, words, S). Chances: `sign_leak`
    (R, signs); `sign_fault` (R, links) given the fault on; `sign_compound` (R, links, S of the compound); `word` (R, word
    links), the share of tasters who use the word for the note.
    """

    prior: Array
    fault: Array
    compound_leak: Array
    note: Array
    note_leak: Array
    sign_leak: Array
    sign_fault: Array
    sign_compound: Array
    word: Array
    word_leak: Array

    @property
    def states(self) -> int:
        """Number of states S."""
        return int(self.compound_leak.shape[2])

    def __len__(self) -> int:
        return max(len(array) for array in vars(self).values())

    def rows(self, start: int, stop: int) -> Numbers:
        """Rows start to stop; what all share stays shared."""
        return Numbers(
            **{name: array if len(array) == 1 else array[start:stop] for name, array in vars(self).items()}
        )


@dataclass(frozen=True)
class Evidence:
    """What is known of the nodes, by index: likelihood vectors, shape (S,); of signs P(what was seen | no, yes), shape (2,).

    Each may have a row for every variant of the evidence, shape (R, S).
    """

    heard: Mapping[int, Array] = field(default_factory=dict)
    words: Mapping[int, Array] = field(default_factory=dict)
    signs: Mapping[int, Array] = field(default_factory=dict)
    compounds: Mapping[int, Array] = field(default_factory=dict)

    def and_compounds(self, more: Mapping[int, Array]) -> Evidence:
        """This evidence with further likelihoods on compounds; shape (S,) or a row each, (R, S)."""
        joined = {**self.compounds, **{k: self.compounds.get(k, 1.0) * v for k, v in more.items()}}
        return replace(self, compounds=joined)


@dataclass(frozen=True)
class Traced:
    """Findings that need a cause: notes heard at an event, and signs."""

    heard: frozenset[int] = frozenset()
    signs: frozenset[int] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.heard or self.signs)


class ImpossibleEvidenceError(ValueError):
    """The evidence cannot happen under the knowledge base."""


@dataclass(frozen=True)
class Network:
    """Structure and numbers. Raises ValueError, naming the link, where a law is no law or a stronger cause gives less."""

    structure: Structure
    numbers: Numbers

    def __post_init__(self) -> None:
        n, s = self.numbers, self.structure
        chances = {
            "prior": n.prior,
            "leak of a sign": n.sign_leak,
            "cause of a sign": n.sign_fault,
            "cause of a sign by compound": n.sign_compound,
            "share of a word": n.word,
        }
        for name, array in chances.items():
            if np.any(array < 0) or np.any(array > 1):
                raise ValueError(f"a {name} lies outside 0 to 1")
        _check(
            n.fault,
            lambda at: f"{s.faults[s.fault_links[at][0]]} -> {s.compounds[s.fault_links[at][1]]}",
        )

        def named(at: int) -> str:
            compound, note = s.note_links[at]
            return f"{s.compounds[compound]} -> {s.notes[note]}"

        _check(n.note, named)
        _refuse(abs(n.note[..., 0, 0] - 1) > _SLACK, named, "an absent cause must give nothing")
        _refuse(
            np.any(np.diff(n.note, axis=-2) > _SLACK, axis=(-2, -1)),
            named,
            "a stronger cause must never give less",
        )
        if n.sign_compound.size and (
            np.any(n.sign_compound[..., 0] > _SLACK) or np.any(np.diff(n.sign_compound, axis=-1) < -_SLACK)
        ):
            raise ValueError("an absent compound gives no sign, and a stronger one never less")
        for leak in (n.compound_leak, n.note_leak, n.word_leak):
            _check(leak, lambda _: "a leak")

    def grown(self, structure: Structure, numbers: Numbers) -> Network:
        """This network with signs or words added, whose laws were checked before; what was worked out for it is kept."""
        other = self.with_numbers(numbers)
        object.__setattr__(other, "structure", structure)
        return other

    def apart(self) -> Network:
        """This network with nothing kept: for one whose compounds and notes change."""
        other = object.__new__(Network)
        object.__setattr__(other, "structure", self.structure)
        object.__setattr__(other, "numbers", self.numbers)
        return other

    def with_numbers(self, numbers: Numbers) -> Network:
        """The same structure with other numbers; what was worked out for the structure is kept."""
        other = object.__new__(Network)
        self.__dict__.setdefault("_skeletons", {})
        other.__dict__.update(self.__dict__)
        object.__setattr__(other, "numbers", numbers)
        return other


def _check(cumulative: Array, name: Callable[[int], str]) -> None:
    """The second axis is that of the laws, the last that of the states."""
    if not cumulative.size:
        return
    falls = np.any(np.diff(cumulative, axis=-1) < -_SLACK, axis=-1) | (cumulative[..., 0] < -_SLACK)
    wrong = falls | (abs(cumulative[..., -1] - 1) > _SLACK)
    _refuse(wrong.reshape(*wrong.shape[:2], -1).any(axis=2), name, "a law must be at least 0 and sum to 1")


def _refuse(wrong: NDArray[np.bool_], name: Callable[[int], str], why: str) -> None:
    if wrong.any():
        raise ValueError(f"{name(int(np.argmax(wrong.any(axis=0))))}: {why}")
