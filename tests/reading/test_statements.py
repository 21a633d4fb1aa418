"""Proposals of one sentence as statements: what rests on the same words are rivals, the surest first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracer.amounts import Amount
from tracer.sentences.proposal import Proposal
from tracer.sentences.statements import statements


def one(name, places, score=5.0, sure=True, kind="record", **fields):
    made = Proposal(name, kind, name, "yes", score, sure, tuple(places))
    return replace(made, **fields)


def grouped(*found):
    return [[p.id for p in statement.proposals] for statement in statements(list(found))]


def sure(*found):
    return {p.id: p.sure for statement in statements(list(found)) for p in statement.proposals}


def test_what_shares_half_of_the_words_of_the_longer_one_are_rivals():
    assert grouped(one("a", [1, 2]), one("b", [3, 4], 4)) == [["a"], ["b"]]
    assert grouped(one("a", [1, 2, 3, 4]), one("b", [3, 4], 4)) == [["a", "b"]]
    assert grouped(one("a", [1, 2, 3, 4, 5]), one("b", [4, 5], 4)) == [["a"], ["b"]]
    assert grouped(one("a", [4, 5]), one("b", [1, 2, 3, 4, 5], 4)) == [["a"], ["b"]]
    assert grouped(one("a", [4, 5]), one("b", [2, 3, 4, 5], 4, sure=False)) == [["a", "b"]]


def test_two_values_of_one_row_are_rivals_from_one_word_on():
    a, b = one("a", [1, 2, 3, 4, 5], target="r"), one("b", [5, 6, 7, 8, 9], 4, target="r")
    assert grouped(a, b) == [["a", "b"]]
    assert grouped(a, replace(b, places=(6, 7))) == [["a"], ["b"]]
    assert grouped(a, replace(b, target="s")) == [["a"], ["b"]]
    assert grouped(a, replace(b, kind="answer")) == [["a"], ["b"]]


@pytest.mark.parametrize("kind", ["sample", "contact", "lot", "laboratory"])
def test_some_kinds_stand_beside_whatever_else_the_same_words_say(kind):
    a, b = one("a", [1, 2]), one("b", [1, 2], 4, kind=kind)
    assert grouped(a, b) == [["a"], ["b"]]
    assert grouped(replace(a, kind=kind), replace(b, kind="record")) == [["a"], ["b"]]
    assert grouped(replace(a, kind=kind), b) == [["a", "b"]]


def test_a_sister_lot_stands_beside_other_kinds_only():
    a, b = one("sibling_mill_clean", [1, 2], kind="comparison"), one("b", [1, 2], 4)
    assert grouped(a, b) == [["sibling_mill_clean"], ["b"]]
    assert grouped(replace(b, score=6.0), a) == [["b"], ["sibling_mill_clean"]]
    assert grouped(a, replace(b, kind="comparison")) == [["sibling_mill_clean", "b"]]
    assert grouped(one("a", [1, 2]), one("b", [1, 2], 4, kind="answer")) == [["a", "b"]]


def test_the_surest_comes_first_then_the_weightiest_then_the_alphabet():
    weak, strong = one("weak", [1, 2], 2), one("strong", [1, 2], 9, sure=False)
    assert grouped(strong, weak) == [["weak", "strong"]]
    assert grouped(one("b", [1, 2]), one("a", [1, 2])) == [["a", "b"]]
    assert grouped(one("a", [1], 4), one("b", [2], 5)) == [["b"], ["a"]]
    assert grouped(one("a", [1], 9, sure=False), one("b", [2], 5)) == [["b"], ["a"]]


def test_three_at_most_are_offered_for_one_statement_and_each_once():
    found = [one(name, [1, 2], 9 - at) for at, name in enumerate("abcd")]
    assert grouped(*found) == [["a", "b", "c"]]
    assert grouped(found[0], one("a", [1, 2], 3, value="no"), found[1]) == [["a", "b"]]


def guess(name, at, score, **fields):
    return one(name, [at], score, sure=False, **fields)


def test_a_weighty_guess_is_a_statement_of_its_own_three_at_most():
    assert grouped(guess("a", 1, 3.0), guess("b", 2, 2.9)) == [["a", "b"]]
    assert grouped(guess("a", 1, 3.0), guess("b", 2, 3.0)) == [["a"], ["b"]]
    many = [guess(name, at, 9.0 - at) for at, name in enumerate("abcde")]
    assert grouped(*many) == [["a", "d", "e"], ["b"], ["c"]]
    assert grouped(one("s", [9], 1), *many[:4]) == [["s", "d"], ["a"], ["b"], ["c"]]


def test_what_is_left_fills_up_the_places_behind_and_a_named_note_comes_before_the_rest():
    light = [guess(name, at, 2.0 - at / 10) for at, name in enumerate("abcd")]
    assert grouped(*light) == [["a", "b", "c"]]
    note = guess("note", 8, 0.5, kind="note")
    assert grouped(*light, note) == [["note", "a", "b"]]
    assert grouped(one("s", [9]), *light, note) == [["s", "note", "a"]]
    assert grouped(one("s", [8, 9]), one("t", [8, 9], 4), *light) == [["s", "t", "a"]]
    assert grouped(one("s", [8, 9]), one("t", [18, 19], 4), *light) == [["s", "a", "b"], ["t", "c", "d"]]
    assert grouped() == []


def test_a_sure_rival_that_rests_on_all_the_words_of_the_first_and_more_goes_before_it():
    wide, narrow = one("now", [1, 2, 3], 9), one("at_loading", [1, 2, 3, 4], 5)
    assert grouped(wide, narrow, one("third", [1, 2, 3], 4)) == [["at_loading", "now", "third"]]
    assert grouped(wide, replace(narrow, places=(1, 2, 3))) == [["now", "at_loading"]]
    assert grouped(wide, replace(narrow, places=(2, 3, 4))) == [["now", "at_loading"]]
    assert grouped(wide, replace(narrow, sure=False)) == [["now", "at_loading"]]
    assert grouped(wide, replace(narrow, kind="answer")) == [["now", "at_loading"]]


def test_the_same_of_a_coffee_that_is_called_clean_is_not_the_lot():
    clean = one("c", [1], kind="comparison", target="mill", value="clean")
    same = one("s", [5], kind="comparison", target="mill", value="same")
    assert sure(clean, same) == {"c": True, "s": False}
    assert sure(replace(clean, sure=False), same)["s"]
    assert sure(clean, replace(same, target="other"))["s"]
    assert sure(clean, replace(same, kind="record"))["s"]
    assert sure(replace(clean, value="fine"), same)["s"]
    assert sure(replace(clean, kind="record"), same)["s"]


def amount(start, end):
    return Amount(1.0, 1.0, start=start, end=end)


def test_of_two_values_of_one_row_the_weightier_stays_sure():
    a = one("a", [1, 2], 9, target="r", right=0.9)
    b = one("b", [7, 8], 5, target="r", value="no", right=0.8)
    assert sure(a, b) == {"a": True, "b": False}
    found = {p.id: p.right for statement in statements([a, b]) for p in statement.proposals}
    assert found == {"a": 0.9, "b": None}
    assert sure(a, replace(b, value="yes"))["b"]
    assert sure(a, replace(b, target="s"))["b"]
    assert sure(a, replace(b, kind="answer"))["b"]
    assert sure(replace(a, sure=False), b)["b"]


def test_of_two_rows_of_one_figure_the_weightier_stays_sure():
    a = one("a", [1, 2], 9, amount=amount(3, 5))
    b = one("b", [7, 8], 5, amount=amount(3, 5))
    assert sure(a, b) == {"a": True, "b": False}
    assert sure(a, replace(b, amount=amount(3, 6)))["b"]
    assert sure(a, replace(b, amount=amount(4, 5)))["b"]
    assert sure(a, replace(b, amount=None))["b"]
    assert sure(a, replace(b, target="a"))["b"]
    assert sure(replace(a, amount=None), replace(b, amount=None))["b"]


def test_what_is_no_longer_sure_goes_behind_what_is():
    a = one("a", [1, 2], 9, target="r")
    b = one("b", [1, 2], 8, target="r", value="no")
    c = one("c", [1, 2], 2)
    assert grouped(a, b, c) == [["a", "c", "b"]]
