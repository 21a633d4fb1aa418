"""The diff of diagnoses tells what moves, and no more."""

from __future__ import annotations

import pytest

from tests.cases.changed import differ, sheets, told
from tracer.batch.many import Brief, Ranked


def diagnosis(verdict="source_supported", stage="drying", source="rewetting", sure=0.7):
    ranked = Ranked(source, source, stage, sure)
    return Brief("A", verdict, ("musty",), (ranked,), (Ranked(stage, stage, stage, sure),), 0.1, 0)


@pytest.mark.parametrize(
    ("other", "moved"),
    [
        (diagnosis(), False),
        (diagnosis(sure=0.75), False),
        (diagnosis(sure=0.85), True),
        (diagnosis(source="smoke_drying"), True),
        (diagnosis(stage="transport"), True),
        (diagnosis(verdict="several_sources"), True),
    ],
)
def test_a_diagnosis_moves_by_its_verdict_its_first_source_or_a_tenth(other, moved):
    assert differ(diagnosis(), other) is moved


def test_every_kind_of_sheet_is_compared():
    folders = {path.parent.name for path in sheets()}
    assert folders >= {"golden", "set1", "lots", "messages"}
    assert told(diagnosis()) == "source_supported, drying 0.70, rewetting 0.70"
