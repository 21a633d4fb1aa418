"""Many variants of one lot's computation at once: the batch rows of the fault side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.inference.elimination import forward
from tracer.inference.network import Evidence, Network
from tracer.inference.skeleton import Skeleton, compound_tables, note_tables, skeleton

Array = NDArray[np.float64]
TOGETHER = 2048
"""Rows whose fault tables are held at once."""
CACHED = 2**17
"""Table entries worked on at once: about what a processor's cache holds."""


@dataclass(frozen=True)
class Rows:
    """Variants, one a row; an axis of length 1 is shared by all.

    `chosen` (R, F) bool: the faults whose live paths are cut. `on` (R, F): factor on a fault being on, the
    factor on its being off is 1. `cumulative` (R, links, S): Q(y | on) of every fault link.
    """

    on: Array
    chosen: NDArray[np.bool_] | None = None
    cumulative: Array | None = None

    def __len__(self) -> int:
        return max(
            len(self.on),
            1 if self.chosen is None else len(self.chosen),
            1 if self.cumulative is None else len(self.cumulative),
        )

    def part(self, start: int, stop: int) -> Rows:
        """Rows start to stop; shared axes stay shared."""

        def cut(array: NDArray[np.generic] | None) -> NDArray[np.generic] | None:
            return array if array is None or len(array) == 1 else array[start:stop]

        return Rows(cut(self.on), cut(self.chosen), cut(self.cumulative))  # type: ignore[arg-type]


def evaluate(network: Network, evidence: Evidence, reported: frozenset[int], rows: Rows) -> Array:
    """For every row: sum over everything consistent with it of prior x factors x likelihoods, shape (R,).

    With `chosen`, only worlds without a live path from a chosen fault to a reported note are summed.
    """
    bones = skeleton(network, evidence, switches=rows.chosen is not None)
    fixed = compound_tables(network, evidence, reported, bones)
    observed, constant = note_tables(network, evidence, bones)
    total = np.empty(len(rows))
    barren = _barren(network, bones)
    chunk = int(np.clip(CACHED / 2**bones.plan.log2_largest, 8, 512))
    for start in range(0, len(rows), TOGETHER):
        part = rows.part(start, start + TOGETHER)
        sides = fault_tables(network, bones, part)
        values = [
            forward(bones.plan, [*fixed, *(_cut(side, first, chunk) for side in sides), *observed])[0]
            for first in range(0, len(part), chunk)
        ]
        outside = 1 - network.prior[barren] + network.prior[barren] * part.on[:, barren]
        total[start : start + TOGETHER] = np.concatenate(values) * constant * outside.prod(axis=1)
    return total


def _cut(table: Array, first: int, count: int) -> Array:
    return table if len(table) == 1 else table[first : first + count]


def _barren(network: Network, bones: Skeleton) -> list[int]:
    relevant = {network.fault_links[link].fault for links in bones.leaves for link in links}
    relevant |= {fault for fault, _ in bones.branching}
    return [fault for fault in range(len(network.faults)) if fault not in relevant]


def fault_tables(network: Network, bones: Skeleton, rows: Rows) -> list[Array]:
    """Tables of the leaf faults, multiplied up by compound, and of the branching ones."""
    every = contributions(network, bones, rows)
    tables = [
        leaf_values(network, rows, every, links).prod(axis=1) if links else np.ones((1, len(bones.levels)))
        for links in bones.leaves
    ]
    tables += [_branch(network, rows, every, fault, links) for fault, links in bones.branching]
    return tables


def leaf_values(network: Network, rows: Rows, every: Array, links: tuple[int, ...]) -> Array:
    """(1 - p) + p on Q(k) of the fault of each link, shape (R, links, states of the auxiliary)."""
    faults = network.fault_of_link[list(links)]
    prior = network.prior[faults]
    weight = prior * rows.on[:, faults]
    return np.asarray((1 - prior)[None, :, None] + weight[:, :, None] * every[:, list(links)])


def contributions(network: Network, bones: Skeleton, rows: Rows) -> Array:
    """Q(k | on) of every fault link at every state of the auxiliary, shape (R, links, states): held at Q(0 | on) for chosen
    faults where b = 0.
    """
    table = network.fault_cumulative[None] if rows.cumulative is None else rows.cumulative
    full = table[:, :, list(bones.levels)]
    if rows.chosen is None:
        return np.asarray(full)
    cut = rows.chosen[:, network.fault_of_link][:, :, None] & np.array(bones.switched)[None, None, :]
    return np.where(cut, table[:, :, :1], full)


def _branch(network: Network, rows: Rows, every: Array, fault: int, links: tuple[int, ...]) -> Array:
    """Links are in the order of their compounds, which is that of the table's axes."""
    count, states = every.shape[0], every.shape[2]
    product: Array = every[:, links[0]]
    for link in links[1:]:
        product = product[..., None] * every[:, link].reshape(count, *[1] * (product.ndim - 1), states)
    prior = network.prior[fault]
    weight = (prior * rows.on[:, fault]).reshape([-1] + [1] * len(links))
    return np.asarray((1 - prior) + weight * product)
