"""Every scenario and golden lot must come out as it says it must."""

from __future__ import annotations

from pathlib import Path

import pytest

from tracer.knowledge.shipped import scenarios_folder
from tracer.lots.read import read_lot
from tracer.tracing import trace

SHEETS = sorted(scenarios_folder().rglob("*.yaml"))
NAMED = [path for path in SHEETS if path.parent == scenarios_folder()]


@pytest.mark.parametrize(
    "path",
    [pytest.param(path, marks=() if path in NAMED else pytest.mark.slow, id=path.stem) for path in SHEETS],
)
def test_a_scenario_comes_out_as_it_says(path: Path, base, ready):
    lot, issues = read_lot(path, base)
    assert lot is not None, "\n".join(map(str, issues))
    assert lot.scenario is not None
    expected = lot.scenario
    report = trace(lot, base, ready)
    if expected.verdict:
        assert report.verdict == expected.verdict, report.verdict_text
    if expected.source:
        assert expected.source in [line.fault for line in report.sources[: expected.within]]
    if expected.stage:
        assert report.stages[0].stage == expected.stage
    if expected.question:
        assert report.asks[0].id == expected.question
    assert not report.unmatched_words or expected.verdict == "insufficient_evidence"


def test_at_least_twelve_named_scenarios_are_shipped():
    assert len(NAMED) >= 12


def test_every_golden_lot_named_by_a_fault_exists_and_expects_it(base):
    found = {path.stem: path for path in SHEETS}
    for fault in base.faults.values():
        for name in fault.golden:
            assert name in found, f"{fault.id} names {name}"
            lot, _ = read_lot(found[name], base)
            assert lot is not None
            assert lot.scenario is not None
            assert lot.scenario.source == fault.id, name


def test_every_named_scenario_states_what_must_come_out(base):
    for path in NAMED:
        lot, _ = read_lot(path, base)
        assert lot is not None
        assert lot.scenario
        assert lot.scenario.verdict
        if lot.scenario.verdict in ("source_supported", "bench_suspected"):
            assert lot.scenario.source
            assert lot.scenario.stage
