"""A three-layer noisy-MAX network and the evidence on it, as plain arrays.

Faults are binary roots. Compounds and descriptors have the ordered states 0 < 1 < ... < S-1. Each link
from a parent in state u to a child has an independent contribution z with law q(z | u), where u = 0 gives
z = 0 surely; a leak is always on; the child is the largest contribution. Parameters are of the 'net' kind:
the leak is not in a link's law. With cumulative Q(y | u) = P(z <= y | u) and L(y) = P(leak <= y),
    P(Y <= y | parents) = L(y) prod_u Q(y | u)
(Pradhan et al. 1994; Diez and Galan 2003 for the noisy MAX).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_SLACK = 1e-9


@dataclass(frozen=True)
class FaultLink:
    """Fault -> compound: law of the contribution when the fault is on, shape (S,)."""

    fault: int
    compound: int
    law: Array


@dataclass(frozen=True)
class NoteLink:
    """Compound -> descriptor: law of the contribution for each compound state, shape (S, S); row 0 is (1, 0, ...)."""

    compound: int
    descriptor: int
    law: Array


@dataclass(frozen=True)
class Evidence:
    """Likelihood vectors, shape (S,), on observed descriptors and on tested compounds, by index."""

    descriptors: Mapping[int, Array]
    compounds: Mapping[int, Array] = field(default_factory=dict)


class ImpossibleEvidenceError(ValueError):
    """The evidence cannot happen under the knowledge base."""


@dataclass(frozen=True)
class Network:
    """The network; `prior` holds P(fault on) after history, shape (F,); leaks are laws, shape (n, S).

    Raises ValueError, naming the link, where a law is no law or a stronger cause gives less.
    """

    faults: tuple[str, ...]
    compounds: tuple[str, ...]
    descriptors: tuple[str, ...]
    prior: Array
    compound_leak: Array
    descriptor_leak: Array
    fault_links: tuple[FaultLink, ...]
    note_links: tuple[NoteLink, ...]

    def __post_init__(self) -> None:
        if np.any(self.prior < 0) or np.any(self.prior > 1):
            raise ValueError("a prior lies outside 0 to 1")
        for leak in (self.compound_leak, self.descriptor_leak):
            _check_law(leak, "a leak")
        for link in self.fault_links:
            _check_law(link.law, f"{self.faults[link.fault]} -> {self.compounds[link.compound]}")
        for note in self.note_links:
            name = f"{self.compounds[note.compound]} -> {self.descriptors[note.descriptor]}"
            _check_law(note.law, name)
            if abs(note.law[0, 0] - 1) > _SLACK:
                raise ValueError(f"{name}: an absent cause must give nothing")
            if np.any(np.diff(np.cumsum(note.law, axis=1), axis=0) > _SLACK):
                raise ValueError(f"{name}: a stronger cause must never give less")

    @property
    def states(self) -> int:
        """Number of states S of a compound or descriptor."""
        return int(self.compound_leak.shape[1])

    @cached_property
    def fault_cumulative(self) -> Array:
        """Q(y | on) of every fault link, shape (links, S)."""
        return np.array([np.cumsum(link.law) for link in self.fault_links]).reshape(-1, self.states)

    @cached_property
    def fault_of_link(self) -> NDArray[np.int64]:
        """Fault of every fault link, shape (links,)."""
        return np.array([link.fault for link in self.fault_links], dtype=np.int64)

    @cached_property
    def note_cumulative(self) -> Array:
        """Q(y | c) of every note link, shape (links, S compound states, S)."""
        return np.array([np.cumsum(link.law, axis=1) for link in self.note_links]).reshape(
            -1, self.states, self.states
        )

    @cached_property
    def compound_leak_cumulative(self) -> Array:
        """L(y) of every compound."""
        return np.cumsum(self.compound_leak, axis=1)

    @cached_property
    def descriptor_leak_cumulative(self) -> Array:
        """L(y) of every descriptor."""
        return np.cumsum(self.descriptor_leak, axis=1)

    @cached_property
    def links_of_compound(self) -> tuple[tuple[int, ...], ...]:
        """Indices of the fault links into each compound."""
        found: list[list[int]] = [[] for _ in self.compounds]
        for index, link in enumerate(self.fault_links):
            found[link.compound].append(index)
        return tuple(map(tuple, found))

    @cached_property
    def links_of_descriptor(self) -> tuple[tuple[int, ...], ...]:
        """Indices of the note links into each descriptor."""
        found: list[list[int]] = [[] for _ in self.descriptors]
        for index, link in enumerate(self.note_links):
            found[link.descriptor].append(index)
        return tuple(map(tuple, found))

    def same_structure(self, prior: Array) -> Network:
        """This network with other priors; laws are not checked again, and cached tables are kept."""
        other = object.__new__(Network)
        self.__dict__.setdefault("_skeletons", {})
        other.__dict__.update(self.__dict__)
        object.__setattr__(other, "prior", prior)
        return other

    def with_leaks(self, descriptor_leak: Array) -> Network:
        """This network with other descriptor leaks; the same structure."""
        other = self.same_structure(self.prior)
        other.__dict__.pop("descriptor_leak_cumulative", None)
        object.__setattr__(other, "descriptor_leak", descriptor_leak)
        return other


def _check_law(law: Array, name: str) -> None:
    if np.any(law < -_SLACK) or np.any(abs(law.sum(axis=-1) - 1) > _SLACK):
        raise ValueError(f"{name}: a law must be at least 0 and sum to 1")
