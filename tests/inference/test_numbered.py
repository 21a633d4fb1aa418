"""Cups by number: two tasters on the same cup count as such; the chances of all namings sum to one."""

from __future__ import annotations

from itertools import combinations, pairwise, product
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.special import beta

from tracer.inference.numbered import Rates, _of, by_number, is_numbered
from tracer.inference.reports import likelihood
from tracer.issues import Place
from tracer.lots.observed import Observation


def named(taster, *cups, of=5):
    return Observation("musty", taster, len(cups), of, "unstated", False, "w", 0, Place("x"), tuple(cups))


def test_the_chances_of_all_namings_of_one_taster_sum_to_one(base):
    settings = base.settings
    law = Rates((14.0, 6.0), (1.0, 199.0), 0.08)
    total = np.zeros(3)
    for count in range(5):
        for cups in combinations(range(1, 5), count):
            total += np.exp(by_number([named("a", *cups, of=4)], [law], settings.tasters, settings.cups))
    assert total == pytest.approx([1.0, 1.0, 1.0], rel=1e-9)


def test_two_tasters_on_the_same_cup_speak_for_scattered_beans_and_on_different_cups_less(base):
    settings = base.settings
    same = likelihood([named("a", 2), named("b", 2)], settings.tasters, settings.cups)
    other = likelihood([named("a", 2), named("b", 4)], settings.tasters, settings.cups)
    assert same[1] / same[0] > 5 * other[1] / other[0]


def test_a_single_bad_cup_among_more_cups_still_speaks_for_a_single_bean(base):
    settings = base.settings
    ratios = []
    for cups in (3, 6, 12):
        found = likelihood([named("a", 2, of=cups), named("b", 2, of=cups)], settings.tasters, settings.cups)
        ratios.append(found[1] / max(found[0], found[2]))
    assert ratios == sorted(ratios)


def test_counts_without_numbers_are_not_taken_for_numbers():
    assert is_numbered([named("a", 1)])
    assert not is_numbered(
        [named("a", 1), Observation("musty", "b", 2, 5, "unstated", False, "w", 0, Place("x"))]
    )


def each_cup_by_itself(group, laws, settings):
    """The chance of the reports, summed over every pattern of bad cups, with no cups taken as alike."""
    count = group[0].cups
    mixtures = (settings.cups.scattered, settings.cups.throughout)
    found = np.zeros(3)
    for pattern in product((False, True), repeat=count):
        bad = {cup for cup, one in enumerate(pattern, 1) if one}
        chance = 1.0
        for report, law in zip(group, laws, strict=True):
            own = set(report.which)
            hits = these(len(own & bad), len(bad), *law.hit)
            alarms = these(len(own - bad), count - len(bad), *law.false_alarm)
            blind = these(len(own), count, *law.false_alarm)
            chance *= (1 - law.cannot_smell) * hits * alarms + law.cannot_smell * blind
        found[0] += chance * (not bad)
        for state, mixture in enumerate(mixtures, 1):
            total = sum(one.share for one in mixture)
            found[state] += chance * sum(
                one.share / total * these(len(bad), count, one.a, one.b) for one in mixture
            )
    return found


def these(named, of, a, b):
    """B(named + a, of - named + b) / B(a, b): these very cups of so many."""
    return beta(named + a, of - named + b) / beta(a, b)


@pytest.mark.parametrize(
    "cups", [((2,), (2,), ()), ((1, 2, 5), (2, 3), (2, 7)), ((1, 2, 3, 4, 5, 6, 7, 8), (8,), ())]
)
def test_cups_taken_as_alike_give_what_every_cup_by_itself_gives(base, cups):
    settings = base.settings
    group = [named(taster, *own, of=8) for taster, own in zip("abc", cups, strict=True)]
    laws = [
        Rates((14.0, 6.0), (1.0, 199.0), 0.08),
        Rates((30.0, 2.0), (1.0, 60.0), 0.0),
        Rates((5.0, 5.0), (2.0, 9.0), 0.3),
    ]
    told = np.exp(by_number(group, laws, settings.tasters, settings.cups))
    assert told == pytest.approx(each_cup_by_itself(group, laws, settings), rel=1e-9)


def test_the_thirteenth_cup_takes_nothing_from_the_numbers(base):
    # One bad bean in one cup that both name: a clean cup more moves it a little, and never at a jump.
    settings = base.settings
    odds = []
    for cups in (11, 12, 13, 14, 20, 40):
        group = [named("a", 1, of=cups), named("b", 1, of=cups)]
        assert is_numbered(group)
        found = likelihood(group, settings.tasters, settings.cups)
        odds.append(found[1] / found[0])
    assert odds == sorted(odds, reverse=True)
    steps = [after / before for before, after in pairwise(odds[:4])]
    assert max(steps) / min(steps) < 1.02


def test_any_naming_of_eighteen_cups_and_hundreds_of_cups_are_read_by_number(base):
    settings = base.settings
    tasters = [
        named(str(digit), *(cup for cup in range(1, 19) if cup >> digit & 1), of=18) for digit in range(5)
    ]
    assert is_numbered(tasters)
    many = [named(taster, *range(1, 201), of=400) for taster in "abc"]
    found = likelihood(many, settings.tasters, settings.cups)
    assert np.isfinite(found).all()
    assert found[0] < 1e-6


def test_cups_named_in_more_ways_than_can_be_listed_are_counted():
    tasters = [
        named(str(digit), *(cup for cup in range(1, 31) if cup >> digit & 1), of=30) for digit in range(5)
    ]
    assert not is_numbered(tasters)


def test_a_mixture_counts_by_its_shares_of_all_of_them():
    # Beta(1, 1): each count of bad cups is as likely, so that one very cup of two has 1/6; Beta(2, 1): 2/12 of (1, 2).
    parts = (SimpleNamespace(share=1.0, a=1.0, b=1.0), SimpleNamespace(share=3.0, a=2.0, b=1.0))
    [found] = _of(parts, np.array([1]), 2)
    second = beta(2 + 1, 1 + 1) / beta(2, 1)
    assert found == pytest.approx(0.25 / 6 + 0.75 * second)
