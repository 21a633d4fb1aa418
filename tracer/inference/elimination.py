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
AT_ONCE = 2**17
"""Table entries worked on at once: about what a processor's cache holds."""
SMALL = 10.0
"""log2 of a largest table for which no second order is sought: planning would cost more than it saves."""


@dataclass(frozen=True, slots=True)
class Half:
    """Tables of a bucket that are multiplied before its variable is summed out."""

    places: tuple[int, ...]
    """Which of the bucket's tables."""
    shapes: tuple[tuple[int, ...], ...]
    """For each, the axes of their product it has (its length) or lacks (1)."""
    axis: int
    """Axis of the bucket's variable in their product."""
    rest: tuple[int, ...]
    """States of each other variable of theirs."""


@dataclass(frozen=True, slots=True)
class Bucket:
    """One step: the tables that hold `variable`, the scope of their product, and where each table's axes go.

    Where the tables fall into two halves that have nothing but `variable` in common, they are multiplied as matrices.
    """

    variable: int
    tables: tuple[int, ...]
    scope: Scope
    axis: int
    shapes: tuple[tuple[int, ...], ...]
    """For each table, the axes of `scope` it has (its length) or lacks (1)."""
    states: int
    """Of the variable."""
    halves: tuple[Half, ...]
    turn: tuple[int, ...]
    """Where the axes of the halves go in the table that is made."""
    entries: int
    """Of the largest table on the way."""


@dataclass(frozen=True, slots=True)
class Order:
    """In which order variables are eliminated, and log2 of the size of the largest table that makes."""

    variables: tuple[int, ...]
    log2_largest: float


@dataclass(frozen=True, slots=True)
class Plan:
    """An elimination order worked out for a list of scopes."""

    buckets: tuple[Bucket, ...]
    leftovers: tuple[int, ...]
    """Tables with an empty scope at the end; their product is Z."""
    log2_largest: float


def make_order(scopes: Sequence[Scope], sizes: Mapping[int, int]) -> Order:
    """Order of elimination of every variable: by smallest table, or by least fill-in where that grows large."""
    order = _order(scopes, sizes, False, SMALL) or _order(scopes, sizes, True)
    assert order is not None
    return order


def make_plan(scopes: Sequence[Scope], sizes: Mapping[int, int], order: Sequence[int]) -> Plan:
    """The steps of an elimination in this order."""
    live: dict[int, Scope] = dict(enumerate(scopes))
    holding: dict[int, set[int]] = {}
    for index, scope in live.items():
        for variable in scope:
            holding.setdefault(variable, set()).add(index)
    buckets, largest, count = [], 0.0, len(scopes)
    for variable in order:
        tables = tuple(sorted(holding.pop(variable)))
        scope = tuple(sorted({v for index in tables for v in live[index]}))
        shapes = tuple(tuple(sizes[v] if v in live[index] else 1 for v in scope) for index in tables)
        largest = max(largest, log2(prod(sizes[v] for v in scope)))
        own = [live[index] for index in tables]
        halves, kept = [], []
        for places in _apart(own, variable, sizes):
            wide = sorted({v for place in places for v in own[place]})
            rest = [v for v in wide if v != variable]
            kept.append(rest)
            halves.append(
                Half(
                    tuple(places),
                    tuple(tuple(sizes[v] if v in own[place] else 1 for v in wide) for place in places),
                    wide.index(variable) + 1,
                    tuple(sizes[v] for v in rest),
                )
            )
        after = [v for rest in kept for v in rest]
        entries = max(prod(sizes[v] for v in some) for some in (after, *([*rest, variable] for rest in kept)))
        turn = tuple(after.index(v) + 1 for v in sorted(after))
        buckets.append(
            Bucket(
                variable,
                tables,
                scope,
                scope.index(variable) + 1,
                shapes,
                sizes[variable],
                tuple(halves),
                turn,
                entries,
            )
        )
        live[count] = tuple(v for v in scope if v != variable)
        for index in tables:
            del live[index]
        for other in live[count]:
            holding[other].difference_update(tables)
            holding[other].add(count)
        count += 1
    return Plan(tuple(buckets), tuple(live), largest)


def _apart(scopes: Sequence[Scope], variable: int, sizes: Mapping[int, int]) -> list[list[int]]:
    """The tables of a bucket in at most two halves with nothing but its variable in common, the larger first."""
    groups: list[tuple[set[int], list[int]]] = []
    for place, scope in enumerate(scopes):
        own, places = set(scope) - {variable}, [place]
        for other in [one for one in groups if one[0] & own]:
            groups.remove(other)
            own |= other[0]
            places = other[1] + places
        groups.append((own, places))
    groups.sort(key=lambda one: -prod(sizes[v] for v in one[0]))
    rest = [place for _, places in groups[1:] for place in places]
    return [groups[0][1], rest] if rest else [groups[0][1]]


def _order(
    scopes: Iterable[Scope], sizes: Mapping[int, int], by_fill: bool, most: float = inf
) -> Order | None:
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
    weight = [round(log2(sizes[variable]) * FINE) for variable in names]
    for at in around:
        around[at] &= ~(1 << at)
    alike = {one: sum(1 << at for at in around if weight[at] == one) for one in set(weight)}

    def log_size(some: int) -> int:
        return sum(one * (some & those).bit_count() for one, those in alike.items())

    size = {at: weight[at] + log_size(near) for at, near in around.items()}

    def missing(at: int) -> int:
        """Edges missing between the neighbours of a variable; each is counted once."""
        count, rest = 0, around[at]
        while rest:
            low = rest & -rest
            rest ^= low
            count += (rest & ~around[low.bit_length() - 1]).bit_count()
        return count

    fill = {at: missing(at) if by_fill else 0 for at in around}
    costs = {at: fill[at] << 64 | size[at] << 32 | at for at in around}
    order, largest = [], 0
    while around:
        at = min(costs.values()) & (1 << 32) - 1
        largest = max(largest, size[at])
        if largest > most * FINE:
            return None
        near = around.pop(at)
        del costs[at]
        new = 0
        for one in _bits(near):
            more = near & ~around[one] & ~(1 << one)
            if more:
                new |= (1 << one) | more
            around[one] = (around[one] | more) & ~(1 << at)
            size[one] += (log_size(more) if more else 0) - weight[at]
        changed = list(_bits(near))
        if by_fill and new:
            # A variable further off loses missing edges where two of its neighbours have become neighbours.
            changed += [
                one for one, its in around.items() if not near >> one & 1 and (its & new).bit_count() > 1
            ]
            fill.update((one, missing(one)) for one in changed)
        elif by_fill:
            fill.update((one, fill[one] - (around[one] & ~near).bit_count()) for one in changed)
        costs.update((one, fill[one] << 64 | size[one] << 32 | one) for one in changed)
        order.append(names[at])
    return Order(tuple(order), largest / FINE)


def _bits(number: int) -> Iterator[int]:
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


def forward(plan: Plan, tables: Sequence[Array]) -> tuple[Array, list[Array]]:
    """Z of every row, shape (batch,), and every table made on the way."""
    made = list(tables)
    for bucket in plan.buckets:
        own = [made[index] for index in bucket.tables]
        rows = max(len(table) for table in own)
        step = max(1, AT_ONCE // bucket.entries)
        if rows <= step:
            made.append(_eliminated(bucket, own))
        else:
            parts = [
                _eliminated(bucket, [table if len(table) == 1 else table[at : at + step] for table in own])
                for at in range(0, rows, step)
            ]
            made.append(np.concatenate(parts))
    total = np.ones(1)
    for index in plan.leftovers:
        total = total * made[index]
    return total, made


def _eliminated(bucket: Bucket, tables: Sequence[Array]) -> Array:
    """The product of the tables of a bucket, with its variable summed out."""
    products = []
    for half in bucket.halves:
        own = [
            tables[place].reshape(len(tables[place]), *shape)
            for place, shape in zip(half.places, half.shapes, strict=True)
        ]
        shared = _product(table for table in own if len(table) == 1)
        apart = _product(table for table in own if len(table) > 1)
        product = _product(table for table in (shared, apart) if table is not None)
        assert product is not None
        products.append(product)
    if len(products) == 1:
        return np.asarray(np.add.reduce(products[0], axis=bucket.halves[0].axis))
    (one, other), (left, right), states = products, bucket.halves, bucket.states
    matrix = np.moveaxis(one, left.axis, -1).reshape(len(one), -1, states)
    turned = np.moveaxis(other, right.axis, -1).reshape(len(other), -1, states)
    if len(one) == 1:  # one product of matrices for all rows
        found = (turned.reshape(-1, states) @ matrix[0].T).reshape(len(other), turned.shape[1], -1)
        found = found.swapaxes(1, 2)
    else:
        found = np.matmul(matrix, turned.swapaxes(1, 2))
    return np.asarray(found.reshape(len(found), *left.rest, *right.rest).transpose(0, *bucket.turn))


def _product(tables: Iterable[Array]) -> Array | None:
    """The product of some tables, the small ones first; None of none."""
    product: Array | None = None
    own = False
    for table in sorted(tables, key=lambda table: table.size):
        if product is None:
            product = table
        elif own and product.shape == table.shape:
            product *= table
        else:
            product, own = product * table, True
    return product


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
