"""When a proposal is sure, what a denial reaches, and what is no comparison and no count of cups."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tracer.sentences.chance import chance_right
from tracer.sentences.match import Match, read_tokens

WORDS = read_tokens("the bags stood wet on the quay, and a truck came for the rest of them", "en")


def match(places, score=9.0, beside=2.0):
    return Match("any", score, 1.0, frozenset(places), False, beside)


@pytest.fixture(scope="module")
def reader(ready):
    return ready.reader


def said(reader, text, language):
    return [one.first for read in reader.message(text, language) for one in read.statements]


def surely(reader, text, language):
    return {(one.kind, one.target, str(one.value)) for one in said(reader, text, language) if one.sure}


def test_a_way_is_the_surer_the_more_it_weighs_the_tighter_it_stands_and_the_more_of_its_words_tell(base):
    law = base.settings.reading
    usual = chance_right(match([1, 2, 3]), WORDS, (), law)
    assert chance_right(match([1, 2, 3], score=14.0), WORDS, (), law) > usual
    assert chance_right(match([1, 2, 3], beside=4.0), WORDS, (), law) > usual
    assert chance_right(match([1, 2, 6]), WORDS, (), law) < usual
    assert chance_right(match([1, 2, 3]), WORDS, (1,), law) < usual


def test_words_of_two_clauses_are_less_sure_than_words_as_far_apart_in_one(base):
    law = base.settings.reading
    over = match([5, 6, 8])
    same = [replace(word, clause=0) for word in WORDS]
    assert chance_right(over, WORDS, (), law) < chance_right(over, same, (), law)


def test_the_chance_is_that_of_the_formula_worked_by_hand(base):
    law = base.settings.reading.model_copy(
        update={"constant": -4.0, "weight": 1.5, "alike": 1.0, "loose": -0.5, "clauses": -0.5, "telling": 0.5}
    )
    # z = -4 + 1.5 ln 10 + ln 2 - 0.5 ln 2 + 0.5 * 3 = 1.3005
    found = chance_right(match([1, 2, 4], score=10.0, beside=2.0), WORDS, (), law)
    assert found == pytest.approx(1 / (1 + 2.718281828**-1.30045), abs=1e-4)


def test_five_telling_words_count_and_no_more_and_likeness_below_a_fifth_is_told_no_further(base):
    law = base.settings.reading.model_copy(
        update={"constant": 0.0, "weight": 0.0, "alike": 0.0, "loose": 0.0, "clauses": 0.0, "telling": 1.0}
    )

    def odds(found, law, small=()):
        chance = chance_right(found, WORDS, small, law)
        return chance / (1 - chance)

    # Odds are e to the number of telling words.
    for count, told in ((4, 4), (5, 5), (6, 5)):
        assert odds(match(range(count)), law) == pytest.approx(math.exp(told))
    assert odds(match(range(6)), law, (0, 1)) == pytest.approx(math.exp(4))
    law = law.model_copy(update={"telling": 0.0, "alike": 1.0})
    for beside, told in ((3.0, 3.0), (0.2, 0.2), (0.1, 0.2), (0.0, 0.2)):
        assert odds(match([1], beside=beside), law) == pytest.approx(told)
    law = law.model_copy(update={"alike": 0.0, "weight": 1.0})
    for score, told in ((3.0, 3.0), (0.5, 0.5), (0.2, 0.5)):
        assert odds(match([1], score=score), law) == pytest.approx(told)


def test_a_denial_of_two_words_is_none_of_the_way_where_only_its_small_word_is(reader):
    found = surely(reader, "No se fumigó el café.", "es")
    assert ("record", "sprayed", "not_sprayed") in found
    assert ("record", "fumigated_before_loading", "yes") not in found


def test_a_denial_that_has_had_its_say_does_not_reach_over_and(reader):
    text = "The logger never saw more than 71 % and the desiccants hung in the container."
    assert ("record", "desiccants", "none") not in surely(reader, text, "en")
    assert ("record", "desiccants", "none") in surely(
        reader, "There were no desiccants in the container.", "en"
    )


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("The pre-shipment sample stood in the same flight.", "en"),
        ("The arrival sample went to the same laboratory.", "en"),
        ("La muestra de embarque fue al mismo laboratorio.", "es"),
    ],
)
def test_the_same_table_or_laboratory_is_no_sample_that_is_the_same(text, language, reader):
    assert not {one for one in surely(reader, text, language) if one[0] == "comparison" and one[2] == "same"}


def test_a_sample_that_is_the_same_is_still_one(reader):
    text = "The arrival sample is musty. The pre-shipment sample: the same."
    assert ("comparison", "earlier_sample", "same") in surely(reader, text, "en")


def test_bags_that_are_counted_are_no_cups(reader):
    kinds = {(one.kind, one.target) for one in said(reader, "We found 40 of 320 bags wet.", "en")}
    assert ("pattern", "cups") not in kinds
    kinds = {(one.kind, one.target) for one in said(reader, "It was in 4 of 12 cups.", "en")}
    assert ("pattern", "cups") in kinds


def test_a_content_may_stand_before_its_compound(reader):
    [found] = [
        one
        for one in said(reader, "El laboratorio encontró 6 ng/g de TCA.", "es")
        if one.kind == "laboratory"
    ]
    assert found.amount is not None
    assert found.amount.best == 6


def test_what_nearly_every_lot_meets_and_what_stands_far_from_the_words_for_it_is_only_asked(reader):
    near = surely(reader, "The container had carried salted hides.", "en")
    assert any(kind == "contact" for kind, _, _ in near) or ("record", "last_cargo", "odorous") in near
    usual = said(reader, "The dry container was lined with kraft paper.", "en")
    assert not any(one.kind == "contact" and one.sure for one in usual)


def test_cups_that_smell_of_a_thing_say_nothing_of_the_thing_elsewhere(reader):
    found = surely(reader, "Six of ten cups smell of wet cardboard and old sack.", "en")
    assert ("note", "papery_cardboard", "present") in found
    assert ("note", "baggy_jute", "present") in found
    assert not {one for one in found if one[0] == "record"}
    lined = surely(reader, "The container was lined with cardboard.", "en")
    assert ("record", "container_lined", "lined") in lined
