"""How much each finding and each note weighs for one source.

Prior and circumstances are log10 odds and log10 likelihood ratios, which add up. Signs seen and notes in the cup do not: they
share their causes. The weight of one is therefore leave-one-out,
    log10 [ odds(fault | everything) / odds(fault | everything but this) ],
which says what it adds given all the others: little, where another cause explains it already.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import log10

import numpy as np
from numpy.typing import NDArray

from tracer.inference.exact import probable_faults
from tracer.inference.network import Evidence, Network
from tracer.wording.sentence import Id, Name

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Weight:
    """What one finding or note adds to a source: a log10 likelihood ratio, given all the others."""

    text: str
    log10: float
    kind: Id
    """prior | suspicion | cases | favours | shows | rules_out | answer | note"""
    rule: Id = ""
    facts: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    targets: tuple[str, ...] = ()
    """Labels of what it bears on, where that is not said by its place."""
    reads: tuple[tuple[Id, Name], ...] = ()
    """Records it rests on, each with its value."""
    label: str = ""
    """What holds, where a rule says it."""
    silent: bool = False
    """True where a stronger finding of the same group spoke instead."""


def log_odds(probability: float) -> float:
    """log10 of the odds.

    >>> round(log_odds(0.5), 6)
    0.0
    """
    inside = min(max(probability, 1e-15), 1 - 1e-15)
    return log10(inside / (1 - inside))


def left_out(
    network: Network, evidence: Evidence, without: Sequence[tuple[Network, Evidence]]
) -> tuple[Array, list[Array]]:
    """log10 odds of every fault with everything known, and what each piece adds: with it less without it.

    What differs only in the notes, words and signs left out is worked out together, a row each.
    """
    every = [(network, evidence), *without]
    found = np.empty((len(every), len(network.structure.faults)))
    alike: dict[tuple[int, int], list[int]] = {}
    for row, (other, less) in enumerate(every):
        alike.setdefault((id(other), id(less.compounds)), []).append(row)
    for rows in alike.values():
        found[rows] = _log_odds(probable_faults(every[rows[0]][0], _stacked([every[row][1] for row in rows])))
    return found[0], list(found[0] - found[1:])


def _stacked(rows: Sequence[Evidence]) -> Evidence:
    """Variants of one evidence as its rows; a node of which a variant knows nothing tells it nothing."""

    def stacked(kind: str) -> dict[int, Array]:
        some: list[Mapping[int, Array]] = [getattr(row, kind) for row in rows]
        known = {node: vector for one in some for node, vector in one.items()}
        return {
            node: np.array([one.get(node, np.ones_like(vector)) for one in some])
            for node, vector in known.items()
        }

    return Evidence(stacked("heard"), stacked("words"), stacked("signs"), rows[0].compounds)


def _log_odds(probability: Array) -> Array:
    inside = np.clip(probability, 1e-15, 1 - 1e-15)
    return np.asarray(np.log10(inside / (1 - inside)))


def without_notes(evidence: Evidence, heard: Iterable[int]) -> Evidence:
    """The evidence with some notes not assessed."""
    gone = set(heard)
    return replace(evidence, heard={k: v for k, v in evidence.heard.items() if k not in gone})


def without_sign(evidence: Evidence, sign: int) -> Evidence:
    """The evidence with one sign not looked for."""
    return replace(evidence, signs={k: v for k, v in evidence.signs.items() if k != sign})
