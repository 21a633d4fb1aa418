"""What simulated lots say of the ranking: reliability, Brier score, and how often each verdict is right."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tests.calibration.simulate import Drawn, draw, perturbed, words_of
from tests.inference.three_layers import of_knowledge
from tracer.batch.many import Brief, brief
from tracer.inference.chain import one_table
from tracer.knowledge.base import KnowledgeBase
from tracer.tracing import Prepared

EDGES = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97, 1.0001)


@dataclass(frozen=True)
class Bin:
    """Sources whose probability lies in one stretch: how many, the mean given, the share true."""

    low: float
    high: float
    count: int
    given: float
    true: float


@dataclass(frozen=True)
class Outcome:
    """One way of simulating, scored."""

    name: str
    lots: int
    with_notes: int
    bins: tuple[Bin, ...]
    brier: float
    error: float
    """Mean of |given - true| over the sources, each in its bin (expected calibration error)."""
    verdicts: dict[str, tuple[int, float, float, float]]
    """Verdict -> lots, mean probability of the first source, share where it is a true source, share where its stage holds one."""
    thresholds: dict[float, tuple[float, float]]
    """Limit on the first source -> share of lots at or above it, share of those where it is a true source."""


def simulate(
    base: KnowledgeBase,
    ready: Prepared,
    name: str,
    lots: int,
    seed: int,
    whole_list: bool,
    answers: int,
    shaken: bool,
) -> Outcome:
    """Draw lots, trace them, and compare. With `shaken`, every lot comes from a network of other strengths."""
    generator, words = np.random.default_rng(seed), words_of(base)
    drawn = []
    for number in range(lots):
        network = perturbed(ready.plan, generator) if shaken else of_knowledge(ready.plan.of(one_table(base)))
        drawn.append(draw(base, network, words, generator, f"S{number}", whole_list, answers))
    found = brief([one.lot for one in drawn], base, ready)
    return score(name, drawn, found, base)


def score(name: str, drawn: Sequence[Drawn], found: Sequence[Brief], base: KnowledgeBase) -> Outcome:
    """Compare briefs with what was drawn."""
    pairs = [(d, b) for d, b in zip(drawn, found, strict=True) if b.sources]
    given = np.array([s.probability for _, b in pairs for s in b.sources])
    true = np.array([s.id in d.sources for d, b in pairs for s in b.sources], dtype=float)
    bins = []
    for low, high in itertools.pairwise(EDGES):
        inside = (given >= low) & (given < high)
        if inside.any():
            bins.append(
                Bin(low, high, int(inside.sum()), float(given[inside].mean()), float(true[inside].mean()))
            )
    error = sum(b.count * abs(b.given - b.true) for b in bins) / len(given)
    first = np.array([b.sources[0].probability for _, b in pairs])
    right = np.array([b.sources[0].id in d.sources for d, b in pairs])
    stage = np.array([any(base.faults[f].stage == b.stages[0].id for f in d.sources) for d, b in pairs])
    words = np.array([b.verdict for _, b in pairs])
    verdicts = {
        str(word): (
            int((words == word).sum()),
            *(float(x[words == word].mean()) for x in (first, right, stage)),
        )
        for word in sorted(set(words))
    }
    thresholds = {
        limit: (
            float((first >= limit).mean()),
            float(right[first >= limit].mean()) if (first >= limit).any() else float("nan"),
        )
        for limit in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
    }
    brier = float(((given - true) ** 2).mean())
    return Outcome(name, len(drawn), len(pairs), tuple(bins), brier, error, verdicts, thresholds)
