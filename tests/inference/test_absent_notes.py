"""Absent notes beyond the exact few: weighed on each compound apart, close to the exact answer, and better than left out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tracer.inference.chain import chain_of
from tracer.inference.evidence import weigh
from tracer.inference.exact import posterior
from tracer.lots.observations import hear
from tracer.lots.read import parse_lot

SHEET = """
lot: A
cuppings:
  - cups: 5
    tasters:
      - {{taster: one, checked_all: yes, notes: [{notes}]}}
      - {{taster: two, checked_all: yes, notes: [{notes}]}}
"""


def with_limit(base, absent, largest=13):
    limits = base.settings.limits.model_copy(update={"absent_weighed": absent, "largest_table": largest})
    return replace(base, settings=base.settings.model_copy(update={"limits": limits}))


@pytest.mark.parametrize(
    "notes",
    [
        "{note: phenolic, cups: 2}",
        "{note: smoky, cups: 5}",
        "{note: earthy, cups: 4}",
        "{note: musty, cups: 3}",
    ],
)
def test_notes_weighed_apart_are_close_to_the_exact_answer_and_closer_than_left_out(base, ready, notes):
    lot, issues = parse_lot(SHEET.format(notes=notes), "lot.yaml", base)
    assert lot is not None, issues
    heard = hear(lot, ready.vocabulary, 5)
    chain = chain_of(lot, base)
    whole = ready.plan.of(chain)
    few = weigh(base, whole, chain, whole.network, heard, lot, {})
    many = weigh(with_limit(base, 14, 19), whole, chain, whole.network, heard, lot, {})
    assert len(many.absent) > len(few.absent)
    together = {*few.absent, *few.absent_apart}
    assert {*many.absent, *many.absent_apart} == together
    assert few.absent_apart
    exact, apart = posterior(many.network, many.evidence).fault, posterior(few.network, few.evidence).fault
    left_out = posterior(few.spoken, replace(few.evidence, compounds=few.tests)).fault
    assert np.abs(apart - exact).max() < 0.06
    assert np.abs(apart - exact).sum() < np.abs(left_out - exact).sum()


def test_an_absent_note_speaks_against_what_would_have_made_it(base, ready):
    lot, _ = parse_lot(SHEET.format(notes="{note: musty, cups: 3}"), "lot.yaml", base)
    from tracer.tracing import trace

    report = trace(lot, base, ready)
    assert any(
        "other note" in weight.text and weight.log10 < 0
        for source in report.sources
        for weight in source.weights
    )
    assert len(report.absent) > 6


@pytest.mark.parametrize(
    ("notes", "not_found", "fault"),
    [("{note: tarry, cups: 4}", "[ashy, scorched, rubbery, smoky]", "scorched")],
)
def test_an_absence_on_another_compound_of_the_fault_counts(base, ready, notes, not_found, fault):
    from tracer.tracing import trace

    found = []
    for absent in ("[]", not_found):
        tasters = ", ".join(
            f"{{taster: {name}, language: en, notes: [{notes}], not_found: {absent}}}" for name in "abc"
        )
        lot, issues = parse_lot(
            f"lot: A\ncuppings: [{{sample: arrival, cups: 5, tasters: [{tasters}]}}]", "x", base
        )
        assert lot is not None, issues
        report = trace(lot, base, ready, keep=fault)
        found.append(next(line.probability for line in report.sources if line.fault == fault))
    assert found[1] < found[0]
