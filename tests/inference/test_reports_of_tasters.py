"""What one report, or a table of them, says of a note: against integrals of scipy over the same Beta laws.

A taster names the note in a bad cup with rate h and in a good one with rate f, s is the share of bad cups; see
`tracer/inference/reports.py`. Round laws here: h ~ Beta(14, 6), f ~ Beta(2, 30), s ~ Beta(2, 3) scattered and Beta(9, 1) throughout.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import beta, binom

from tracer.inference.reports import carried, likelihood, raw_likelihood
from tracer.inference.tasters import MeasuredPanel, TasterRates
from tracer.issues import Place
from tracer.knowledge.taster_settings import BetaPrior, Component, Cups, Psychometric, Striking, Tasters
from tracer.lots.observed import Observation

HIT, SLIGHT, STRONG, FALSE = (14, 6), (11, 9), (17, 3), (2, 30)
SCATTERED, THROUGHOUT = (2, 3), (9, 1)
BLIND, NAMES, DOUBTFUL = 0.1, 0.8, 0.5
NODES = np.polynomial.legendre.leggauss(120)
X, W = (NODES[0] + 1) / 2, NODES[1] / 2


def prior(a, b):
    return BetaPrior.model_construct(a=a, b=b)


def mixture(*laws):
    return tuple(Component.model_construct(share=share, a=a, b=b) for share, (a, b) in laws)


TASTERS = Tasters.model_construct(
    hit=prior(*HIT),
    hit_by={"slight": prior(*SLIGHT), "strong": prior(*STRONG)},
    false_alarm=prior(*FALSE),
    cannot_smell=BLIND,
    intensity={"slight": 1.5, "moderate": 1.0, "strong": 0.5, "unstated": 1.0},
    names=NAMES,
    doubtful=DOUBTFUL,
    psychometric=None,
)
CUPS = Cups.model_construct(
    scattered=mixture((1.0, SCATTERED)), throughout=mixture((1.0, THROUGHOUT)), usual=5
)


def report(found, cups=5, taster="a", **more):
    plain = Observation("musty", taster, found, cups, "unstated", False, "w", 0, Place("x"))
    return replace(plain, **more)


def binomial(found, cups, rate):
    """P(found of cups) at a rate; None is "at least one": 1 - (1 - rate)^cups."""
    return 1 - (1 - rate) ** cups if found is None else binom.pmf(found, cups, rate)


def given_share(found, cups, s, hit=HIT, false=FALSE, blind=BLIND):
    """E over h and f by Gauss-Legendre: another rule than the program's own."""
    h, f = X[:, None], X[None, :]
    weight = (W * beta.pdf(X, *hit))[:, None] * (W * beta.pdf(X, *false))[None, :]
    able = (binomial(found, cups, s * h + (1 - s) * f) * weight).sum()
    unable = (binomial(found, cups, X) * W * beta.pdf(X, *false)).sum()
    return (1 - blind) * able + blind * unable


def over(law, value):
    return quad(lambda s: beta.pdf(s, *law) * value(s), 0, 1)[0]


def expected(value):
    """Absent, scattered, throughout, for a chance that depends on the share of bad cups."""
    return [value(0.0), over(SCATTERED, value), over(THROUGHOUT, value)]


def told(*reports, panel=None):
    return raw_likelihood(reports, TASTERS, CUPS, panel)


@pytest.mark.parametrize("found", [0, 1, 3, 5])
def test_a_count_is_the_binomial_averaged_over_hits_false_alarms_and_shares(found):
    assert told(report(found)) == pytest.approx(expected(lambda s: given_share(found, 5, s)), rel=1e-6)


@pytest.mark.parametrize("cups", [1, 5, 10])
def test_a_note_without_a_count_was_in_at_least_one_cup(cups):
    # The commonest note of all. P(k >= 1) = 1 - (1 - rate)^n, so that it grows with the cups.
    assert told(report(None, cups)) == pytest.approx(expected(lambda s: given_share(None, cups, s)), rel=1e-6)


def test_at_least_one_and_none_are_all_there_is():
    assert told(report(None)) + told(report(0)) == pytest.approx([1.0, 1.0, 1.0])


def test_some_tasters_cannot_smell_the_note_and_find_it_as_often_as_where_it_is_not():
    blind = MeasuredPanel({("a", "musty"): TasterRates(HIT, FALSE, 1.0)})
    seeing = MeasuredPanel({("a", "musty"): TasterRates(HIT, FALSE, 0.0)})
    all_blind, all_able = told(report(3), panel=blind), told(report(3), panel=seeing)
    assert all_blind == pytest.approx([all_blind[0]] * 3), "whoever smells nothing says nothing of the cups"
    assert told(report(3)) == pytest.approx((1 - BLIND) * all_able + BLIND * all_blind)


def test_a_note_like_nothing_else_is_imagined_at_a_rate_of_its_own():
    rare = Striking.model_construct(false_alarm=prior(1, 999), notes=("potato_pea",))
    potato = replace(report(2), descriptor="potato_pea")
    with_striking = TASTERS.model_copy(update={"striking": rare})
    wanted = expected(lambda s: given_share(2, 5, s, false=(1, 999)))
    assert raw_likelihood([potato], with_striking, CUPS) == pytest.approx(wanted, rel=1e-4)
    assert raw_likelihood([report(2)], with_striking, CUPS) == pytest.approx(told(report(2)))
    sharp = MeasuredPanel({("a", "potato_pea"): TasterRates(HIT, FALSE, BLIND)})
    assert raw_likelihood([potato], with_striking, CUPS, sharp) == pytest.approx(told(report(2)))


def test_measured_rates_stand_in_for_the_defaults_of_that_taster_on_that_note_alone():
    sharp = MeasuredPanel({("a", "musty"): TasterRates((30, 2), (1, 60), 0.02)})
    wanted = expected(lambda s: given_share(4, 5, s, (30, 2), (1, 60), 0.02))
    assert told(report(4), panel=sharp) == pytest.approx(wanted, rel=1e-6)
    assert told(report(4, taster="b"), panel=sharp) == pytest.approx(told(report(4, taster="b")))


@pytest.mark.parametrize(("called", "hit", "factor"), [("slight", SLIGHT, 1.5), ("strong", STRONG, 0.5), ("moderate", HIT, 1.0)])  # fmt: skip
def test_intensity_moves_the_hit_rate_and_how_well_a_false_alarm_explains_a_find(called, hit, factor):
    # A false alarm is rarely called strong and often slight; a note that is not there has no other explanation.
    absent, scattered, throughout = expected(lambda s: given_share(2, 5, s, hit))
    assert told(report(2, intensity=called)) == pytest.approx(
        [factor * absent, scattered, throughout], rel=1e-6
    )


@pytest.mark.parametrize("called", ["slight", "strong"])
def test_intensity_says_nothing_where_the_note_was_not_found(called):
    assert told(report(0, intensity=called)) == pytest.approx(told(report(0)))


def test_the_strongest_word_at_the_table_tells_how_strong_the_note_is_for_all():
    both = told(report(2, intensity="slight"), report(3, taster="b", intensity="strong"))
    wanted = expected(lambda s: given_share(2, 5, s, STRONG) * given_share(3, 5, s, STRONG))
    assert both == pytest.approx([1.5 * 0.5 * wanted[0], wanted[1], wanted[2]], rel=1e-6)


def test_a_taster_who_did_not_find_it_does_not_say_how_strong_it_is():
    both = told(report(2), report(0, taster="b", intensity="strong"))
    assert both == pytest.approx(told(report(2), report(0, taster="b")))


def test_a_doubtful_report_keeps_a_part_of_its_evidence():
    # The likelihood to the power 0.5, inside the average over the share of bad cups.
    wanted = expected(lambda s: given_share(4, 5, s) ** DOUBTFUL)
    assert told(report(4, doubtful=True)) == pytest.approx(wanted, rel=1e-6)
    strong = told(report(4, doubtful=True, intensity="strong"))
    assert strong[0] == pytest.approx((0.5 * given_share(4, 5, 0.0, STRONG)) ** DOUBTFUL, rel=1e-6)


def test_who_was_not_asked_and_says_nothing_found_none_or_does_not_name_all():
    wanted = expected(lambda s: (1 - NAMES) + NAMES * given_share(0, 5, s))
    assert told(report(0, unasked=True)) == pytest.approx(wanted, rel=1e-6)


def test_tasters_of_one_table_share_the_cups_and_those_of_two_do_not():
    same = told(report(4), report(0, taster="b"))
    wanted = expected(lambda s: given_share(4, 5, s) * given_share(0, 5, s))
    assert same == pytest.approx(wanted, rel=1e-6)
    apart = told(report(4), report(0, taster="b", cupping=1))
    assert apart == pytest.approx(told(report(4)) * told(report(0, taster="b")))


def test_a_mixture_of_shares_is_the_mixture_of_what_each_says():
    laws = mixture((0.5, SCATTERED), (1.5, THROUGHOUT))
    mixed = raw_likelihood([report(2)], TASTERS, CUPS.model_copy(update={"scattered": laws}))
    _, scattered, throughout = told(report(2))
    assert mixed[1] == pytest.approx(0.25 * scattered + 0.75 * throughout)


def test_cups_named_by_number_weigh_intensity_doubt_and_silence_alike():
    # One cup of two named: absent is a false alarm there and none in the other, E[f (1 - f)].
    named = report(1, 2, which=(1,), intensity="strong")
    alarm = quad(lambda f: f * (1 - f) * beta.pdf(f, *FALSE), 0, 1)[0]
    assert told(named)[0] == pytest.approx(0.5 * alarm)
    assert told(replace(named, doubtful=True))[0] == pytest.approx((0.5 * alarm) ** DOUBTFUL)
    silent = report(0, 2, taster="b", unasked=True)
    none = quad(lambda f: (1 - f) ** 2 * beta.pdf(f, *FALSE), 0, 1)[0]
    assert told(named, silent)[0] == pytest.approx(0.5 * alarm * (1 - NAMES + NAMES * none))


def test_numbers_beyond_the_cups_or_of_tables_unlike_are_read_as_counts():
    other = report(0, 4, taster="b")
    assert told(report(1, 3, which=(1,)), other) == pytest.approx(told(report(1, 3), other))
    assert told(report(1, 3, which=(4,))) == pytest.approx(told(report(1, 3)))


def test_the_largest_likelihood_is_one_and_their_ratios_stay():
    value, raw = likelihood([report(3)], TASTERS, CUPS), told(report(3))
    assert value.max() == 1.0
    assert value / value[0] == pytest.approx(raw / raw[0])


LAW = Psychometric(slope=2.0, multiples={"slight": 1.5, "unstated": 3, "strong": 10})


def test_a_rate_measured_at_a_multiple_is_carried_along_the_curve_and_stays_as_sure_as_it_was():
    served = TasterRates((14, 6), FALSE, BLIND, multiple=3.0)
    assert carried(served, "unstated", LAW) == pytest.approx((14, 6))
    for strength, multiple in (("slight", 1.5), ("strong", 10)):
        a, b = carried(served, strength, LAW)
        assert a + b == pytest.approx(20)
        assert np.log(a / b) == pytest.approx(np.log(14 / 6) + 2 * np.log10(multiple / 3))


def test_without_a_multiple_or_a_law_a_measured_rate_stays():
    assert carried(TasterRates((14, 6), FALSE, BLIND), "slight", LAW) == (14, 6)
    assert carried(TasterRates((14, 6), FALSE, BLIND, multiple=3.0), "slight", None) == (14, 6)


def test_the_usual_rates_for_a_slight_and_a_strong_note_lie_on_the_shipped_curve(base):
    shipped = base.settings.tasters
    usual = TasterRates((shipped.hit.a, shipped.hit.b), FALSE, BLIND, multiple=3.0)
    for strength, law in shipped.hit_by.items():
        a, b = carried(usual, strength, shipped.psychometric)
        assert a / (a + b) == pytest.approx(law.a / (law.a + law.b), abs=0.02)


def test_a_miss_of_a_taster_trained_far_above_threshold_clears_a_faint_note_less_than_a_plain_one():
    far = MeasuredPanel({("a", "musty"): TasterRates((18, 2), FALSE, 0.02, multiple=30.0)})
    near = MeasuredPanel({("a", "musty"): TasterRates((18, 2), FALSE, 0.02, multiple=1.5)})
    tasters = TASTERS.model_copy(update={"psychometric": LAW})
    table = [report(0), report(3, taster="b", intensity="slight")]
    cleared = [likelihood(table, tasters, CUPS, panel) for panel in (far, near)]
    assert cleared[0][2] / cleared[0][0] > cleared[1][2] / cleared[1][0]
