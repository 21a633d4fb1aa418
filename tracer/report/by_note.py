"""Each note of a lot traced by itself: the smoke may come from one stage and the must from another."""

from __future__ import annotations

import numpy as np

from tracer.inference.network import Traced as Findings
from tracer.inference.sources import source_probabilities
from tracer.knowledge.base import KnowledgeBase
from tracer.report.document import NoteSource, Report
from tracer.report.traced import Traced

MOST = 6
"""Notes traced each by itself."""


def by_note(base: KnowledgeBase, traced: Traced, faults: tuple[str, ...]) -> tuple[NoteSource, ...]:
    """The likeliest stage and the likeliest of some faults for every note found, where there are several."""
    weighed, whole = traced.weighed, traced.whole
    wanted = {
        name: frozenset(weighed.vectors.get(name, ())) & weighed.traced.heard for name in weighed.reported
    }
    notes = [name for name, places in wanted.items() if places][:MOST]
    if len(notes) < 2:
        return ()
    sets = [
        frozenset(p for fault in base.faults_of(stage) for p in whole.fault[fault]) for stage in base.stages
    ]
    sets += [frozenset(whole.fault[fault]) for fault in faults]
    labels = list(base.stages.values())
    found = []
    for name in notes:
        live = source_probabilities(weighed.network, weighed.evidence, Findings(wanted[name]), sets)[0]
        stage, fault = int(np.argmax(live[: len(labels)])), int(np.argmax(live[len(labels) :]))
        source = base.faults[faults[fault]]
        found.append(
            NoteSource(
                name,
                base.descriptors[name].label,
                labels[stage].label,
                float(live[stage]),
                source.id,
                source.label,
                float(live[len(labels) + fault]),
            )
        )
    return tuple(found)


def parted(report: Report) -> str:
    """One line on notes that come from different stages; empty where they do not."""
    sure = [one for one in report.by_note if one.stage_probability >= 0.2]
    if len({one.stage for one in sure}) < 2:
        return ""
    return "; ".join(
        f"{one.label}: {one.stage} {one.stage_probability:.2f} ({one.source} {one.probability:.2f})"
        for one in sure
    )
