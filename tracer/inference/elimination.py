"""Variable elimination over tables with a batch axis first, and its backward pass.

A table is (scope, array): scope is a sorted tuple of variables, the array has one axis a variable after
the batch axis, which has length 1 where every row shares the table. The tables may be signed, so the
backward pass uses prefix and suffix products and never divides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import log2, prod

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Scope = tuple[int, ...]
SMALL = 10.0
"""log2 of a largest table for which no second order is sought: planning would cost more than it saves."""


@dataclass(frozen=True, slots=True)
class Bucket:
    """One step: the tables that hold `variable`, the scope of their product, and where each table's axes go."""

    variable: int
    tables: tuple[int, ...]
    scope: Scope
    axis: int
    shapes: tuple[tuple[int, ...], ...]
    """For each table, the axes of `scope` it has (its length) or lacks (1)."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Elimination order worked out for a list of scopes."""

    buckets: tuple[Bucket, ...]
    leftovers: tuple[int, ...]
    """Tables with an empty scope at the end; their product is Z."""
    log2_largest: float
    entries: float
    """Entries of all tables together: what one row costs."""


def make_plan(scopes: Sequence[Scope], sizes: Mapping[int, int]) -> Plan:
    """Plan the elimination of every variable: by smallest table, or by least fill-in where that is large and costs less."""
    small = _plan(scopes, sizes, _order(scopes, sizes, False))
    if small.log2_largest <= SMALL:
        return small
    filled = _plan(scopes, sizes, _order(scopes, sizes, True))
    return min(small, filled, key=lambda plan: plan.entries)


def _plan(scopes: Sequence[Scope], sizes: Mapping[int, int], order: Sequence[int]) -> Plan:
    live: dict[int, Scope] = dict(enumerate(scopes))
    holding: dict[int, set[int]] = {}
    for index, scope in live.items():
        for variable in scope:
            holding.setdefault(variable, set()).add(index)
    buckets, largest, entries, count = [], 0.0, 0.0, len(scopes)
    for variable in order:
        tables = tuple(sorted(holding.pop(variable)))
        scope = tuple(sorted({v for index in tables for v in live[index]}))
        shapes = tuple(tuple(sizes[v] if v in live[index] else 1 for v in scope) for index in tables)
        size = log2(prod(sizes[v] for v in scope))
        largest, entries = max(largest, size), entries + 2**size
        buckets.append(Bucket(variable, tables, scope, scope.index(variable) + 1, shapes))
        live[count] = tuple(v for v in scope if v != variable)
        for index in tables:
            del live[index]
        for other in live[count]:
            holding[other].difference_update(tables)
            holding[other].add(count)
        count += 1
    return Plan(tuple(buckets), tuple(live), largest, entries)


def _order(scopes: Iterable[Scope], sizes: Mapping[int, int], by_fill: bool) -> list[int]:
    neighbours: dict[int, set[int]] = {}
    for scope in scopes:
        for variable in scope:
            neighbours.setdefault(variable, set()).update(other for other in scope if other != variable)
    weight = {variable: float(np.log2(sizes[variable])) for variable in neighbours}
    cost = {variable: _cost(variable, neighbours, weight, by_fill) for variable in neighbours}
    order = []
    while neighbours:
        variable = min(cost, key=lambda v: (cost[v], v))
        around = neighbours.pop(variable)
        del cost[variable]
        touched = set(around)
        for one in around:
            neighbours[one] |= around - {one}
            neighbours[one].discard(variable)
            touched |= neighbours[one]
        for one in touched:
            cost[one] = _cost(one, neighbours, weight, by_fill)
        order.append(variable)
    return order


def _cost(
    variable: int, neighbours: Mapping[int, set[int]], weight: Mapping[int, float], by_fill: bool
) -> tuple[float, float]:
    around = neighbours[variable]
    size = weight[variable] + sum(map(weight.__getitem__, around))
    if not by_fill:
        return 0.0, size
    fill = sum(weight[a] * weight[b] for a, b in combinations(around, 2) if b not in neighbours[a])
    return fill, size


def forward(plan: Plan, tables: Sequence[Array]) -> tuple[Array, list[Array]]:
    """Z of every row, shape (batch,), and every table made on the way."""
    made = list(tables)
    for bucket in plan.buckets:
        product: Array | None = None
        for index, shape in zip(bucket.tables, bucket.shapes, strict=True):
            table = made[index]
            table = table.reshape((table.shape[0], *shape))
            product = table if product is None else product * table
        assert product is not None
        made.append(product.sum(axis=bucket.axis))
    total = np.ones(1)
    for index in plan.leftovers:
        total = total * made[index]
    return total, made


def backward(plan: Plan, made: list[Array]) -> list[Array]:
    """Derivative of each row's Z with respect to every table, in the order of `made`."""
    adjoint: list[Array | None] = [None] * len(made)
    for position, index in enumerate(plan.leftovers):
        others = [made[other] for place, other in enumerate(plan.leftovers) if place != position]
        value = np.ones(1)
        for other in others:
            value = value * other
        adjoint[index] = value
    start = len(made) - len(plan.buckets)
    for step in range(len(plan.buckets) - 1, -1, -1):
        bucket = plan.buckets[step]
        out = adjoint[start + step]
        assert out is not None
        _share(bucket, np.expand_dims(out, bucket.axis), made, adjoint)
    return [np.zeros(1) if item is None else item for item in adjoint]


def _share(bucket: Bucket, out: Array, made: list[Array], adjoint: list[Array | None]) -> None:
    shaped = [
        made[index].reshape((made[index].shape[0], *shape))
        for index, shape in zip(bucket.tables, bucket.shapes, strict=True)
    ]
    before = [out]
    for table in shaped[:-1]:
        before.append(before[-1] * table)
    after: Array | None = None
    for position in range(len(shaped) - 1, -1, -1):
        value = before[position] if after is None else before[position] * after
        shape = bucket.shapes[position]
        lacking = tuple(
            axis + 1 for axis, length in enumerate(shape) if length == 1 and value.shape[axis + 1] != 1
        )
        if lacking:
            value = value.sum(axis=lacking, keepdims=True)
        full = value if value.shape[1:] == shape else np.broadcast_to(value, (value.shape[0], *shape))
        adjoint[bucket.tables[position]] = full.reshape(
            (value.shape[0], *made[bucket.tables[position]].shape[1:])
        )
        after = shaped[position] if after is None else after * shaped[position]
