"""Posterior of every fault and compound, and of signs not looked for: one forward and one backward pass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.inference.bunches import Bunch, each_summed, others
from tracer.inference.elimination import backward, forward
from tracer.inference.network import Evidence, ImpossibleEvidenceError, Network, Traced
from tracer.inference.rows import Rows, Side, evaluate, one_row
from tracer.inference.skeleton import Skeleton, by_parts, skeleton
from tracer.inference.tables import bunch_tables, inner, likelihood_of, observed_tables

Array = NDArray[np.float64]
SMALL_EVIDENCE = 1e-16


@dataclass(frozen=True)
class Posterior:
    """P(fault on | e), shape (F,), and P(compound = state | e), shape (C, S).

    Rows of compounds that no evidence touches are NaN. `log_evidence` is the natural logarithm of P(e); `fits` is
    False where P(e) is so small that rounding could show in the ninth figure: then the findings hardly fit the knowledge base.
    """

    log_evidence: float
    fault: Array
    compound: Array
    fits: bool = True


@dataclass(frozen=True)
class Passes:
    """A forward and a backward pass over some rows. `total` lacks the factor `outside`."""

    bones: Skeleton
    side: Side
    outside: Array
    total: Array
    adjoint: list[Array]
    by_bunch: list[Array]


def both_ways(network: Network, evidence: Evidence, rows: Rows, traced: Traced | None = None) -> Passes:
    """Run both passes. Raises ImpossibleEvidenceError where a row's total is 0."""
    bones = skeleton(network, evidence, traced if rows.chosen is not None else None)
    side = Side(network, bones, rows, traced, 0, len(rows))
    by_bunch = bunch_tables(network, evidence, bones, traced)
    fixed = observed_tables(network, evidence, bones, by_bunch)
    total, made = forward(bones.plan, [*fixed, *side.tables(by_bunch)])
    total, outside = np.broadcast_arrays(total, side.outside())
    if not np.all(total * outside > 0):
        raise ImpossibleEvidenceError("the findings are impossible under the knowledge base")
    return Passes(bones, side, outside, total, backward(bones.plan, made), by_bunch)


def posterior(network: Network, evidence: Evidence) -> Posterior:
    """Exact posterior. Raises ImpossibleEvidenceError where P(e) is 0."""
    passes = both_ways(network, evidence, one_row(network))
    z = float(passes.total[0])
    whole = z * float(passes.outside[0])
    fault = faults_on(passes)[0] / z
    compound = np.full((len(network.structure.compounds), network.numbers.states), np.nan)
    for at, (bunch, derivative) in enumerate(zip(passes.bones.bunches, by_table(passes), strict=True)):
        alive = inner(network, passes.bones, at, None)[0] * likelihood_of(network, evidence, bunch)[0]
        compound[list(bunch.compounds)] = _compounds(network, bunch, alive, derivative) / z
    return Posterior(float(np.log(whole)), _cleaned(fault), _cleaned(compound), whole > SMALL_EVIDENCE)


def probable_faults(network: Network, evidence: Evidence) -> Array:
    """P(fault on | e) for every row of the evidence, shape (R, F). Raises ImpossibleEvidenceError where P(e) is 0."""
    passes = both_ways(network, evidence, one_row(network))
    return _cleaned(faults_on(passes) / passes.total[:, None])


def _cleaned(values: Array) -> Array:
    if np.any(values < -1e-6) or np.any(values > 1 + 1e-6):
        raise ImpossibleEvidenceError("the findings hardly fit the knowledge base: rounding has taken over")
    return np.clip(values, 0.0, 1.0)


def faults_on(passes: Passes) -> Array:
    """P(fault on, the row), on the scale of `total`, shape (R, F)."""
    bones, side = passes.bones, passes.side
    joint = np.array(
        np.broadcast_to(
            passes.total[:, None] * side.weight / (side.off + side.weight),
            (len(passes.total), side.prior.shape[1]),
        )
    )
    for bunch, adjoint in zip(bones.bunches, _by_product(passes), strict=True):
        if len(bunch.faults):
            values = side.leaf_values(bunch)
            on = values - side.off[:, bunch.faults, None]
            joint[:, bunch.faults] = (adjoint[:, bunch.of] * bunch.beside(values) * on).sum(axis=2)
    after = len(bones.scopes) - len(bones.sign_leaves) - len(bones.branching)
    for index, (_, places) in enumerate(bones.sign_leaves):
        values = side.sign_values(places)
        _leaf(joint, side, [bones.causes[p].fault for p in places], values, passes.adjoint[after + index])
    after += len(bones.sign_leaves)
    for index, place in enumerate(bones.branching):
        cause = bones.causes[place]
        active = side.active(cause)
        joint[:, cause.fault] = (passes.adjoint[after + index] * active).sum(
            axis=tuple(range(1, active.ndim))
        )
    return joint


def _leaf(joint: Array, side: Side, faults: Sequence[int], values: Array, adjoint: Array) -> None:
    """The part of a product over faults in which one of them is on."""
    for place, fault in enumerate(faults):
        rest = np.delete(values, place, axis=1).prod(axis=1)
        on = values[:, place] - side.off[:, fault, None]
        joint[:, fault] = (adjoint * rest * on).sum(axis=1)


def _by_product(passes: Passes) -> Iterator[Array]:
    """For each bunch the derivative with respect to the products over its faults, shape (R, compounds, K)."""
    bones = passes.bones
    alone = _first_of_side(bones)
    joined = alone + sum(not bunch.variables for bunch in bones.bunches)
    for bunch, tables in zip(bones.bunches, passes.by_bunch, strict=True):
        if bunch.variables:
            yield np.stack(passes.adjoint[joined : joined + len(bunch.variables)], axis=1)
            joined += len(bunch.variables)
        else:
            rest = _beside(passes, bunch, tables, passes.adjoint[alone])
            wide = tables.reshape(*tables.shape[:2], -1, tables.shape[-1])
            yield np.matmul(rest[:, :, None], wide)[:, :, 0]
            alone += 1


def by_table(passes: Passes) -> Iterator[Array]:
    """For each bunch the derivative with respect to its tables for the first row, shape (compounds, E, K)."""
    bones = passes.bones
    alone, joined = _first_of_side(bones), 0
    for bunch, tables in zip(bones.bunches, passes.by_bunch, strict=True):
        if bunch.variables:
            own = [passes.adjoint[joined + place][0] for place in range(len(bunch.variables))]
            yield np.stack([one.reshape(-1, one.shape[-1]) for one in own])
            joined += len(bunch.variables)
        else:
            product = bunch.multiplied(passes.side.leaf_values(bunch))[0]
            rest = _beside(passes, bunch, tables, passes.adjoint[alone])[0]
            yield rest[:, :, None] * product[:, None]
            alone += 1


def _first_of_side(bones: Skeleton) -> int:
    """Where the tables of the faults' side begin."""
    joined = sum(len(bunch.variables) for bunch in bones.bunches)
    return joined + len(bones.leaks) + len(bones.heard) + len(bones.words) + len(bones.signs)


def _beside(passes: Passes, bunch: Bunch, tables: Array, adjoint: Array) -> Array:
    """The derivative with respect to what each compound of a bunch sums to, shape (R, compounds, E)."""
    each = each_summed(tables, bunch.multiplied(passes.side.leaf_values(bunch)))
    return adjoint.reshape(len(adjoint), 1, -1) * others(each)


def _compounds(network: Network, bunch: Bunch, alive: Array, derivative: Array) -> Array:
    """P(compound = c, e), shape (compounds, S): the table is sum_c D(c, k) L(k) f(e.., c), so c takes the derivative at k = c less at c - 1."""
    weighed = derivative * network.numbers.compound_leak[0, list(bunch.compounds)][:, None]
    weighed[..., 1:] -= weighed[..., :-1].copy()
    return np.asarray((alive.reshape(weighed.shape) * weighed).sum(axis=1))


def signs_foreseen(network: Network, evidence: Evidence, signs: Sequence[int]) -> Array:
    """P(sign seen | e) of signs not looked for, shape (signs,)."""
    if not signs:
        return np.zeros(0)
    factors, compounds = missing_rows(network, [[sign] for sign in signs])
    whole = float(evaluate(network, evidence, one_row(network))[0])
    wider = evidence.and_compounds(compounds)
    leak = 1 - network.numbers.sign_leak[0, list(signs)]
    return np.asarray(1 - leak * evaluate(network, wider, Rows(factors)) / whole)


def missing_rows(network: Network, groups: Sequence[Sequence[int]]) -> tuple[Array, dict[int, Array]]:
    """Rows in which none of a group of signs is seen, but for their leaks: factors on faults, and on compounds (R, S)."""
    structure, numbers = network.structure, network.numbers
    on = np.ones((len(groups), len(structure.faults)))
    compounds: dict[int, Array] = {}
    rows_of: dict[int, list[int]] = {}
    for row, group in enumerate(groups):
        for sign in group:
            rows_of.setdefault(sign, []).append(row)
    for link, (sign, fault) in enumerate(structure.sign_faults):
        for row in rows_of.get(sign, ()):
            on[row, fault] *= 1 - numbers.sign_fault[0, link]
    for link, (sign, compound) in enumerate(structure.sign_compounds):
        for row in rows_of.get(sign, ()):
            vector = compounds.setdefault(compound, np.ones((len(groups), numbers.states)))
            vector[row] *= 1 - numbers.sign_compound[0, link]
    return on, compounds


__all__ = [
    "Passes",
    "Posterior",
    "both_ways",
    "by_parts",
    "faults_on",
    "missing_rows",
    "posterior",
    "signs_foreseen",
]
