"""Variable elimination over tables with a batch axis first, and its backward pass.

A table is (scope, array): scope is a sorted tuple of variables, the array has one axis a variable after
the batch axis, which has length 1 where every row shares the table. The tables may be signed, so the
backward pass uses prefix and suffix products and never divides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf, log2, prod

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Scope = tuple[int, ...]
FINE = 1 << 20
"""Steps of log2 of a size that an order tells apart."""
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
    """Plan the elimination of every variable: by smallest table, or by least fill-in where that grows large."""
    order = _order(scopes, sizes, False, SMALL) or _order(scopes, sizes, True)
    return _plan(scopes, sizes, order or ())


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


def _order(
    scopes: Iterable[Scope], sizes: Mapping[int, int], by_fill: bool, most: float = inf
) -> list[int] | None:
    """Greedy order, or None once a table would have more than 2^`most` entries.

    Sets of variables are bits of a number, so that what is missing between neighbours is counted at once.
    """
    names = sorted({variable for scope in scopes for variable in scope})
    bit = {variable: 1 << at for at, variable in enumerate(names)}
    around = dict.fromkeys(range(len(names)), 0)
    for scope in scopes:
        together = 0
        for variable in scope:
            together |= bit[variable]
        for variable in scope:
            around[bit[variable].bit_length() - 1] |= together
    weight = [float(np.log2(sizes[variable])) for variable in names]
    classes = tuple((one, sum(1 << at for at in around if weight[at] == one)) for one in sorted(set(weight)))
    for at in around:
        around[at] &= ~(1 << at)

    def cost(at: int) -> int:
        near = around[at]
        size = weight[at]
        for one, mask in classes:
            size += one * (near & mask).bit_count()
        fill = 0
        if by_fill:
            rest = near
            while rest:
                low = rest & -rest
                rest ^= low
                fill += (rest & ~around[low.bit_length() - 1]).bit_count()
        return fill << 64 | round(size * FINE) << 32 | at

    costs = {at: cost(at) for at in around}
    order = []
    while around:
        least = min(costs.values())
        at = least & (1 << 32) - 1
        if not by_fill and least >> 32 > most * FINE:
            return None
        near = around.pop(at)
        del costs[at]
        new = 0
        for one in _bits(near):
            more = near & ~around[one] & ~(1 << one)
            if more:
                new |= (1 << one) | more
            around[one] = (around[one] | near) & ~(1 << one) & ~(1 << at)
        for one in _bits(near):
            costs[one] = cost(one)
        if by_fill and new:
            # A variable further off loses missing edges where two of its neighbours have become neighbours.
            for one, its in around.items():
                if not near >> one & 1 and (its & new).bit_count() > 1:
                    costs[one] = cost(one)
        order.append(names[at])
    return order


def _bits(number: int) -> Iterator[int]:
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


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
