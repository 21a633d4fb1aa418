"""The five verdicts, and the words for them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Protocol

from tracer.explain.by_note import NoteSource
from tracer.knowledge.settings import Verdicts
from tracer.wording.sentence import joined, say


class Likely(Protocol):
    """A stage, or a source, as far as the verdict reads it."""

    @property
    def label(self) -> str: ...  # noqa: D102
    @property
    def stage(self) -> str: ...  # noqa: D102
    @property
    def probability(self) -> float: ...  # noqa: D102


class LikelySource(Likely, Protocol):
    """A source with its range."""

    @property
    def low(self) -> float: ...  # noqa: D102
    @property
    def high(self) -> float: ...  # noqa: D102


class LikelyStage(Likely, Protocol):
    """A stage with the part of its probability that is a cause not listed."""

    @property
    def unlisted(self) -> float: ...  # noqa: D102


SOURCE_SUPPORTED = "source_supported"
SEVERAL_SOURCES = "several_sources"
BENCH_SUSPECTED = "bench_suspected"
INSUFFICIENT_EVIDENCE = "insufficient_evidence"
NO_DEFECT_SUPPORTED = "no_defect_supported"

LEAST_APART = 0.2
"""Stages below this are not told for a finding by itself."""


def verdict(
    sources: Sequence[LikelySource],
    stages: Sequence[LikelyStage],
    none_of_these: float,
    limits: Verdicts,
    any_notes: bool,
    only_vague: bool,
    open_words: bool,
    normal: bool,
) -> tuple[str, str]:
    """Verdict and one sentence for it, from the ranked sources and stages.

    The limits are in settings.yaml: a single source is supported from `supported`, a stage alone from `stage`; several when the
    best does not stand alone and each reaches `several`; the bench is suspected when its stages together
    reach `bench`. From `nothing` on, none_of_these stands: no defect where all notes are `normal` for the coffee's
    process or origin, and otherwise not enough evidence.
    """
    if not any_notes:
        if open_words:
            return (
                INSUFFICIENT_EVIDENCE,
                say("cannot say: no word given so far could be matched without asking the taster"),
            )
        return (
            NO_DEFECT_SUPPORTED,
            say(
                "nothing to trace: no off-note was reported in the cups given (this clears no safety question)"
            ),
        )
    best, first = sources[0], stages[0]
    spread = say("between {low:.2f} and {high:.2f}", low=best.low, high=best.high)
    bench = max((s for s in stages if s.stage in limits.bench_stages), key=_named)
    if none_of_these >= limits.nothing:
        if normal:
            return (
                NO_DEFECT_SUPPORTED,
                say(
                    "these notes are normal for this coffee ({none_of_these:.2f}); compare with the agreed sample",
                    none_of_these=none_of_these,
                ),
            )
        # What is left is a cause nobody listed, or nothing at all: tasters err, and one weak cup may be none.
        unlisted = sum(stage.unlisted for stage in stages)
        text = (
            say(
                "no fault known here explains what was found well ({none_of_these:.2f} for none of these): look again, with a control",
                none_of_these=none_of_these,
            )
            if unlisted * 2 >= none_of_these
            else say(
                "too little was found to say that anything is wrong ({none_of_these:.2f} for none of these): cup more, with a control",
                none_of_these=none_of_these,
            )
        )
        return INSUFFICIENT_EVIDENCE, text
    if _named(bench) >= limits.bench and first.stage in limits.bench_stages:
        text = say(
            "suspect our own {label} first ({probability:.2f}): re-cup with a control before writing to anybody",
            label=bench.label.lower(),
            probability=_named(bench),
        )
        return BENCH_SUSPECTED, text
    strong = [source for source in sources if source.probability >= limits.several]
    if best.probability >= limits.supported and len(strong) < 2 and not only_vague:
        return (
            SOURCE_SUPPORTED,
            say(
                "one source supported, {probability:.2f} ({spread}); a ranking is not proof",
                probability=best.probability,
                spread=spread,
            ),
        )
    if len(strong) >= 2:
        names = joined((source.label for source in strong[:3]), " and ")
        return SEVERAL_SOURCES, say("several sources stand together or apart: {names}", names=names)
    if _named(first) >= limits.stage and not only_vague:
        return (
            SEVERAL_SOURCES,
            say(
                "the stage is supported ({label} {probability:.2f}), but not which fault in it",
                label=first.label,
                probability=_named(first),
            ),
        )
    return (
        INSUFFICIENT_EVIDENCE,
        say(
            "not enough to name a source: the best has {probability:.2f} ({spread}); ask first",
            probability=best.probability,
            spread=spread,
        ),
    )


def all_normal(found: Collection[str], normal: Collection[str], stopping: Collection[str]) -> bool:
    """True where every note found is normal for the coffee. What stops tasting is never normal."""
    return bool(found) and set(found) <= set(normal) - set(stopping)


def _named(stage: LikelyStage) -> float:
    """By the faults that the knowledge lists: a cause that nobody can name supports nothing."""
    return stage.probability - stage.unlisted


def parted(apart: Sequence[NoteSource]) -> str:
    """One line on findings that come from different stages, or from none that is known; empty where one stage explains them all."""
    sure = [one for one in apart if one.stage_probability >= LEAST_APART]
    if not sure or (len(sure) == len(apart) and len({one.stage for one in sure}) < 2):
        return ""
    told = [
        say(
            "{label}: {stage} {stage_probability:.2f} ({source} {probability:.2f})",
            label=one.label,
            stage=one.stage,
            stage_probability=one.stage_probability,
            source=one.source,
            probability=one.probability,
        )
        for one in sure
    ]
    open_ = [say("{label}: no source named", label=one.label) for one in apart if one not in sure]
    return joined((*told, *open_), "; ")
