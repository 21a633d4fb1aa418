"""Posterior of every fault and compound: one forward and one backward pass."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracer.inference.elimination import backward, forward
from tracer.inference.network import Evidence, ImpossibleEvidenceError, Network
from tracer.inference.rows import Rows, contributions, evaluate, fault_tables, leaf_values
from tracer.inference.skeleton import Skeleton, compound_tables, inner, note_tables, skeleton

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Posterior:
    """P(fault on | e), shape (F,), and P(compound = state | e), shape (C, S).

    Rows of compounds that no evidence touches are NaN unless they were asked for. `log_evidence` is the natural logarithm of P(e); `fits` is False where P(e) is so small that rounding
    could show in the ninth figure: then the findings hardly fit the knowledge base.
    """

    log_evidence: float
    fault: Array
    compound: Array
    fits: bool = True


SMALL_EVIDENCE = 1e-16


def posterior(network: Network, evidence: Evidence, every_compound: bool = False) -> Posterior:
    """Exact posterior; with `every_compound` also of compounds no evidence touches, which costs a run each.

    Raises ImpossibleEvidenceError where P(e) is 0.
    """
    rows = Rows(np.ones((1, len(network.faults))))
    passes = both_ways(network, evidence, frozenset(), rows)
    z, constant, bones, adjoint = float(passes.total[0]), passes.constant, passes.bones, passes.adjoint
    fault = faults_on(network, passes, rows)[0] / z
    compound = np.full((len(network.compounds), network.states), np.nan)
    for position, name in enumerate(bones.compounds):
        compound[name] = _compound(network, evidence, bones, position, adjoint[position][0]) / z
    if every_compound:
        on = np.ones((1, len(network.faults)))
        for name in set(range(len(network.compounds))) - set(bones.compounds):
            compound[name] = barren_compound(network, evidence, name, on)[0]
    return Posterior(
        float(np.log(z * constant)), _cleaned(fault), _cleaned(compound), z * constant > SMALL_EVIDENCE
    )


def _cleaned(values: Array) -> Array:
    if np.any(values < -1e-6) or np.any(values > 1 + 1e-6):
        raise ImpossibleEvidenceError("the findings hardly fit the knowledge base: rounding has taken over")
    return np.clip(values, 0.0, 1.0)


@dataclass(frozen=True)
class Passes:
    """A forward and a backward pass over some rows. `total` lacks the factor `constant` and barren faults."""

    bones: Skeleton
    constant: float
    total: Array
    made: list[Array]
    adjoint: list[Array]


def both_ways(network: Network, evidence: Evidence, reported: frozenset[int], rows: Rows) -> Passes:
    """Run both passes. Raises ImpossibleEvidenceError where a row's total is 0."""
    bones = skeleton(network, evidence, switches=rows.chosen is not None)
    fixed = compound_tables(network, evidence, reported, bones)
    observed, constant = note_tables(network, evidence, bones)
    total, made = forward(bones.plan, [*fixed, *fault_tables(network, bones, rows), *observed])
    if not np.all(total * constant > 0):
        raise ImpossibleEvidenceError("the findings are impossible under the knowledge base")
    return Passes(bones, constant, total, made, backward(bones.plan, made))


def faults_on(network: Network, passes: Passes, rows: Rows) -> Array:
    """P(fault on, the row), on the scale of `total`, shape (R, F); barren faults keep their prior."""
    count, size = len(passes.bones.compounds), len(rows)
    joint = np.outer(np.broadcast_to(passes.total, (size,)), network.prior)
    every = contributions(network, passes.bones, rows)
    for position, links in enumerate(passes.bones.leaves):
        if not links:
            continue
        faults = network.fault_of_link[list(links)]
        values = leaf_values(network, rows, every, links)
        weight = network.prior[faults] * rows.on[:, faults]
        on = weight[:, :, None] * every[:, list(links)]
        for place, name in enumerate(faults):
            rest = np.delete(values, place, axis=1).prod(axis=1)
            joint[:, name] = (passes.adjoint[count + position] * rest * on[:, place]).sum(axis=1)
    for index, (name, _) in enumerate(passes.bones.branching):
        table, derivative = passes.made[2 * count + index], passes.adjoint[2 * count + index]
        axes = tuple(range(1, table.ndim))
        joint[:, name] = (derivative * (table - (1 - network.prior[name]))).sum(axis=axes)
    return joint


def _compound(
    network: Network, evidence: Evidence, bones: Skeleton, position: int, derivative: Array
) -> Array:
    """P(compound = c, e), shape (S,): the table is sum_c D(c, k) L(k) f(e.., c), so c takes the derivative at k = c less at c - 1."""
    name = bones.compounds[position]
    likelihood = evidence.compounds.get(name)
    alive = inner(network, bones, position, frozenset())
    weighed = derivative[..., : network.states] * network.compound_leak_cumulative[name]
    weighed[..., 1:] -= weighed[..., :-1].copy()
    found = (alive * weighed).reshape(-1, network.states).sum(axis=0)
    return np.asarray(found if likelihood is None else found * likelihood)


def level_rows(network: Network, compound: int, on: Array) -> tuple[Rows, Array]:
    """Rows whose values, times the leaks given, are P(C <= y, ...) of a barren compound; y varies fastest."""
    factor = np.ones((network.states, len(network.faults)))
    for link in network.links_of_compound[compound]:
        factor[:, network.fault_links[link].fault] *= network.fault_cumulative[link]
    return Rows(
        (on[:, None, :] * factor[None]).reshape(-1, len(network.faults))
    ), network.compound_leak_cumulative[compound]


def barren_compound(network: Network, evidence: Evidence, compound: int, on: Array) -> Array:
    """P(C = y | e) of a compound without an observed note below it, shape (rows of `on`, S)."""
    rows, leak = level_rows(network, compound, on)
    below = evaluate(network, evidence, frozenset(), rows).reshape(len(on), network.states) * leak
    return np.asarray(np.diff(below, axis=1, prepend=0.0) / below[:, -1:])


def without_descriptor(evidence: Evidence, descriptor: int) -> Evidence:
    """The evidence with one note not assessed."""
    return replace(evidence, descriptors={k: v for k, v in evidence.descriptors.items() if k != descriptor})
