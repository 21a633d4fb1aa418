"""A message that names its lot gives the sheet its mark."""

from __future__ import annotations

import pytest

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
