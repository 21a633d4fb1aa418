"""Each note of a lot traced by itself: the smoke may come from one stage and the must from another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracer.inference.lot import WeighedLot
from tracer.inference.network import Traced
from tracer.inference.sources import source_probabilities
from tracer.knowledge.base import KnowledgeBase
from tracer.wording.sentence import Id

MOST = 6
"""Findings traced each by itself."""


@dataclass(frozen=True, slots=True)
class NoteSource:
    """The stage and the source that one finding comes from most probably, where a lot has several."""

    note: Id
    label: str
    stage: str
    stage_probability: float
    fault: Id
    source: str
    probability: float


def by_note(base: KnowledgeBase, lot: WeighedLot, faults: tuple[str, ...]) -> tuple[NoteSource, ...]:
    """The likeliest stage and the likeliest of some faults for every note found, and every foul smell of the green."""
    weighed, whole = lot.weighed, lot.whole
    wanted: list[tuple[str, str, Traced]] = []
    for name in weighed.reported:
        places = frozenset(weighed.vectors.get(name, ())) & weighed.traced.heard
        wanted += [(name, base.descriptors[name].label, Traced(places))] if places else []
    for number in sorted(weighed.traced.signs & set(weighed.smelled)):
        smell = weighed.smelled[number]
        wanted.append((smell.record, smell.label, Traced(signs=frozenset([number]))))
    if len(wanted) < 2 or not faults:
        return ()
    sets = [
        frozenset(p for fault in base.faults_of(stage) for p in whole.fault[fault]) for stage in base.stages
    ]
    sets += [frozenset(whole.fault[fault]) for fault in faults]
    labels = list(base.stages.values())
    found = []
    for name, label, finding in wanted[:MOST]:
        live = source_probabilities(weighed.network, weighed.evidence, finding, sets)[0]
        stage, fault = int(np.argmax(live[: len(labels)])), int(np.argmax(live[len(labels) :]))
        source = base.faults[faults[fault]]
        found.append(
            NoteSource(
                name,
                label,
                labels[stage].label,
                float(live[stage]),
                source.id,
                source.label,
                float(live[len(labels) + fault]),
            )
        )
    return tuple(found)
