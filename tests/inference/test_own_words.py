"""A taster measured to call one note by another's name: their word speaks of both, and nobody else's does."""

from __future__ import annotations

import pytest

from tracer.inference.tasters import MeasuredPanel
from tracer.lots.read import parse_lot
from tracer.names import fold
from tracer.tracing import trace

SHEET = """
lot: two tasters
cuppings:
- sample: arrival
  cups: 5
  tasters:
  - {taster: Ana, notes: [{note: musty, cups: 4}]}
  - {taster: Bui, notes: [{note: earthy, cups: 4}]}
"""

ALONE = """
lot: one taster
cuppings:
- sample: arrival
  cups: 5
  tasters:
  - {taster: Ana, notes: [{note: musty, cups: 4}]}
"""


def lot_of(text, base):
    lot, issues = parse_lot(text, "lot.yaml", base)
    assert lot is not None, issues
    return lot


def earth(report):
    return max(line.probability for line in report.compounds if line.compound == "earthy_terpenoids")


def panel(*confusions):
    return MeasuredPanel(
        confusions={(fold(who), given, named): often for who, given, named, often in confusions}
    )


def test_the_word_of_a_taster_who_confuses_two_notes_speaks_of_both(base, ready):
    lot = lot_of(ALONE, base)
    plain = trace(lot, base, ready)
    seldom, often = (trace(lot, base, ready, panel=panel(("Ana", "earthy", "musty", q))) for q in (0.3, 0.95))
    assert earth(often) > earth(plain) + 0.001
    assert earth(often) > earth(seldom)


def test_a_word_of_ones_own_is_told_apart_from_the_same_word_of_another(base, ready):
    confused = panel(("Ana", "earthy", "musty", 0.6))
    alone = trace(lot_of(ALONE, base), base, ready, panel=confused)
    both = trace(
        lot_of(ALONE + "  - {taster: Bui, notes: [{note: musty, cups: 4}]}\n", base),
        base,
        ready,
        panel=confused,
    )
    assert earth(both) < earth(alone)


@pytest.mark.parametrize(
    "confusion",
    [("Cyr", "earthy", "musty", 0.6), ("Ana", "earthy", "musty", 0.1), ("Ana", "smoky", "phenolic", 0.6)],
)
def test_what_another_taster_confuses_or_too_seldom_changes_nothing(confusion, base, ready):
    lot = lot_of(SHEET, base)
    plain, other = trace(lot, base, ready), trace(lot, base, ready, panel=panel(confusion))
    assert [(s.fault, s.probability) for s in plain.sources] == [
        (s.fault, s.probability) for s in other.sources
    ]


def test_why_tells_whose_word_it_is(base, ready):
    report = trace(lot_of(SHEET, base), base, ready, panel=panel(("Ana", "earthy", "musty", 0.6)))
    assert any("Ana" in weight.text for source in report.sources for weight in source.weights)
