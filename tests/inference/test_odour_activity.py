"""Laboratory values as numbers: content x dose over threshold, worked by hand."""

from __future__ import annotations

import pytest

from tracer.inference.odour_activity import activity
from tracer.lots.read import parse_lot
from tracer.tracing import trace


def lot_with(base, result):
    text = "lot: A\ncuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, language: en, notes: [corky]}]}]\n"
    lot, issues = parse_lot(text + f"laboratory: [{result}]\n", "x", base)
    assert lot is not None, issues
    return lot


def test_trichloroanisole_in_the_green_comes_to_a_hundred_times_its_threshold(base):
    """4 ng/g x 50 to 65 g/L, 0.4 to 1 extracted, half to all surviving, over 1 to 2 ng/L (Spadone 1990, from memory)."""
    lot = lot_with(base, "{compound: tca, value: 4, unit: ng/g, matrix: green}")
    found = activity(base, lot.laboratory[0])
    assert found is not None
    assert found.brew == pytest.approx((4 * 50 * 0.4 * 0.5, 4 * 65))
    assert found.times == pytest.approx((4 * 50 * 0.4 * 0.5 / 2, 4 * 65 / 1))


def test_a_figure_far_above_the_threshold_raises_and_one_far_below_lowers_whatever_it_is_called(base, ready):
    def floor(value):
        result = f"{{compound: tca, value: {value}, unit: ng/L, matrix: brew, result: raised}}"
        report = trace(lot_with(base, result), base, ready, keep="container_floor")
        return next(line.probability for line in report.sources if line.fault == "container_floor")

    assert floor(31) > 1.5 * floor(0.01)


def test_the_sum_is_shown_and_a_figure_without_a_threshold_is_told(base, ready):
    report = trace(lot_with(base, "{compound: tca, value: 31, unit: ng/L, matrix: brew}"), base, ready)
    assert report.measured == (
        "2,4,6-trichloroanisole: 31 ng/L in the cup, 16 to 31 times the threshold (1 to 2 ng/L in water or brew)",
    )
    assert not any(one.kind == "laboratory" for one in report.not_weighed)
