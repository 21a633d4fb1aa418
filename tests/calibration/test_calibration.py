"""Probabilities and verdicts mean what they say, on lots simulated from the knowledge.

The check needs no figure from outside: under the model's own draw a share p of sources given p is true, by the definition of
a probability. Limits are those of sampling (binomial, 1 in 1000 for each stretch) and of the notes weighed apart.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from tests.calibration.score import simulate
from tracer.tracing import prepare

pytestmark = pytest.mark.slow
LOTS, SHAKEN = 300, 100
SLACK = 0.06
"""What leaving the exact computation for the faintest notes may cost in one stretch of probability."""


@pytest.fixture(scope="module")
def ready(base):
    """Without the cases: lots drawn from the network owe nothing to them."""
    return prepare(base, precedents=False)


@pytest.fixture(scope="module")
def cups(base, ready):
    return simulate(base, ready, "cups", LOTS, 11, True, 0, False)


@pytest.fixture(scope="module")
def shaken(base, ready):
    return simulate(base, ready, "shaken", SHAKEN, 12, True, 12, True)


def test_of_sources_given_a_probability_that_share_is_true(cups):
    for part in cups.bins:
        low, high = binom.ppf([0.0005, 0.9995], part.count, part.given) / part.count
        assert low - SLACK <= part.true <= high + SLACK, part
    assert cups.error < 0.02 + 1 / np.sqrt(sum(part.count for part in cups.bins)), (
        "more than the play of chance"
    )


def test_a_named_source_is_right_at_least_as_often_as_its_limit_less_the_play_of_chance(base, cups):
    count, given, right, _ = cups.verdicts["source_supported"]
    assert given >= base.settings.verdicts.supported
    assert right >= base.settings.verdicts.supported - 2 * np.sqrt(0.25 / count)


def test_the_first_source_is_right_more_often_the_more_probable_it_is(cups):
    shares = [right for _, right in cups.thresholds.values()]
    assert shares[0] < shares[2] < shares[3] + 0.05


def test_what_is_not_enough_to_name_a_source_seldom_hides_a_sure_one(cups):
    _, given, right, _ = cups.verdicts["insufficient_evidence"]
    assert given < 0.4
    assert right < 0.4


def test_other_strengths_within_their_ranges_cost_little(shaken):
    assert shaken.error < 0.08
    count, _, right, _ = shaken.verdicts["source_supported"]
    assert right >= 0.5 - 2 * np.sqrt(0.25 / count)


def test_the_brier_score_beats_saying_how_often_sources_are_true(cups):
    share = sum(b.count * b.true for b in cups.bins) / sum(b.count for b in cups.bins)
    assert cups.brier < share * (1 - share) * 0.9
