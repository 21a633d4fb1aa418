"""Counts that cannot be, and languages nobody knows, are told and lose nothing."""

from __future__ import annotations

import pytest

from tracer.lots.read import parse_lot


def told(base, note, language="en"):
    sheet = f"lot: A\ncuppings: [{{cups: 5, tasters: [{{taster: a, language: {language}, notes: ['{note}']}}]}}]\n"
    lot, issues = parse_lot(sheet, "x.yaml", base)
    assert lot is not None
    return [(one.level, str(one.message)) for one in issues]


@pytest.mark.parametrize(
    ("note", "language", "message"),
    [
        ("rancio en 7 de 5 tazas", "es", "7 cups of 5 cannot be"),
        ("musty in 7 cups", "en", "7 cups of 5 cannot be"),
        ("musty in cup 8", "en", "there is no cup 8 among 5"),
    ],
)
def test_a_count_in_words_that_cannot_be_is_told(base, note, language, message):
    assert told(base, note, language) == [("warning", message)]


@pytest.mark.parametrize(
    "note", ["musty in 2 of 5 cups", "musty in cups 2 and 4", "musty", "40 of 320 bags musty"]
)
def test_a_count_that_can_be_and_one_of_bags_is_not(base, note):
    assert told(base, note) == []


def test_a_language_that_is_not_known_is_told_with_the_nearest(base):
    [(level, message)] = told(base, "musty", "Klingon")
    assert (level, message) == ("warning", "'Klingon' is no language known here")
