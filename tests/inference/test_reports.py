"""The report model against scipy: its quadrature, and reports of one taster in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.special import roots_jacobi
from scipy.stats import beta, betabinom, binom

from tracer.inference.reports import _nodes, _report, likelihood
from tracer.issues import Place
from tracer.lots.observed import Observation


@pytest.mark.parametrize(
    ("a", "b"), [(14, 6), (1, 199), (0.5, 0.5), (0.7, 3), (1, 1), (2, 2), (0.3, 0.7), (400, 20)]
)
@pytest.mark.parametrize("points", [2, 16, 32])
def test_points_and_weights_are_those_of_scipy(a, b, points):
    nodes, weights = _nodes(float(a), float(b), points)
    theirs, share = roots_jacobi(points, b - 1, a - 1)
    assert np.allclose(nodes, (1 + theirs) / 2, atol=1e-10)
    assert np.allclose(weights, share / share.sum(), atol=1e-10)


@pytest.mark.parametrize("cups", [1, 3, 5, 10, 20, 30])
def test_a_report_on_a_clean_cup_is_the_beta_binomial(cups):
    for found in range(cups + 1):
        value = _report(found, cups, (0.0,), (14.0, 6.0), (1.0, 199.0), 0.0)[0]
        assert value == pytest.approx(betabinom.pmf(found, cups, 1, 199), rel=1e-9, abs=1e-300)


def test_a_report_on_a_scattered_note_is_the_double_integral():
    share, law = 0.4, ((14, 6), (2, 30))
    for found in (0, 1, 3, 5):
        expected, _ = dblquad(
            lambda f, h: binom.pmf(found, 5, share * h + (1 - share) * f) * beta.pdf(h, *law[0]) * beta.pdf(f, *law[1]),  # noqa: B023
            0, 1, 0, 1,
        )  # fmt: skip
        value = _report(found, 5, (share,), (14.0, 6.0), (2.0, 30.0), 0.0)[0]
        assert value == pytest.approx(expected, rel=1e-6)


def test_the_chances_of_all_reports_sum_to_one(base):
    place = Place("x")
    for state in range(3):
        total = 0.0
        for found in range(6):
            vector = likelihood(
                [Observation("musty", "a", found, 5, "moderate", False, "w", 0, place)],
                base.settings.tasters,
                base.settings.cups,
            )
            scale = (
                betabinom.pmf(
                    found, 5, base.settings.tasters.false_alarm.a, base.settings.tasters.false_alarm.b
                )
                / vector[0]
            )
            total += vector[state] * scale
        assert total == pytest.approx(1.0, abs=1e-9)
