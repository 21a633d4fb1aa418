"""The ranking number: the probability that a fault is a live source of what needs a cause.

A live path runs from a fault that is on, through a non-zero contribution to a compound of its segment and a non-zero
contribution of that compound, to a note traced where it was heard, or straight to a traced sign. For a set of faults S
    P(S is a source | e) = 1 - P(no live path from S, e) / P(e),
exactly, one batch row a set (see `skeleton` for the construction). With all faults, the complement is `none_of_these`:
the findings come from outside the knowledge base, or from nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tracer.inference.network import Evidence, ImpossibleEvidenceError, Network, Structure, Traced
from tracer.inference.rows import Rows, evaluate
from tracer.inference.skeleton import traced_notes

Array = NDArray[np.float64]


def membership(structure: Structure, sets: Sequence[frozenset[int]]) -> NDArray[np.bool_]:
    """Sets of faults as rows of a table, shape (sets, F)."""
    table = np.zeros((len(sets), len(structure.faults)), dtype=bool)
    for row, faults in enumerate(sets):
        table[row, sorted(faults)] = True
    return table


def able(structure: Structure, traced: Traced) -> frozenset[int]:
    """Faults from which any path leads to what is traced; all others are no source of it, whatever the findings."""
    compounds = structure.makers(traced_notes(structure, traced))
    compounds |= {c for sign, c in structure.sign_compounds if sign in traced.signs}
    found = structure.faults_into(compounds)
    return frozenset(found | {fault for sign, fault in structure.sign_faults if sign in traced.signs})


def source_probabilities(
    network: Network, evidence: Evidence, traced: Traced, sets: Sequence[frozenset[int]]
) -> Array:
    """P(a live path runs from the set to what is traced | e) for every set, shape (rows of numbers, sets)."""
    on = np.ones((1, len(network.structure.faults)))
    total, free = sweep(network, evidence, traced, sets, on)
    return np.asarray(np.clip(1 - free / total[:, None], 0.0, 1.0))


def sweep(
    network: Network, evidence: Evidence, traced: Traced, sets: Sequence[frozenset[int]], on: Array
) -> tuple[Array, Array]:
    """For every row of `on` (R, F), or of the numbers: P(e) with those factors, and P(no live path from each set, e).

    Shapes (R,) and (R, sets). The empty set is the base of every row, and that of a set from which no path leads.
    Raises ImpossibleEvidenceError where P(e) is 0.
    """
    can = able(network.structure, traced)
    apart = list(dict.fromkeys([frozenset(), *(one & can for one in sets)]))
    chosen = membership(network.structure, apart)
    count = len(chosen)
    rows = max(len(on), len(network.numbers))
    on = np.broadcast_to(on, (rows, on.shape[1]))
    wide = Rows(np.repeat(on, count, axis=0), np.tile(chosen, (rows, 1)), each=count)
    values = evaluate(network, evidence, wide, traced).reshape(rows, count)
    if np.any(values[:, 0] <= 0):
        raise ImpossibleEvidenceError("the findings are impossible under the knowledge base")
    return values[:, 0], values[:, [apart.index(one & can) for one in sets]]
