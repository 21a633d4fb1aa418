"""Forty-two lots against what an expert wrote down of them beforehand: at least 38 agree."""

from __future__ import annotations

from pathlib import Path

import yaml

from tracer.lots.read import read_lot
from tracer.tracing import trace

HERE = Path(__file__).parent
JUDGED = yaml.safe_load((HERE / "judged.yaml").read_text(encoding="utf-8"))
OPEN = {
    "L04": "what is normal for the style takes the musty note",
    "L18": "no fault of ferment while drying is known yet",
    "L26": "few faults at origin make a phenolic note in single cups",
    "L38": "one cup in twenty without its number may be two false alarms",
}
"""Lots on which tool and expert are known to differ, and why."""


def agrees(one, base, ready) -> bool:
    lot, issues = read_lot(HERE / "lots" / f"{one['lot']}.yaml", base)
    assert lot is not None, issues
    report = trace(lot, base, ready)
    first = report.stages[0] if report.stages else None
    stage = "stage" not in one or (
        first is not None and first.stage in one["stage"] and first.probability >= one.get("least", 0)
    )
    verdict = report.verdict in one.get("verdict", [report.verdict])
    caution = "caution" not in one or any(c.level == one["caution"] for c in report.cautions)
    return stage and verdict and caution


def test_the_tool_agrees_with_the_expert_but_for_the_lots_named(base, ready):
    assert len(JUDGED) == 42
    differ = {one["lot"] for one in JUDGED if not agrees(one, base, ready)}
    assert differ <= set(OPEN), differ
    assert len(JUDGED) - len(differ) >= 38
