"""Closed cases of the house as cases that later lots may read like, beside the published ones."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tracer.casebook.taught import Taught
from tracer.findings.gathered import gather
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.precedents.features import features
from tracer.tracing import Prepared

FILE = "precedents/closed.yaml"


def closed_cases(
    taught: Iterable[Taught], base: KnowledgeBase, ready: Prepared, by: str, on: str
) -> tuple[list[dict[str, Any]], dict[str, list[str]]]:
    """Entries of `precedents` for a house folder, and the marks of each, as a lot's own record gives them."""
    entries: list[dict[str, Any]] = []
    marks: dict[str, list[str]] = {}
    for one in taught:
        name = f"learned.closed_{one.case}"
        fault = base.faults[one.fault] if one.fault is not None else None
        truth = {"stage": "none", "fault": "sound"}
        if fault is not None:
            truth = {"stage": fault.stage, "fault": fault.label}
        entries.append(
            {
                "id": name,
                "title": one.lot.lot,
                "group": name,
                "record": _record(one.lot, base, fault.label if fault else ""),
                "truth": {**truth, "faults": [fault.id] if fault else []},
                "certain": "closed in the casebook of the house",
                "fidelity": "as_source",
                "expect": "trace" if fault else "abstain",
                "source": {"authors": by, "when": on, "title": f"closed case {one.case}", "read": "seen"},
            }
        )
        marks[name] = sorted(features(base, gather(one.lot, base, ready)))
    return entries, marks


def _record(lot: Lot, base: KnowledgeBase, told: str) -> dict[str, Any]:
    """What the sheet says, in words; nothing that gives the cause away."""
    notes = [note.text for cupping in lot.cuppings for tasting in cupping.tastings for note in tasting.notes]
    lines = [f"{base.records[row.record].label}: {row.written}" for row in lot.records if not row.said]
    lines += [said.text for said in lot.said]
    lines = [line for line in lines if not told or told.lower() not in line.lower()]
    record = {
        "notes": list(dict.fromkeys(notes)) or ([] if lines else ["clean"]),
        "species": lot.species,
        "process": lot.process,
        "origin": lot.origin,
        "history": lines,
    }
    return {name: value for name, value in record.items() if value}
