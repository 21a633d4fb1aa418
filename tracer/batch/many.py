"""Many lots at once: the ranking alone, lots with the same findings of the cups worked out together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tracer.findings.gathered import gather
from tracer.history.sampling import cups_needed
from tracer.inference.assemble import by_stage
from tracer.inference.leaning import shares
from tracer.inference.lot import WeighedLot
from tracer.inference.network import ImpossibleEvidenceError, Network
from tracer.inference.sources import able, sweep
from tracer.inference.tasters import PanelOf
from tracer.inference.unlisted import gone_wrong, with_unlisted
from tracer.issues import Issue
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.report.cautions import HOLD, STOP, alarms, only_beside, stop_notes
from tracer.report.decision import Known, decide
from tracer.report.document import Caution, Deadline
from tracer.report.lines import deadlines
from tracer.report.verdict import all_normal, verdict
from tracer.tracing import Prepared, prepare, set_against
from tracer.wording.sentence import joined, say

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
    unlisted: float = 0.0
    """Of a stage: the part that is a cause not listed."""
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
    next: str = ""
    """The first thing to do; which question tells most is worked out by `ask` alone."""


@dataclass(frozen=True)
class _Waiting:
    """A weighed lot; `key` is alike for lots that can be worked out together."""

    place: int
    lot: WeighedLot
    odds: np.ndarray
    """Of every fault, the cups and signs apart."""
    key: tuple[object, ...]


def brief(
    lots: Sequence[Lot],
    base: KnowledgeBase,
    prepared: Prepared | None = None,
    panel: PanelOf | None = None,
    listed: int = LISTED,
) -> list[Brief]:
    """Briefs in the order of the lots; the probabilities are those of `trace`. `panel` gives what is measured of a lot's tasters;
    `listed` first sources and stages are named.

    Lots whose notes, counts and normal notes are the same differ only in the odds of their faults, and go through the
    network as rows of one computation.
    """
    ready = prepared or prepare(base)
    groups: dict[tuple[object, ...], list[_Waiting]] = {}
    for place, lot in enumerate(lots):
        gathered = gather(lot, base, ready, "plain")
        one = _waiting(place, set_against(gathered, ready, panel(lot) if panel else None))
        groups.setdefault(one.key, []).append(one)
    found: dict[int, Brief] = {}
    for group in groups.values():
        found.update(_together(group, ready, listed))
    return [found[place] for place in range(len(lots))]


def _waiting(place: int, lot: WeighedLot) -> _Waiting:
    evidence, network = lot.weighed.evidence, lot.weighed.network
    structure, numbers = network.structure, network.numbers
    usual = vars(lot.whole.network.numbers)
    own = {
        name: array.tobytes()
        for name, array in vars(numbers).items()
        if name != "prior" and array is not usual[name]
    }
    key = (
        id(lot.whole),
        lot.weighed.traced,
        *(
            tuple(sorted((name, vector.tobytes()) for name, vector in vectors.items()))
            for vectors in (evidence.heard, evidence.compounds, evidence.words, evidence.signs)
        ),
        (structure.heard, structure.word_links, structure.sign_faults, structure.sign_compounds),
        tuple(own.items()),
    )
    prior = numbers.prior[0]
    return _Waiting(place, lot, prior / (1 - prior), key)


def _together(group: Sequence[_Waiting], ready: Prepared, listed: int) -> Iterable[tuple[int, Brief]]:
    base, first, whole = group[0].lot.base, group[0].lot.weighed, group[0].lot.whole
    try:
        group = _placed(group, ready)
    except ImpossibleEvidenceError:
        return [(one.place, _as_brief(one, None, listed)) for one in group]
    if not first.traced:
        wrong = gone_wrong(base, group[0].lot, *_rows(group))
        return [(one.place, _as_brief(one, None, listed, wrong=wrong[row])) for row, one in enumerate(group)]
    can = able(first.network.structure, first.traced)
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
    network, on = _rows(group)
    total, free = sweep(network, first.evidence, first.traced, sets, on)
    found = np.clip(1 - free / total[:, None], 0.0, 1.0)
    faults = list(base.faults)
    live = np.zeros((len(group), len(faults) + len(of_stages) + len(risks) + 1))
    live[:, [faults.index(name) for name in names]] = found[:, : len(names)]
    start = len(names) + len(asked)
    live[:, [len(faults) + index for index in asked]] = found[:, len(names) : start]
    live[:, len(faults) + len(of_stages) :] = found[:, start:]
    return [(one.place, _as_brief(one, live[row], listed)) for row, one in enumerate(group)]


def _placed(group: Sequence[_Waiting], ready: Prepared) -> list[_Waiting]:
    """`tracing.placed` for lots that are worked out together."""
    base, found = group[0].lot.base, []
    every, other = shares(base, group[0].lot, *_rows(group))
    for row, one in enumerate(group):
        lot, odds = replace(one.lot, unlisted=other.row(row) if other else None), one.odds
        if ready.cases:
            leaning = ready.cases.leaning(lot.marks, base.settings.precedents, every[row])
            lot, odds = replace(lot, leaning=leaning), odds * by_stage(base, lot.whole, leaning)
        found.append(replace(one, lot=lot, odds=odds))
    return found


def _rows(group: Sequence[_Waiting]) -> tuple[Network, np.ndarray]:
    """The network that the lots of a group share, and the factors of each on the odds of its faults, shape (lots, faults)."""
    first = group[0].lot
    plain = first.whole.network.numbers.prior
    network = first.weighed.network.with_numbers(replace(first.weighed.network.numbers, prior=plain))
    return network, np.array([one.odds for one in group]) * (1 - plain) / plain


def _as_brief(
    waiting: _Waiting, live: np.ndarray | None, listed: int, wrong: np.ndarray | None = None
) -> Brief:
    one, base = waiting.lot, waiting.lot.base
    names = one.heard.everywhere()
    none, sources, stages = 1.0, [], []
    risks, together = base.faults_with_caution(), dict[str, float]()
    if live is not None:
        faults = list(base.faults)
        order = np.argsort(-live[: len(faults)], kind="stable")
        several = [i for i in order if live[i] >= base.settings.verdicts.several]
        chosen = [int(i) for i in order[: max(listed, len(several))]]
        sources = [
            Ranked(fault.id, fault.label, fault.stage, float(live[i]), caution=fault.caution)
            for i in chosen
            for fault in (base.faults[faults[i]],)
        ]
        of_stages = live[len(faults) : len(faults) + len(base.stages)]
        together = dict(zip(risks, map(float, live[len(faults) + len(base.stages) : -1]), strict=True))
        none = float(1 - live[-1])
        stages = _stages(base, *with_unlisted(base, one, of_stages, none))
    elif wrong is not None:
        stages = _stages(base, wrong, np.zeros_like(wrong))
    word = "insufficient_evidence"
    stops = stop_notes(base, one.heard, one.weighed.smelled.values())
    if live is not None or not names:
        word, _ = verdict(
            tuple(sources),
            tuple(stages),
            none,
            base.settings.verdicts,
            any_notes=bool(names) or bool(sources),
            only_vague=all(base.descriptors[name].vague for name in names),
            open_words=bool(one.heard.asked),
            normal=all_normal(
                names,
                [name for f in one.findings if f.verb == "expects" for name in f.targets],
                stops[0],
            ),
        )
    labels = tuple(base.descriptors[name].label for name in names)
    beside = only_beside(stops[0], one.heard, one.weighed.smelled.values())
    told = alarms(base, *stops, sources, one.findings, together, beside)
    days = deadlines(one.lot)
    return Brief(
        one.lot.lot,
        word,
        labels,
        tuple(sources[:listed]),
        tuple(stages[:listed]),
        none,
        len(one.heard.asked),
        tuple(caution.because for caution in told if caution.level == STOP),
        tuple(caution.because for caution in told if caution.level == HOLD),
        one.lot.exporter,
        days[0].last_day if days else None,
        _next(base, word, sources, stages, told, days, bool(one.heard.asked), bool(names)),
    )


def _stages(base: KnowledgeBase, found: np.ndarray, unlisted: np.ndarray) -> list[Ranked]:
    every = (
        Ranked(stage.id, stage.label, stage.id, float(chance), unlisted=float(more))
        for stage, chance, more in zip(base.stages.values(), found, unlisted, strict=True)
    )
    return sorted(every, key=lambda stage: -stage.probability)


@dataclass(frozen=True, slots=True)
class _Remedied:
    fault: str
    remedy: tuple[str, ...]


def _next(
    base: KnowledgeBase,
    word: str,
    sources: Sequence[Ranked],
    stages: Sequence[Ranked],
    told: Sequence[Caution],
    days: Sequence[Deadline],
    open_words: bool,
    notes: bool,
) -> str:
    """What `trace` says to do first; where that is a question, who answers for the first stage."""
    known = [_Remedied(one.id, base.faults[one.id].remedy) for one in sources[:1]]
    enough = base.settings.physics.sampling
    cups = cups_needed(enough.telling_share, enough.confidence)
    steps = decide(Known(word, known, told, (), days, open_words, notes, cups, 0), base.settings)
    if steps and (steps[0].kind != "claim" or not stages):
        return steps[0].text
    return say("ask: {party}", party=base.stages[stages[0].id].ask_of) if sources else ""


COLUMNS = {
    "lot": "string",
    "stop": "string",
    "hold": "string",
    "exporter": "string",
    "claim_day": "string",
    "next": "string",
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
        return {**dict.fromkeys(COLUMNS), "error": joined((issue.message for issue in problems), "; ")}
    first, second = (*one.sources, None, None)[:2]
    stage = one.stages[0] if one.sources else None
    return {
        "lot": one.lot,
        "stop": joined(one.stop, "; ") or None,
        "hold": joined(one.hold, "; ") or None,
        "exporter": one.exporter,
        "claim_day": one.claim_day,
        "next": one.next or None,
        "verdict": one.verdict,
        "notes": joined(one.notes, "; "),
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
