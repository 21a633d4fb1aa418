"""A message that names its lot gives the sheet its mark."""

from __future__ import annotations

import pytest

from tracer.knowledge.language import Language
from tracer.sentences.mark import mark_of


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("Your lot NX-204 arrived on 14 March.", "NX-204"),
        ("El lote nº LUZ-58 llegó el 12 de marzo.", "LUZ-58"),
        ("O lote 2291 chegou com cheiro de mofo.", "2291"),
        ("Das Los Nr. 7-B riecht nach Rauch.", "7-B"),
        ("Lô hàng VN-12 có mùi mốc.", "VN-12"),
        ("ロット KB-7 はカビ臭い。", "KB-7"),
        ("The lot of 320 bags smells, 40 of them wet.", None),
        ("The lot 12 days later was worse.", None),
        ("We lost a lot. It was in 3 of 5 cups.", None),
    ],
)
def test_the_mark_stands_behind_a_word_for_a_lot(base, text, mark):
    assert mark_of(text, base.languages) == mark


def test_a_mark_has_figures_four_at_least_where_it_has_no_letters(base):
    told = {
        text: mark_of(f"lot {text}.", base.languages)
        for text in ("ABC", "A1", "229", "2291", "A-", "7-/", "NX-2.")
    }
    assert told == {
        "ABC": None,
        "A1": "A1",
        "229": None,
        "2291": "2291",
        "A-": None,
        "7-/": None,
        "NX-2.": "NX-2",
    }
    assert mark_of("the lot ABC, then lot B-2", base.languages) == "B-2"


def test_the_longest_word_for_a_lot_is_taken_and_without_any_there_is_no_mark():
    english = Language(id="en", label="English", negation=(), lot_words=("lo", "lot"))
    assert mark_of("LOT12-A arrived", {"en": english}) == "12-A"
    assert mark_of("12-A arrived", {}) is None
