"""Several tasters on shared lots where nobody knows the truth: Dawid and Skene's model, with priors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tracer.wording.sentence import say

Array = npt.NDArray[np.float64]
FEWEST_LOTS = 30
"""Doubly rated lots below which nothing is estimated (judgement): a handful gives certainties that are not there."""


@dataclass(frozen=True, eq=False)
class Pooled:
    """Estimates of one fit: P(class) of each lot, class shares, and each taster's confusion rows."""

    lots: Array
    shares: Array
    confusion: Array
    """Taster x true class x named class."""
    log_likelihood: float


def enough(votes: Array) -> str | None:
    """Why there are too few shared lots to estimate, or None if there are enough. `votes`: lot x taster x class."""
    shared = int((votes.sum(axis=2) > 0).sum(axis=1).__ge__(2).sum())
    if shared < FEWEST_LOTS:
        return say(
            "{shared} lots were tasted by two or more; below {FEWEST_LOTS} the estimate would look far surer than it is",
            shared=shared,
            FEWEST_LOTS=FEWEST_LOTS,
        )
    return None


def dawid_skene(
    votes: Array,
    share_prior: Sequence[float] | None = None,
    row_prior: Array | None = None,
    rounds: int = 5000,
) -> Pooled:
    """Expectation-maximisation of Dawid and Skene 1979 on counts (lot x taster x class), from vote shares.

    p_j = mean_i T_ij; pi_k[j,l] ~ sum_i T_ij n_ikl; T_ij ~ p_j prod pi_k[j,l]^n_ikl. Priors are pseudo-counts of a Dirichlet
    (mode; 1 is flat), and keep labels from switching and rates from 0 and 1.
    """
    classes = votes.shape[2]
    shares_plus = np.ones(classes) if share_prior is None else np.asarray(share_prior, dtype=float)
    rows_plus = np.ones((votes.shape[1], classes, classes)) if row_prior is None else row_prior
    truth = votes.sum(axis=1)
    truth = truth / truth.sum(axis=1, keepdims=True)
    before = -np.inf
    for _ in range(rounds):
        shares = truth.sum(axis=0) + shares_plus - 1
        shares = shares / shares.sum()
        rows = np.einsum("ij,ikl->kjl", truth, votes) + rows_plus - 1
        total = rows.sum(axis=2, keepdims=True)
        rows = np.divide(rows, total, out=np.full_like(rows, 1 / classes), where=total > 0)
        with np.errstate(divide="ignore"):
            log_rows, log_shares = np.log(rows), np.log(shares)
        score = log_shares + np.einsum("ikl,kjl->ij", votes, np.where(np.isneginf(log_rows), -1e6, log_rows))
        top = score.max(axis=1, keepdims=True)
        weight = np.exp(score - top)
        likelihood = float((np.log(weight.sum(axis=1)) + top[:, 0]).sum())
        truth = weight / weight.sum(axis=1, keepdims=True)
        if abs(likelihood - before) < 1e-12 * max(1.0, abs(likelihood)):
            break
        before = likelihood
    return Pooled(truth, shares, rows, likelihood)
