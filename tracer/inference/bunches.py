"""Compounds with the same findings below them, side by side: their tables are made, and mostly summed out, all at once.

A compound to which only faults lead that lead nowhere else needs no variable of its own: with M(e.., k) its table and q(k) the
product over those faults, the bunch is one table over e..,
    T(e..) = prod over compounds of sum_k M(e.., k) q(k).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tracer.inference.elimination import AT_ONCE

Array = NDArray[np.float64]
Places = NDArray[np.int64]


@dataclass(frozen=True)
class Middle:
    """A compound that matters, with what hangs below it."""

    compound: int
    variable: int | None
    """None where it is summed out with its bunch."""
    notes: tuple[int, ...]
    """Its note links to notes of segments that are heard."""
    signs: tuple[int, ...]
    """Its links to observed signs."""
    switch: bool
    """A path leads from it to a traced finding."""
    scope: tuple[int, ...]
    """Variables of what hangs below it, in order."""


@dataclass(frozen=True)
class Bunch:
    """Compounds with the same variables below them and as many links; the arrays have a row for each."""

    compounds: tuple[int, ...]
    variables: tuple[int, ...]
    """Of each; empty where they are summed out together."""
    scope: tuple[int, ...]
    switch: bool
    notes: Places
    """Note links, shape (compounds, links)."""
    signs: Places
    """Links to observed signs, shape (compounds, signs): the same signs for all."""
    faults: Places
    """Faults that lead to one of the compounds and nowhere else."""
    links: Places
    """The link of each."""
    of: Places
    """Place of its compound here, ascending."""

    @cached_property
    def reached(self) -> tuple[Places, Places]:
        """Places of the compounds that have such faults, and where the faults of each begin."""
        found, starts = np.unique(self.of, return_index=True)
        return found, starts

    def multiplied(self, values: Array) -> Array:
        """Values of the faults, shape (R, faults, K), multiplied up by compound, shape (R, compounds, K)."""
        product = np.ones((len(values), len(self.compounds), values.shape[2]))
        if len(self.faults):
            found, starts = self.reached
            product[:, found] = np.multiply.reduceat(values, starts, axis=1)
        return product

    def beside(self, values: Array) -> Array:
        """For each fault the product over the other faults of its compound, shape (R, faults, K)."""
        product = np.ones_like(values)
        starts = self.reached[1]
        for start, stop in zip(starts, [*starts[1:], len(self.of)], strict=True):
            if stop - start > 1:
                product[:, start:stop] = others(values[:, start:stop])
        return product


def bunches(middles: Sequence[Middle], signs_of: Mapping[int, int], leaves: Sequence[Places]) -> list[Bunch]:
    """The middles in bunches. `signs_of` is the sign of a link; `leaves` has, for each middle, (fault, link) of faults that lead there alone."""
    alike: dict[object, list[int]] = {}
    for place, one in enumerate(middles):
        seen = tuple(signs_of[link] for link in one.signs)
        alike.setdefault((one.scope, one.switch, len(one.notes), seen, one.variable is None), []).append(
            place
        )
    found = []
    for places in alike.values():
        own = [middles[place] for place in places]
        below = np.concatenate([leaves[place] for place in places])
        found.append(
            Bunch(
                tuple(one.compound for one in own),
                tuple(one.variable for one in own if one.variable is not None),
                own[0].scope,
                own[0].switch,
                np.array([one.notes for one in own], dtype=np.int64),
                np.array([one.signs for one in own], dtype=np.int64),
                below[:, 0],
                below[:, 1],
                np.repeat(np.arange(len(own)), [len(leaves[place]) for place in places]),
            )
        )
    return found


def others(values: Array) -> Array:
    """The product of all but each one, along the second axis."""
    before = np.ones_like(values)
    after = np.ones_like(values)
    np.cumprod(values[:, :-1], axis=1, out=before[:, 1:])
    np.cumprod(values[:, :0:-1], axis=1, out=after[:, -2::-1])
    return np.asarray(before * after)


def each_summed(tables: Array, product: Array) -> Array:
    """sum_k M(e.., k) q(k) of each compound, for tables (B, compounds, e.., K) and products (R, compounds, K): shape (R, compounds, E)."""
    wide = tables.reshape(*tables.shape[:2], -1, tables.shape[-1])
    return np.asarray(np.matmul(wide, product[..., None])[..., 0])


def summed_out(tables: Array, product: Array) -> Array:
    """The table of a bunch for each row, shape (R, e..). Rows that are alike, as most are, are worked out once."""
    scope = tables.shape[2:-1]
    if len(tables) > 1 or len(product) == 1:
        found = each_summed(tables, product).prod(axis=1)
        return np.asarray(found.reshape(len(found), *scope))
    places: dict[bytes, int] = {}
    which = [places.setdefault(row.tobytes(), len(places)) for row in product]
    once = product[[which.index(place) for place in range(len(places))]]
    wide, turned = tables.reshape(tables.shape[1], -1, tables.shape[-1]), once.transpose(1, 2, 0)
    step = max(1, AT_ONCE // (wide.shape[0] * wide.shape[1]))
    parts = [
        np.matmul(wide, turned[:, :, start : start + step]).prod(axis=0)
        for start in range(0, len(once), step)
    ]
    return np.concatenate(parts, axis=1).T[which].reshape(len(product), *scope)
