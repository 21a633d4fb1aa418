"""The exact tests and intervals against scipy, statsmodels, enumeration and published worked values."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from scipy import stats

from tracer.season.counts import jeffreys
from tracer.season.exact import able, exact


@pytest.mark.parametrize(
    "table", [(20, 7, 6, 5), (400, 48, 14, 11), (12, 3, 4, 0), (9, 9, 3, 3), (30, 1, 2, 1)]
)
def test_one_table_is_the_one_sided_exact_test_of_fisher(table):
    lots, troubled, here, both = table
    square = [[both, here - both], [troubled - both, lots - troubled - here + both]]
    assert exact([table])[0] == pytest.approx(
        stats.fisher_exact(square, alternative="greater").pvalue, rel=1e-9
    )


def test_the_tea_of_fisher_1935_has_its_published_value():
    # The lady and her eight cups, all right: 1 in 70 (Fisher, The Design of Experiments, 1935).
    assert exact([(8, 4, 4, 4)])[0] == pytest.approx(1 / 70)


def test_several_tables_are_the_convolution_of_their_laws():
    tables = [(9, 4, 3, 2), (7, 2, 4, 2), (5, 5, 2, 2), (6, 3, 0, 0)]
    seen = sum(both for *_, both in tables)
    laws = [stats.hypergeom(lots, troubled, here) for lots, troubled, here, _ in tables]
    wanted = sum(
        float(np.prod([law.pmf(k) for law, k in zip(laws, ks, strict=True)]))
        for ks in itertools.product(range(5), repeat=4)
        if sum(ks) >= seen
    )
    assert exact(tables)[0] == pytest.approx(wanted, rel=1e-9)


def test_p_is_never_below_the_least_the_margins_allow_and_reaches_it():
    dice = random.Random(3)
    for _ in range(300):
        lots = dice.randint(2, 40)
        troubled, here = dice.randint(0, lots), dice.randint(0, lots)
        both = dice.randint(max(0, here + troubled - lots), min(here, troubled))
        p, least = exact([(lots, troubled, here, both)])
        assert least <= p * (1 + 1e-9)
        assert exact([(lots, troubled, here, min(troubled, here))])[0] == pytest.approx(least)


def test_the_correction_counts_only_what_can_pass_as_tarone_says():
    # With k counted, at most k of them can reach limit / k, and one fewer would not do.
    dice = random.Random(4)
    for _ in range(200):
        least = [dice.random() ** 4 for _ in range(dice.randint(1, 60))]
        k = able(least, 0.05)
        assert sum(one <= 0.05 / k for one in least) <= k
        assert k == 1 or sum(one <= 0.05 / (k - 1) for one in least) > k - 1
        assert k <= len(least)


@pytest.mark.parametrize(("found", "of"), [(0, 10), (1, 10), (5, 10), (10, 10), (37, 400), (0, 1)])
def test_the_interval_of_a_share_is_that_of_statsmodels_but_at_the_ends(found, of):
    from statsmodels.stats.proportion import proportion_confint

    low, high = proportion_confint(found, of, method="jeffreys")
    own = jeffreys(found, of)
    assert own[0] == pytest.approx(0.0 if found == 0 else low, abs=1e-9)
    assert own[1] == pytest.approx(1.0 if found == of else high, abs=1e-9)
    assert own[0] <= found / of <= own[1]


def test_a_share_of_nothing_may_be_anything():
    assert jeffreys(0, 0) == (0.0, 1.0)
