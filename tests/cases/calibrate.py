"""The handful of global numbers, tried on every case at hand: `python -m tests.cases calibrate [RECORDS]`.

Each number is set lower and higher than it stands, all others as they are. A case is scored by the log loss of its stage, with the cases
of its own group left out; nulls by that of having no source. The loss is shrunk towards the numbers as they stand: a change must gain
more than its own standard error over the groups, and none may cost a null. No link, rule or word is ever moved by a case.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from tests.cases.every import NAMES_A_SOURCE, Told, message_sheets, messages, records, sheets
from tracer.batch.many import brief
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail
from tracer.knowledge.settings import Band, Bands, Settings
from tracer.precedents.model import Model
from tracer.precedents.shipped import model_of
from tracer.tracing import prepare

LEAST = 1e-3
"""Probability below which a stage is as good as left out: one case must not outweigh the rest."""
TRIED: Mapping[str, Sequence[float]] = {
    "priors": (0.5, 1.5, 2.0),
    "leaks": (0.5, 2.0),
    "ratios": (0.8, 1.2),
    "temper": (0.1, 0.3),
    "words": (0.4, 1.0, 1.4),
    "cap": (1.0, 2.2),
    "unread": (0.5, 0.9),
}
"""Factor on all priors, on all leaks, power of all ratios; the rest as they stand in the settings."""


def changed(settings: Settings, name: str, value: float) -> Settings:
    """The settings with one global number changed."""

    def bands(found: Bands, change: Any) -> Bands:
        made = {
            key: Band.model_construct(low=change(one.low), best=change(one.best), high=change(one.high))
            for key, one in found.bands.items()
        }
        return found.model_copy(update={"bands": made})

    if name == "priors":
        law = settings.suspicion
        return settings.model_copy(
            update={
                "prior_bands": bands(settings.prior_bands, lambda p: p * value),
                "suspicion": law
                and law.model_copy(update={"prior_bands": bands(law.prior_bands, lambda p: p * value)}),
            }
        )
    if name == "ratios":
        return settings.model_copy(update={"ratio_bands": bands(settings.ratio_bands, lambda r: r**value)})
    if name == "leaks":
        scaled = {
            key: leak * value for key, leak in settings.leaks.model_dump().items() if isinstance(leak, float)
        }
        return settings.model_copy(update={"leaks": settings.leaks.model_copy(update=scaled)})
    if name == "unread":
        return settings.model_copy(update={"unread": settings.unread.model_copy(update={"right": value})})
    return settings.model_copy(update={"precedents": settings.precedents.model_copy(update={name: value})})


def losses(
    base: KnowledgeBase, told: Sequence[Told], model: Any
) -> tuple[dict[str, list[float]], int, list[tuple[float, bool]]]:
    """Log losses by group, nulls without a false source, and the first stage's probability with whether it was right."""
    plan = prepare(base, precedents=False)
    by_group: dict[str, list[float]] = {}
    nulls, given = 0, []
    for one in told:
        [found] = brief([one.lot], base, replace(plan, cases=model(one.group)), listed=len(base.stages))
        stages = {stage.id: stage.probability for stage in found.stages}
        total = sum(stages.values()) + found.none_of_these
        if one.null or not one.stages:
            nulls += found.verdict not in NAMES_A_SOURCE
            continue
        right = sum(stages.get(stage, 0.0) for stage in one.stages | one.also) / max(total, LEAST)
        by_group.setdefault(one.group or one.id, []).append(-float(np.log(max(right, LEAST))))
        first = next(iter(stages), "")
        given.append((stages.get(first, 0.0), first in one.stages | one.also))
    return by_group, nulls, given


def main(some: int) -> None:
    """Print what each number gains or costs, and how often the first stage is right from each limit on."""
    base = load_or_fail()
    ready = prepare(base, precedents=False)
    drawn = list(records(base, ready))
    random.Random(1).shuffle(drawn)
    told = [
        *sheets(base),
        *messages(base, ready, "open"),
        *messages(base, ready, "own"),
        *message_sheets(base),
        *drawn[:some],
    ]

    @cache
    def model(group: str) -> Model:
        return model_of(base, (group,) if group else ())

    usual, nulls, given = losses(base, told, model)
    mean = np.mean([loss for found in usual.values() for loss in found])
    print(f"{len(told)} cases in {len(usual)} groups; log loss of the stage {mean:.3f}, nulls right {nulls}")
    print(f"\n  {'number':8} {'tried':>6} {'gain':>8} {'+-':>6} {'nulls':>6}")
    for name, values in TRIED.items():
        for value in values:
            other = replace(base, settings=changed(base.settings, name, value))
            found, still, _ = losses(other, told, model)
            gains = np.array([sum(usual[group]) - sum(found[group]) for group in usual])
            count = sum(map(len, usual.values()))
            gain, error = gains.sum() / count, gains.std() * np.sqrt(len(gains)) / count
            mark = "  better" if gain > error and still >= nulls else ""
            print(f"  {name:8} {value:6.2f} {gain:8.3f} {error:6.3f} {still - nulls:+6}{mark}", flush=True)
    print("\nfirst stage, from a probability on: right, share of the cases")
    for limit in (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        inside = [right for p, right in given if p >= limit]
        if inside:
            print(f"  {limit:.1f}   {np.mean(inside):.2f}  {len(inside) / len(given):.2f}")
