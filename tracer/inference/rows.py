"""Many variants of one lot's computation at once: the side of the faults, a row each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.inference.bunches import Bunch, Middle, Places, summed_out
from tracer.inference.elimination import forward
from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.scopes import Cause
from tracer.inference.skeleton import Skeleton, levels_of, skeleton
from tracer.inference.tables import bunch_tables, observed_tables

Array = NDArray[np.float64]
TOGETHER = 2**22
"""Table entries, of all rows, that are held at once."""


@dataclass(frozen=True)
class Rows:
    """Variants, one a row; an axis of length 1 is shared by all.

    `on` (R, faults): factor on a fault being on, the factor on its being off is 1. `chosen` (R, faults): the faults whose
    paths to what is traced are cut. Where the network holds several rows of numbers, `each` rows in turn use one of them.
    """

    on: Array
    chosen: NDArray[np.bool_] | None = None
    each: int = 1

    def __len__(self) -> int:
        return max(len(self.on), 1 if self.chosen is None else len(self.chosen))

    def part(self, start: int, stop: int) -> Rows:
        """Rows start to stop; shared axes stay shared."""
        chosen = self.chosen if self.chosen is None or len(self.chosen) == 1 else self.chosen[start:stop]
        return Rows(self.on if len(self.on) == 1 else self.on[start:stop], chosen, self.each)


def one_row(network: Network) -> Rows:
    """The lot as it is."""
    return Rows(np.ones((1, len(network.structure.faults))))


def evaluate(network: Network, evidence: Evidence, rows: Rows, traced: Traced | None = None) -> Array:
    """For every row: sum over everything consistent with it of prior x factors x likelihoods, shape (R,).

    With `chosen`, only worlds without a live path from a chosen fault to what is traced are summed.
    """
    bones = skeleton(network, evidence, traced if rows.chosen is not None else None)
    by_bunch = bunch_tables(network, evidence, bones, traced)
    fixed = observed_tables(network, evidence, bones, by_bunch)
    every = [*by_bunch, *fixed]
    count = (
        max(len(rows), len(network.numbers) * rows.each, *(len(table) for table in every))
        if every
        else len(rows)
    )
    total = np.empty(count)
    together = int(np.clip(TOGETHER / 2**bones.plan.log2_largest, 8, 2048))
    for start in range(0, count, together):
        stop = min(count, start + together)
        side = Side(network, bones, rows.part(start, stop), traced, start, stop)
        own, fixed_here = ([_cut(one, start, stop, rows.each) for one in some] for some in (by_bunch, fixed))
        value, _ = forward(bones.plan, [*fixed_here, *side.tables(own)])
        total[start:stop] = value * side.outside()
    return total


def _cut(table: Array, start: int, stop: int, each: int = 1) -> Array:
    if len(table) == 1:
        return table
    if each == 1:
        return table[start:stop]
    return table[np.arange(start, min(stop, len(table) * each)) // each]


class Side:
    """The faults' side of rows start to stop, with every array cut to these rows."""

    def __init__(
        self,
        network: Network,
        bones: Skeleton,
        rows: Rows,
        traced: Traced | None,
        start: int = 0,
        stop: int = 1,
    ) -> None:
        structure, numbers = network.structure, network.numbers
        self.network, self.bones, self.rows = network, bones, rows
        self.traced = traced or Traced()

        def own(array: Array) -> Array:
            return _cut(array, start, stop, rows.each)

        self.prior, self.fault = own(numbers.prior), own(numbers.fault)
        self.seen = own(numbers.sign_fault)
        quiet = np.ones((len(self.seen), len(structure.faults)))
        for cause in bones.causes:
            for link in cause.absent:
                quiet[:, cause.fault] *= 1 - self.seen[:, link]
        self.weight = self.prior * rows.on * quiet
        self.off = 1 - self.prior

    def tables(self, by_bunch: Sequence[Array]) -> list[Array]:
        """Tables of the bunches that are summed out, of the faults that lead to one variable, multiplied up by variable, and of the branching ones."""
        alone, found = [], []
        for bunch, made in zip(self.bones.bunches, by_bunch, strict=True):
            product = bunch.multiplied(self.leaf_values(bunch))
            if bunch.variables:
                found += list(product.swapaxes(0, 1))
            else:
                alone.append(summed_out(made, product))
        found += [self.sign_values(places).prod(axis=1) for _, places in self.bones.sign_leaves]
        found += [self.branch(self.bones.causes[place]) for place in self.bones.branching]
        return [*alone, *found]

    def outside(self) -> Array:
        """Product over the faults that lead to no table."""
        rest = [self.bones.causes[place].fault for place in self.bones.loose] + list(self.bones.barren)
        return np.asarray((self.off[:, rest] + self.weight[:, rest]).prod(axis=1))

    def contributions(
        self, to: Middle | Bunch, links: Sequence[int] | Places, faults: Sequence[int] | Places
    ) -> Array:
        """Q(k | on) of fault links into compounds, shape (R, links, states): held at Q(0 | on) for chosen faults where b = 0."""
        levels, switched = levels_of(to, self.network.numbers.states)
        full = self.fault[:, links][:, :, levels]
        if self.rows.chosen is None or not any(switched):
            return np.asarray(full)
        cut = self.rows.chosen[:, faults][:, :, None] & np.array(switched)
        return np.where(cut, full[:, :, :1], full)

    def leaf_values(self, bunch: Bunch) -> Array:
        """(1 - p) + p on Q(k) of each fault that leads to one compound alone, shape (R, faults, states)."""
        every = self.contributions(bunch, bunch.links, bunch.faults)
        return np.asarray(self.off[:, bunch.faults, None] + self.weight[:, bunch.faults, None] * every)

    def missed(self, link: int) -> Array:
        """P(contribution of a fault to a sign <= no, yes), shape (R, 2): held at no for chosen faults where the sign is traced."""
        sign, fault = self.network.structure.sign_faults[link]
        no = 1 - self.seen[:, link]
        yes = np.ones_like(no)
        if self.rows.chosen is not None and sign in self.traced.signs:
            yes = np.where(self.rows.chosen[:, fault], no, 1.0)
            no = np.broadcast_to(no, yes.shape)
        return np.stack([no, yes], axis=-1)

    def sign_values(self, places: Sequence[int]) -> Array:
        """The same for faults that lead to one sign alone, shape (R, faults, 2)."""
        found = []
        for place in places:
            cause = self.bones.causes[place]
            fault = cause.fault
            found.append(self.off[:, fault, None] + self.weight[:, fault, None] * self.missed(cause.signs[0]))
        return np.stack(np.broadcast_arrays(*found), axis=1)

    def active(self, cause: Cause) -> Array:
        """prior x on x prod Q over the variables of a branching fault; axes (R, signs, compounds)."""
        product = self.weight[:, cause.fault]
        for link in cause.signs:
            product = product[..., None] * _spread(self.missed(link), product.ndim)
        for position, link in cause.links:
            every = self.contributions(self.bones.middles[position], [link], [cause.fault])[:, 0]
            product = product[..., None] * _spread(every, product.ndim)
        return np.asarray(product)

    def branch(self, cause: Cause) -> Array:
        """The table of one branching fault."""
        active = self.active(cause)
        off = self.off[:, cause.fault]
        return np.asarray(off.reshape(len(off), *[1] * (active.ndim - 1)) + active)


def _spread(values: Array, axes: int) -> Array:
    return values.reshape(len(values), *[1] * (axes - 1), -1)
