"""The ranking number: the probability that a fault is a live source of what was reported.

A live path runs from a fault that is on, through a non-zero contribution to a compound and a non-zero
contribution of that compound, to a note reported present. For a set of faults S
    P(S is a source | e) = 1 - P(no live path from S, e) / P(e),
exactly, one batch row a set (see `skeleton` for the construction). With all faults, the complement is
`none_of_these`: the notes come from outside the knowledge base, or from nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tracer.inference.network import Evidence, ImpossibleEvidenceError, Network
from tracer.inference.rows import Rows, evaluate

Array = NDArray[np.float64]


def membership(network: Network, sets: Sequence[frozenset[int]]) -> NDArray[np.bool_]:
    """Sets of faults as rows of a table, shape (sets, F)."""
    table = np.zeros((len(sets), len(network.faults)), dtype=bool)
    for row, faults in enumerate(sets):
        table[row, sorted(faults)] = True
    return table


def able(network: Network, reported: frozenset[int]) -> frozenset[int]:
    """Faults from which any path leads to a reported note; all others are no source of it, whatever the findings."""
    compounds = {link.compound for link in network.note_links if link.descriptor in reported}
    return frozenset(link.fault for link in network.fault_links if link.compound in compounds)


def source_probabilities(
    network: Network, evidence: Evidence, reported: frozenset[int], sets: Sequence[frozenset[int]]
) -> Array:
    """P(a live path runs from the set to a reported note | e) for every set, shape (sets,)."""
    on = np.ones((1, len(network.faults)))
    total, free = sweep(network, evidence, reported, sets, on)
    return np.asarray(_probability(total, free)[0])


def sweep(
    network: Network, evidence: Evidence, reported: frozenset[int], sets: Sequence[frozenset[int]], on: Array
) -> tuple[Array, Array]:
    """For every row of `on` (R, F): P(e) with those factors, and P(no live path from each set, e).

    Shapes (R,) and (R, sets). The empty set is added as the base of every row.
    """
    chosen = membership(network, [frozenset(), *sets])
    count = len(chosen)
    rows = Rows(np.repeat(on, count, axis=0), np.tile(chosen, (len(on), 1)))
    values = evaluate(network, evidence, reported, rows).reshape(len(on), count)
    if np.any(values[:, 0] <= 0):
        raise ImpossibleEvidenceError("the findings are impossible under the knowledge base")
    return values[:, 0], values[:, 1:]


def _probability(total: Array, free: Array) -> Array:
    return np.clip(1 - free / total[:, None], 0.0, 1.0)


def with_ranges(
    network: Network,
    evidence: Evidence,
    reported: frozenset[int],
    faults: Sequence[int],
    odds: Array,
    cumulative: Array,
) -> Array:
    """Source probability of single faults, each with its own odds factor and its own link figures.

    `odds` (n,) multiplies the prior odds of fault n; `cumulative` (n, links, S) are all links as that row
    has them. Everything else stays at its best value. Shape (n,).
    """
    n = len(faults)
    on = np.ones((n, len(network.faults)))
    on[np.arange(n), list(faults)] = odds
    chosen = membership(network, [frozenset({fault}) for fault in faults])
    both = Rows(
        np.concatenate([on, on]),
        np.concatenate([np.zeros_like(chosen), chosen]),
        np.concatenate([cumulative, cumulative]),
    )
    values = evaluate(network, evidence, reported, both)
    return np.clip(1 - values[n:] / values[:n], 0.0, 1.0)
