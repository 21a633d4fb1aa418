"""Forty-two lots against what an expert wrote down of them beforehand: at least 38 agree."""

from __future__ import annotations

from pathlib import Path

import yaml

from tracer.batch.many import brief
from tracer.lots.read import read_lot

HERE = Path(__file__).parent
JUDGED = yaml.safe_load((HERE / "judged.yaml").read_text(encoding="utf-8"))
OPEN = {
    "L04": "drying comes first with 0.39, wanted 0.40; earth and must are held normal for a wet-hulled coffee",
    "L13": "one source stands out with 0.82, the second reaches 0.37 and not 0.40",
    "L26": "few faults at origin make a phenolic note in single cups",
}
"""Lots on which tool and expert are known to differ, and why."""


def agrees(one, base, ready) -> bool:
    lot, issues = read_lot(HERE / "lots" / f"{one['lot']}.yaml", base)
    assert lot is not None, issues
    [found] = brief([lot], base, ready)
    first = found.stages[0] if found.stages else None
    stage = "stage" not in one or (
        first is not None and first.id in one["stage"] and round(first.probability, 2) >= one.get("least", 0)
    )
    verdict = found.verdict in one.get("verdict", [found.verdict])
    caution = "caution" not in one or bool({"stop": found.stop, "hold": found.hold}[one["caution"]])
    return stage and verdict and caution


def test_the_tool_agrees_with_the_expert_but_for_the_lots_named(base, ready):
    assert len(JUDGED) == 42
    differ = {one["lot"] for one in JUDGED if not agrees(one, base, ready)}
    assert differ <= set(OPEN), differ
    assert len(JUDGED) - len(differ) >= 39
