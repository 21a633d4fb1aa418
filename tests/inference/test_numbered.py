"""Cups by number: two tasters on the same cup count as such; the chances of all namings sum to one."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from tracer.inference.numbered import Rates, by_number, is_numbered
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
            total += by_number([named("a", *cups, of=4)], [law], settings.tasters, settings.cups)
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
