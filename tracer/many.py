"""Many lots at once: the ranking alone, lots with the same findings of the cups worked out together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tracer.findings.answers import compound_answers
from tracer.findings.finding import Finding
from tracer.findings.gathered import gather
from tracer.findings.weigh import likelihood_ratios, signs_of
from tracer.inference.assemble import Whole, for_lot
from tracer.inference.chain import chain_of
from tracer.inference.evidence import Weighed, weigh
from tracer.inference.network import ImpossibleEvidenceError
from tracer.inference.sources import able, sweep
from tracer.issues import Issue
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.observed import Heard
from tracer.report.cautions import HOLD, STOP, alarms, stop_notes
from tracer.report.lines import deadlines
from tracer.report.verdict import verdict
from tracer.tracing import Prepared, prepare

LISTED = 3


@dataclass(frozen=True, slots=True)
class Ranked:
    """A source or a stage with its probability, as the verdict reads it."""

    id: str
    label: str
    stage: str
    probability: float
    low: float = 0.0
    high: float = 1.0
    caution: str | None = None


@dataclass(frozen=True, slots=True)
class Brief:
    """One lot of many: verdict, the first sources and stages, and what is left over."""

    lot: str
    verdict: str
    notes: tuple[str, ...]
    sources: tuple[Ranked, ...]
    stages: tuple[Ranked, ...]
    none_of_these: float
    open_words: int
    stop: tuple[str, ...] = ()
    """Why nobody goes on tasting it: notes of any of its samples, or what an open word may mean."""
    hold: tuple[str, ...] = ()
    """Why the lot is held."""
    exporter: str | None = None
    claim_day: str | None = None
    """The earliest last day of its time limits."""


@dataclass(frozen=True)
class _Waiting:
    """A lot whose findings are weighed; `key` is alike for lots that can be worked out together."""

    place: int
    lot: Lot
    heard: Heard
    whole: Whole
    weighed: Weighed
    odds: np.ndarray
    """Of every fault before the cups and signs, times those before anything is known."""
    normal: bool
    findings: tuple[Finding, ...]
    key: tuple[object, ...]


def brief(lots: Sequence[Lot], base: KnowledgeBase, prepared: Prepared | None = None) -> list[Brief]:
    """Briefs in the order of the lots; the probabilities are those of `trace`.

    Lots whose notes, counts and normal notes are the same differ only in the odds of their faults, and go through the
    network as rows of one computation.
    """
    ready = prepared or prepare(base)
    groups: dict[tuple[object, ...], list[_Waiting]] = {}
    for place, lot in enumerate(lots):
        one = _waiting(place, lot, base, ready)
        groups.setdefault(one.key, []).append(one)
    found: dict[int, Brief] = {}
    for group in groups.values():
        found.update(_together(group, base))
    return [found[place] for place in range(len(lots))]


def _waiting(place: int, lot: Lot, base: KnowledgeBase, ready: Prepared) -> _Waiting:
    gathered = gather(lot, base, ready, "plain")
    lot, heard, found = gathered.lot, gathered.heard, gathered.findings
    ratios = likelihood_ratios(found, base.settings)
    signs = signs_of(found, ratios, base.settings)
    chain = chain_of(lot, base)
    whole = ready.plan.of(chain)
    # Ratios go into the rows; only signs and the leaks of normal notes change the network.
    network = for_lot(base, whole, found, {}, signs)
    weighed = weigh(base, whole, chain, network, heard, lot, compound_answers(lot, base))
    odds = np.ones(len(network.structure.faults))
    for name, combined in ratios.items():
        odds[whole.main(name)] = combined.before.best
    reported = set(heard.everywhere())
    normal = any(f.verb == "expects" and reported & set(f.targets) for f in found)
    evidence, numbers = weighed.evidence, weighed.network.numbers
    key = (
        chain.key,
        weighed.reported,
        weighed.traced,
        tuple(sorted((name, vector.tobytes()) for name, vector in evidence.heard.items())),
        tuple(sorted((name, vector.tobytes()) for name, vector in evidence.compounds.items())),
        weighed.network.structure.sign_faults,
        numbers.note_leak.tobytes(),
        numbers.sign_leak.tobytes(),
        numbers.sign_fault.tobytes(),
    )
    return _Waiting(place, lot, heard, whole, weighed, odds, normal, found, key)


def _together(group: Sequence[_Waiting], base: KnowledgeBase) -> Iterable[tuple[int, Brief]]:
    first = group[0]
    weighed, whole = first.weighed, first.whole
    if not weighed.traced:
        return [(one.place, _as_brief(one, base, None)) for one in group]
    can = able(weighed.network.structure, weighed.traced)
    names = [name for name, places in whole.fault.items() if can & set(places)]
    single = [frozenset(whole.fault[name]) for name in names]
    of_stages = [
        frozenset(p for fault in base.faults_of(stage) for p in whole.fault[fault]) & can
        for stage in base.stages
    ]
    asked = [index for index, faults in enumerate(of_stages) if faults]
    risks = base.faults_with_caution()
    carrying = [
        frozenset(p for fault in faults for p in whole.fault[fault]) & can for faults in risks.values()
    ]
    sets = [*single, *(of_stages[index] for index in asked), *carrying, can]
    on = np.array([one.odds for one in group])
    try:
        total, free = sweep(weighed.network, weighed.evidence, weighed.traced, sets, on)
    except ImpossibleEvidenceError:
        return [(one.place, _as_brief(one, base, None)) for one in group]
    found = np.clip(1 - free / total[:, None], 0.0, 1.0)
    faults = list(base.faults)
    live = np.zeros((len(group), len(faults) + len(of_stages) + len(risks) + 1))
    live[:, [faults.index(name) for name in names]] = found[:, : len(names)]
    start = len(names) + len(asked)
    live[:, [len(faults) + index for index in asked]] = found[:, len(names) : start]
    live[:, len(faults) + len(of_stages) :] = found[:, start:]
    return [(one.place, _as_brief(one, base, live[row])) for row, one in enumerate(group)]


def _as_brief(one: _Waiting, base: KnowledgeBase, live: np.ndarray | None) -> Brief:
    names = one.heard.everywhere()
    none, sources, stages = 1.0, [], []
    risks, together = base.faults_with_caution(), dict[str, float]()
    if live is not None:
        faults = list(base.faults)
        order = np.argsort(-live[: len(faults)], kind="stable")
        several = [i for i in order if live[i] >= base.settings.verdicts.several]
        chosen = [int(i) for i in order[: max(LISTED, len(several))]]
        sources = [
            Ranked(fault.id, fault.label, fault.stage, float(live[i]), caution=fault.caution)
            for i in chosen
            for fault in (base.faults[faults[i]],)
        ]
        of_stages = live[len(faults) : len(faults) + len(base.stages)]
        together = dict(zip(risks, map(float, live[len(faults) + len(base.stages) : -1]), strict=True))
        stages = sorted(
            (
                Ranked(s.id, s.label, s.id, float(p))
                for s, p in zip(base.stages.values(), of_stages, strict=True)
            ),
            key=lambda s: -s.probability,
        )
        none = float(1 - live[-1])
    word = "insufficient_evidence"
    if live is not None or not names:
        word, _ = verdict(
            tuple(sources),
            tuple(stages),
            none,
            base.settings.verdicts,
            any_notes=bool(names),
            only_vague=all(base.descriptors[name].vague for name in names),
            open_words=bool(one.heard.asked),
            normal=one.normal,
        )
    labels = tuple(base.descriptors[name].label for name in names)
    told = alarms(base, *stop_notes(base, one.heard), sources, one.findings, together)
    days = deadlines(one.lot)
    return Brief(
        one.lot.lot,
        word,
        labels,
        tuple(sources[:LISTED]),
        tuple(stages[:LISTED]),
        none,
        len(one.heard.asked),
        tuple(caution.because for caution in told if caution.level == STOP),
        tuple(caution.because for caution in told if caution.level == HOLD),
        one.lot.exporter,
        days[0].last_day if days else None,
    )


COLUMNS = {
    "lot": "string",
    "stop": "string",
    "hold": "string",
    "exporter": "string",
    "claim_day": "string",
    "verdict": "string",
    "notes": "string",
    "first_source": "string",
    "probability": "double",
    "first_stage": "string",
    "stage_probability": "double",
    "second_source": "string",
    "second_probability": "double",
    "none_of_these": "double",
    "open_words": "int64",
    "error": "string",
}
"""Columns of a lot's row, with their types as Arrow names them."""


def flat(one: Brief | None, problems: Iterable[Issue]) -> dict[str, Any]:
    """A lot as a row; of a lot that could not be read, only what is wrong with it."""
    if one is None:
        return {**dict.fromkeys(COLUMNS), "error": "; ".join(issue.message for issue in problems)}
    first, second = (*one.sources, None, None)[:2]
    stage = one.stages[0] if one.stages else None
    return {
        "lot": one.lot,
        "stop": "; ".join(one.stop) or None,
        "hold": "; ".join(one.hold) or None,
        "exporter": one.exporter,
        "claim_day": one.claim_day,
        "verdict": one.verdict,
        "notes": "; ".join(one.notes),
        "first_source": first.id if first else None,
        "probability": first.probability if first else None,
        "first_stage": stage.id if stage else None,
        "stage_probability": stage.probability if stage else None,
        "second_source": second.id if second else None,
        "second_probability": second.probability if second else None,
        "none_of_these": one.none_of_these,
        "open_words": one.open_words,
        "error": None,
    }
