"""An answer counts as the row that says the same, and changes exactly what was said it would change."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracer.issues import Place
from tracer.lots.attached import example_path
from tracer.lots.lot import RecordValue
from tracer.lots.read import read_lot
from tracer.tracing import prepare, trace

SCENES = ("smoke_at_the_roaster", "container_damp")
SAME = (
    ("test_control_cup", "clean", "control_cup", "clean"),
    ("test_control_cup", "shared", "control_cup", "same_note"),
    ("test_reroast", "gone", "note_gone_after_reroast", "yes"),
    ("test_parchment_sample", "shows", "note_in_parchment_sample", "yes"),
)


def lot_of(name, base):
    lot, issues = read_lot(example_path(name), base)
    assert lot is not None, issues
    return replace(lot, answers=())


@pytest.mark.parametrize("scene", SCENES)
def test_every_answer_changes_what_was_said_it_would_change(scene, base, ready):
    lot = lot_of(scene, base)
    report = trace(lot, base, ready)
    assert report.asks
    for line in report.asks:
        for told in line.answers:
            after = trace(lot.answered(line.id, told.answer), base, ready)
            # What is foretold leans on the cases as the lot does now; with the answer's own marks it leans a little otherwise.
            assert after.stages[0].probability == pytest.approx(told.top_stage_probability, abs=0.02)
        assert sum(told.probability for told in line.answers) == pytest.approx(1.0)


@pytest.mark.parametrize("scene", SCENES)
def test_without_the_cases_what_is_foretold_of_an_answer_is_exact(scene, base):
    ready = prepare(base, precedents=False)
    lot = lot_of(scene, base)
    for line in trace(lot, base, ready).asks:
        for told in line.answers:
            after = trace(lot.answered(line.id, told.answer), base, ready)
            assert after.stages[0].probability == pytest.approx(told.top_stage_probability, abs=1e-6)


@pytest.mark.parametrize(("enquiry", "answer", "record", "value"), SAME)
def test_an_answer_counts_as_the_row_that_says_the_same(enquiry, answer, record, value, base, ready):
    lot = lot_of("sporadic_potato", base)
    by_answer = trace(lot.answered(enquiry, answer), base, ready)
    with_row = replace(lot, records=(*lot.records, RecordValue(record, value, value, Place("row"))))
    by_row = trace(with_row, base, ready)
    given = {line.fault: line.probability for line in by_answer.sources}
    for line in by_row.sources[:3]:
        # The published cases know the row by its own mark, and lean more on it than on an answer.
        assert given.get(line.fault, 0.0) == pytest.approx(line.probability, abs=0.1)
    both = trace(with_row.answered(enquiry, answer), base, ready)
    for line in by_row.sources[:3]:
        assert {s.fault: s.probability for s in both.sources}[line.fault] == pytest.approx(
            line.probability, abs=1e-9
        )
