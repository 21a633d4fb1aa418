"""A text model of cases: how well the marks of a lot go with each stage, and which cases it reads like.

Complement naive Bayes (Rennie, Shih, Teevan and Karger 2003, ICML 20:616-623): with N_ci the count of mark i over the cases of all
stages but c, and a the smoothing,
    w_ci = -log( (a + N_ci) / sum_j (a + N_cj) ),   score_c = sum of w_ci over the marks of the lot.
Marks that were understood (notes, rows, findings) and plain words have a model each: the words speak for what was not understood,
and a long message would be sure of itself by its length alone, so theirs is divided by the root of their number n.
It is rough, and sure of itself; so what it says of a stage enters the network only as
    log LR_c = clip( z_c - log sum_k q_k exp z_k, -cap, cap ),   z_c = temper score_c + words score'_c / sqrt(n)
on the odds of the faults of that stage, q the shares of the stages without it (see `inference.leaning`); the figures stand in
settings.yaml.
Likeness of two records: cosine of their marks without the words, each weighted by the log of how rare it is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.knowledge.precedent import Precedent
from tracer.knowledge.settings import PrecedentSettings
from tracer.precedents.features import WORD

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Alike:
    """A case that a lot reads like."""

    case: str
    likeness: float
    """0 to 1."""
    shared: tuple[str, ...]
    """The marks both have, the rarest first."""


@dataclass(frozen=True)
class Weights:
    """Weight of every mark of one kind for every stage."""

    columns: Mapping[str, tuple[int, Sequence[float]]]
    """Mark -> its place among them, and its weight for each stage."""
    stages: int

    def scores(self, marks: Iterable[str]) -> tuple[Array, int]:
        """Score of each stage, shape (stages,), and the number of marks it rests on."""
        known = sorted(self.columns[mark] for mark in marks if mark in self.columns)
        return np.array([weights for _, weights in known]).reshape(-1, self.stages).sum(axis=0), len(known)


@dataclass(frozen=True)
class Model:
    """Weights of what was understood and of plain words, and which cases have which marks."""

    stages: tuple[str, ...]
    understood: Weights
    words: Weights
    rare: Mapping[str, float]
    """log of how rare each mark that was understood is."""
    holding: Mapping[str, Sequence[int]]
    """Such a mark -> the places of the cases that have it."""
    cases: tuple[str, ...]
    sizes: tuple[float, ...]
    """How much the marks of each case weigh."""

    def leaning(
        self, marks: Collection[str], law: PrecedentSettings, shares: Array | None = None
    ) -> dict[str, float]:
        """Likelihood ratio of each stage, its mean over the shares 1; even shares where none are given."""
        own, _ = self.understood.scores(marks)
        plain, count = self.words.scores(marks)
        both = law.temper * own + law.words * plain / np.sqrt(max(count, 1))
        both -= both.max()
        mean = np.exp(both) @ (np.full(len(both), 1 / len(both)) if shares is None else shares)
        log_ratio = np.clip(both - np.log(mean), -law.cap, law.cap)
        return dict(zip(self.stages, np.exp(log_ratio).tolist(), strict=True))

    def alike(self, marks: Collection[str], count: int, least: float = 0.0) -> tuple[Alike, ...]:
        """The nearest cases, likest first; only such as share something."""
        own = sorted(mark for mark in set(marks) if mark in self.rare)
        size = _size(self.rare[mark] for mark in own)
        shared: dict[int, list[str]] = {}
        for mark in own:
            for place in self.holding[mark]:
                shared.setdefault(place, []).append(mark)
        found = []
        for place, both in shared.items():
            likeness = _size(self.rare[mark] for mark in both) ** 2 / (size * self.sizes[place])
            if likeness >= least:
                found.append(Alike(self.cases[place], likeness, tuple(sorted(both, key=self._rarest))))
        return tuple(sorted(found, key=lambda one: (-one.likeness, one.case))[:count])

    def _rarest(self, mark: str) -> tuple[float, str]:
        return -self.rare[mark], mark


def _size(rare: Iterable[float]) -> float:
    return float(np.sqrt(np.sort([one**2 for one in rare]).sum())) or 1.0


def fit(
    cases: Sequence[Precedent], marks: Mapping[str, Collection[str]], stages: Sequence[str], smoothing: float
) -> Model:
    """The model of some cases. A case of several stages counts a share for each; one of none of them is only shown.

    A case that gives its cause away is not learnt from. Marks that one case alone has say nothing and are left out.
    """
    told = [frozenset(marks.get(case.id, ())) for case in cases]
    count: dict[str, int] = {}
    for own in told:
        for mark in own:
            count[mark] = count.get(mark, 0) + 1
    names = sorted(mark for mark, seen in count.items() if seen > 1)
    learnt = [
        (own, where)
        for case, own in zip(cases, told, strict=True)
        if not case.gives_away and (where := stages_of(case, stages))
    ]
    plain = [mark for mark in names if mark.startswith(WORD)]
    names = [mark for mark in names if not mark.startswith(WORD)]
    rare = {mark: float(np.log((1 + len(cases)) / count[mark])) for mark in names}
    return Model(
        tuple(stages),
        _weights(names, learnt, stages, smoothing),
        _weights(plain, learnt, stages, smoothing),
        rare,
        {mark: [place for place, own in enumerate(told) if mark in own] for mark in names},
        tuple(case.id for case in cases),
        tuple(_size(rare[mark] for mark in own if mark in rare) for own in told),
    )


def _weights(
    names: Sequence[str],
    learnt: Iterable[tuple[frozenset[str], list[str]]],
    stages: Sequence[str],
    smoothing: float,
) -> Weights:
    place = {mark: at for at, mark in enumerate(names)}
    seen = np.zeros((len(stages), len(names)))
    for own, where in learnt:
        known = [place[mark] for mark in own if mark in place]
        for stage in where:
            seen[stages.index(stage), known] += 1 / len(where)
    others = smoothing + seen.sum(axis=0) - seen
    weights = -np.log(others / others.sum(axis=1, keepdims=True)) if names else seen
    columns = weights.T.tolist()
    return Weights({mark: (at, columns[at]) for mark, at in place.items()}, len(stages))


def stages_of(case: Precedent, stages: Sequence[str]) -> list[str]:
    """Stages of the chain that a case speaks for: its own; either store where the source does not say which."""
    if case.truth.stage == "storage":
        return [stage for stage in stages if stage.endswith("_storage")]
    return [case.truth.stage] if case.truth.stage in stages else []
