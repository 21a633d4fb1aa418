"""A blind set on the tasters' own devices scores as the same session on paper."""

from __future__ import annotations

import datetime
from collections import Counter

import pytest

from tracer.casebook.tasting import Tasted, TastedNote
from tracer.panel.at_table import own_order, scored_table, set_facts
from tracer.panel.blind import Sample
from tracer.panel.scoring import confusions, counts, repeated

DAY = datetime.date(2026, 11, 28)
MUSTY, SOUR = Sample("Musty x3", ("musty",), 3.0), Sample("Earthy", ("earthy",))
LINGERS = Sample("Smoky x2", ("smoky",), 2.0, last=True)


def a_set(samples=(MUSTY, SOUR, LINGERS), blanks=2, repeats=1, seed=7):
    return set_facts("week 1", DAY, samples, blanks, repeats, False, seed)


def tasted(*words, done=True, **fields):
    return Tasted(done=done, notes=tuple(TastedNote(words=one) for one in words), **fields)


def place_of(facts, name, kind="reference"):
    return next(at for at, one in enumerate(facts.flight) if one.lot == name and one.kind == kind)


def test_the_same_seed_makes_the_same_set_and_another_seed_another():
    assert a_set() == a_set()
    assert len({a_set(seed=seed).flight for seed in range(20)}) > 10


def test_a_set_holds_every_reference_once_its_blanks_and_its_repeats():
    facts = a_set(repeats=2)
    assert Counter(one.kind for one in facts.flight) == {"reference": 3, "blank": 2, "repeat": 2}
    for one in facts.flight:
        if one.kind == "repeat":
            assert facts.flight[one.repeats].lot == one.lot
    assert facts.blind_set


def test_what_lingers_is_served_last_to_everybody():
    facts = a_set(repeats=3)
    late = {at for at, one in enumerate(facts.flight) if one.last}
    for seat in range(30):
        order = own_order(facts, seat)
        assert sorted(order) == list(range(len(facts.flight)))
        assert set(order[-len(late) :]) == late


def test_each_cup_stands_at_each_place_equally_often_over_the_rows_of_the_square():
    facts = a_set((MUSTY, SOUR), blanks=2, repeats=0)
    firsts = Counter(own_order(facts, seat)[0] for seat in range(4))
    assert set(firsts.values()) == {1}


def test_more_cups_than_marks_are_refused():
    with pytest.raises(ValueError, match="more than the"):
        a_set(blanks=12)


def test_found_missed_made_up_and_mixed_up_are_counted(base, ready):
    facts = a_set()
    said = {at: [("Ana", tasted())] for at in range(len(facts.flight))}
    said[place_of(facts, "Musty x3")] = [("Ana", tasted("musty"))]
    said[place_of(facts, "Earthy")] = [("Ana", tasted("smoky"))]
    blank = next(at for at, one in enumerate(facts.flight) if one.kind == "blank")
    said[blank] = [("Ana", tasted("musty"))]
    one = scored_table(facts, "CODE", said, base, ready.vocabulary)
    assert len(one.served) == 6
    musty = counts(one.served, "Ana", "musty")
    assert (musty.hits, musty.false_alarms) == (1, 1)
    assert confusions(one.served, "Ana")["earthy"]["smoky"] == 1
    assert repeated(one.served, "Ana")[1] == 1


def test_a_cup_that_was_not_tasted_is_no_miss(base, ready):
    facts = a_set()
    musty = place_of(facts, "Musty x3")
    said = {musty: [("Ana", tasted(done=False)), ("Bui", tasted())]}
    one = scored_table(facts, "CODE", said, base, ready.vocabulary)
    assert [(cup.taster, cup.named) for cup in one.served] == [("Bui", ())]


def test_words_that_nobody_understands_are_set_aside_and_told_until_the_taster_says_what_they_mean(
    base, ready
):
    facts = a_set()
    musty = place_of(facts, "Musty x3")
    one = scored_table(facts, "CODE", {musty: [("Ana", tasted("blorfy"))]}, base, ready.vocabulary)
    assert not one.served
    assert [issue.level for issue in one.to_mind] == ["warning"]
    settled = Tasted(done=True, notes=(TastedNote(words="blorfy", means="musty"),))
    one = scored_table(facts, "CODE", {musty: [("Ana", settled)]}, base, ready.vocabulary)
    assert one.served[0].named == ("musty",)


def test_what_a_taster_denies_is_not_named(base, ready):
    facts = a_set()
    denied = Tasted(done=True, notes=(TastedNote(words="musty", found=False),))
    one = scored_table(facts, "CODE", {0: [("Ana", denied)]}, base, ready.vocabulary)
    assert one.served[0].named == ()
