"""A three-layer noisy-MAX network as most texts write it, and the same as an extended network: for tests.

Faults are binary roots. Compounds and descriptors have the ordered states 0 < 1 < ... < S-1. Each link
from a parent in state u to a child has an independent contribution z with law q(z | u), where u = 0 gives
z = 0 surely; a leak is always on; the child is the largest contribution. Parameters are of the 'net' kind:
the leak is not in a link's law. With cumulative Q(y | u) = P(z <= y | u) and L(y) = P(leak <= y),
    P(Y <= y | parents) = L(y) prod_u Q(y | u)
(Pradhan et al. 1994; Diez and Galan 2003 for the noisy MAX).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tracer.inference import exact, sources
from tracer.inference import network as extended
from tracer.inference.assemble import Whole
from tracer.inference.network import ImpossibleEvidenceError

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
        """This network with other priors."""
        return replace(self, prior=prior)

    @cached_property
    def extended(self) -> extended.Network:
        """The same as an extended network of one segment, heard once."""
        return extended.Network(
            extended.Structure(
                self.faults,
                self.compounds,
                self.descriptors,
                tuple((d,) for d in range(len(self.descriptors))),
                tuple((link.fault, link.compound) for link in self.fault_links),
                tuple((link.compound, link.descriptor) for link in self.note_links),
            ),
            extended.Numbers(
                self.prior[None],
                self.fault_cumulative[None],
                self.compound_leak_cumulative[None],
                self.note_cumulative[None],
                self.descriptor_leak_cumulative[None],
                np.zeros((1, 0)),
                np.zeros((1, 0)),
                np.zeros((1, 0, self.states)),
                np.zeros((1, 0)),
                np.zeros((1, 0, self.states)),
            ),
        )


_laid: dict[int, tuple[Whole, Network]] = {}


def of_knowledge(whole: Whole) -> Network:
    """The knowledge laid out for one table, as three layers; made once."""
    if id(whole) not in _laid:
        _laid[id(whole)] = (whole, _three_layers(whole))
    return _laid[id(whole)][1]


def _three_layers(whole: Whole) -> Network:
    structure, numbers = whole.network.structure, whole.network.numbers

    def plain(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name.partition("@")[0] for name in names)

    def law(cumulative: Array) -> Array:
        return np.diff(cumulative, axis=-1, prepend=0.0)

    return Network(
        plain(structure.faults),
        plain(structure.compounds),
        plain(structure.notes),
        numbers.prior[0],
        law(numbers.compound_leak[0]),
        law(numbers.note_leak[0]),
        tuple(FaultLink(f, c, law(numbers.fault[0, i])) for i, (f, c) in enumerate(structure.fault_links)),
        tuple(NoteLink(c, d, law(numbers.note[0, i])) for i, (c, d) in enumerate(structure.note_links)),
    )


def _evidence(evidence: Evidence) -> extended.Evidence:
    return extended.Evidence(heard=evidence.descriptors, compounds=evidence.compounds)


def posterior(network: Network, evidence: Evidence, every_compound: bool = False) -> exact.Posterior:
    """The posterior by the extended reasoner; with `every_compound` also of compounds that no evidence touches."""
    given = _evidence(evidence)
    if every_compound:
        ones = {c: np.ones(network.states) for c in range(len(network.compounds))}
        given = given.and_compounds(ones)
    return exact.posterior(network.extended, given)


def source_probabilities(
    network: Network, evidence: Evidence, reported: frozenset[int], sets: Sequence[frozenset[int]]
) -> Array:
    """Source probabilities by the extended reasoner."""
    traced = extended.Traced(reported)
    return sources.source_probabilities(network.extended, _evidence(evidence), traced, sets)[0]


def sweep(
    network: Network, evidence: Evidence, reported: frozenset[int], sets: Sequence[frozenset[int]], on: Array
) -> tuple[Array, Array]:
    """Rows with other odds by the extended reasoner."""
    return sources.sweep(network.extended, _evidence(evidence), extended.Traced(reported), sets, on)


def without_descriptor(evidence: Evidence, descriptor: int) -> Evidence:
    """The evidence with one note not assessed."""
    return replace(evidence, descriptors={k: v for k, v in evidence.descriptors.items() if k != descriptor})


def _check_law(law: Array, name: str) -> None:
    if np.any(law < -_SLACK) or np.any(abs(law.sum(axis=-1) - 1) > _SLACK):
        raise ValueError(f"{name}: a law must be at least 0 and sum to 1")


__all__ = [
    "Evidence",
    "FaultLink",
    "ImpossibleEvidenceError",
    "Network",
    "NoteLink",
    "posterior",
    "source_probabilities",
    "sweep",
]
