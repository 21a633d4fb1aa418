"""What is needed of a cause that the knowledge does not list, and how it is parted over the stages (see `unlisted`)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Unlisted:
    """What is needed of a cause that is not listed, for rows of one lot or of several alike."""

    needed: Array
    """P(such a cause | no live path), shape (R,)."""
    segments: Array
    """Share of each segment of the chain in it, shape (R, segments)."""
    members: NDArray[np.bool_]
    """Stages of each segment from which faults can reach what is traced, shape (segments, stages)."""

    def by_stage(self, listed: Array, none: Array, leaning: Array | None = None) -> Array:
        """Its probability at each stage, shape (R, stages).

        `listed` (R, stages) is the probability of each stage by the faults that are listed, `none` (R,) that of no live path,
        `leaning` (R, stages) a likelihood ratio of each stage.
        """
        here = listed[:, None, :] * self.members
        known = here.sum(axis=2, keepdims=True)
        even = self.members / np.maximum(self.members.sum(axis=1, keepdims=True), 1)
        within = np.where(known > 0, (even + here / np.where(known > 0, known, 1)) / 2, even)
        weights = (self.segments[:, :, None] * within).sum(axis=1)
        if leaning is not None:
            weights = weights * leaning
        total = weights.sum(axis=1, keepdims=True)
        return np.asarray((none * self.needed)[:, None] * weights / np.where(total > 0, total, 1))

    def row(self, place: int) -> Unlisted:
        """That of one of the lots."""
        return Unlisted(self.needed[place : place + 1], self.segments[place : place + 1], self.members)
