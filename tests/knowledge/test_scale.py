"""From a stated strength to numbers."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tests.findings.build import settings, strength
from tracer.knowledge.entries import Fault
from tracer.knowledge.scale import link, prior, ratio, share_of_lots, suspicion
from tracer.knowledge.settings import Bands, Suspicion
from tracer.knowledge.strength import Prior

SETTINGS = settings()
LAW = Suspicion(
    basis="judgement",
    why="round numbers",
    ratio={"low": 2.5, "best": 5, "high": 10},
    record="cupped_for",
    routine="routine",
    prior_bands=Bands(
        basis="judgement", why="", bands={"rare": {"low": 0.001, "best": 0.002, "high": 0.004}}
    ),
)
WITH_SUSPICION = SETTINGS.model_copy(
    update={"suspicion": LAW, "verdicts": SimpleNamespace(bench_stages=("cupping_lab",))}
)


def fault(stage="drying", **prior_):
    made = Prior.model_validate({"basis": "judgement", **prior_})
    return Fault.model_construct(id="f", stage=stage, prior=made)


def test_a_band_gives_its_own_ends():
    assert link(strength(band="often"), SETTINGS) == (0.4, 0.5, 0.6)
    assert prior(fault(band="rare"), SETTINGS) == (0.001, 0.01, 0.02)
    assert ratio(strength(band="weakly_for"), SETTINGS) == (1.5, 2, 3)


def test_a_stated_range_keeps_its_best():
    assert link(strength(low=0.1, best=0.2, high=0.5), SETTINGS) == (0.1, 0.2, 0.5)


def test_without_a_best_a_link_takes_the_middle_and_odds_the_geometric_mean():
    assert link(strength(low=0.2, high=0.4), SETTINGS).best == pytest.approx(0.3)
    assert ratio(strength(low=2, high=8), SETTINGS).best == pytest.approx(4)
    assert prior(fault(low=0.01, high=0.04), SETTINGS).best == pytest.approx(0.02)


def test_an_unknown_link_is_the_wide_range_of_the_settings():
    assert link(strength(unknown=True), SETTINGS) == (0.05, 0.35, 0.9)


def test_an_unknown_prior_lies_anywhere_in_the_bands_and_an_unknown_ratio_is_one():
    assert prior(fault(unknown=True), SETTINGS) == pytest.approx((0.001, 0.01, 0.1))
    assert ratio(strength(unknown=True), SETTINGS) == (1, 1, 1)


def test_a_band_is_a_share_of_all_lots_and_suspicion_multiplies_its_odds():
    rare = fault(band="rare")
    assert share_of_lots(rare, WITH_SUSPICION) == (0.001, 0.002, 0.004)
    assert prior(rare, WITH_SUSPICION).best == pytest.approx(0.01 / (0.998 + 0.01))


def test_a_published_share_of_all_lots_stands_as_it_is_and_a_figure_of_suspected_lots_is_brought_back_to_it():
    published = fault(low=0.01, best=0.05, high=0.1, of="all_lots")
    assert share_of_lots(published, WITH_SUSPICION) == (0.01, 0.05, 0.1)
    older = fault(low=0.01, best=0.05, high=0.1)
    assert prior(older, WITH_SUSPICION) == pytest.approx((0.01, 0.05, 0.1)), (
        "a house folder of before means what it meant"
    )
    assert share_of_lots(older, WITH_SUSPICION).best == pytest.approx(0.05 / (0.05 + 0.95 * 5))


def test_the_faults_of_the_bench_and_those_with_a_ratio_of_their_own_are_spared_the_usual_one():
    assert suspicion(fault("cupping_lab", band="rare"), WITH_SUSPICION) == (1, 1, 1)
    assert prior(fault("cupping_lab", band="rare"), WITH_SUSPICION) == pytest.approx((0.001, 0.01, 0.02))
    own = fault(band="rare").model_copy(update={"suspicion": strength(low=1, best=2, high=3)})
    assert suspicion(own, WITH_SUSPICION).best == 2
    assert prior(own, WITH_SUSPICION).best == pytest.approx(0.004 / (0.998 + 0.004))


def test_no_strength_is_the_strength_of_rules_out():
    assert ratio(None, SETTINGS) == (0.001, 0.002, 0.01)


def test_a_probability_above_one_is_refused():
    with pytest.raises(ValueError, match="no probability"):
        link(strength(low=20, high=40), SETTINGS)


def test_a_count_is_no_ratio():
    with pytest.raises(ValueError, match="no likelihood ratio"):
        ratio(strength(count="3/10"), SETTINGS)


@pytest.mark.parametrize(
    "count", ["0/1", "1/1", "0/2", "0/200", "18/100", "200/200", "3/7", "1/100000", "499999/1000000"]
)
def test_a_count_has_the_mean_and_ends_of_its_beta_law(count):
    # scipy.stats.beta, any version
    stats = pytest.importorskip("scipy.stats", reason="scipy is only in the test extra")
    n, m = (int(part) for part in count.split("/"))
    low, best, high = link(strength(count=count), SETTINGS)
    law = stats.beta(n + 0.5, m - n + 0.5)
    assert best == pytest.approx(law.mean(), rel=1e-9)
    assert (low, high) == pytest.approx((law.ppf(0.05), law.ppf(0.95)), rel=1e-4, abs=1e-9)


def test_counts_with_the_same_share_differ_in_width():
    few, many = (link(strength(count=count), SETTINGS) for count in ("0/2", "0/200"))
    assert few.high > 10 * many.high
    assert few.low > 0
