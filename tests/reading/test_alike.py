"""Phrases that a sentence is alike to by its words: log ratios against the language at large, offered and never sure."""

from __future__ import annotations

from math import log

import pytest

from tracer.sentences.alike import BESIDE, SMOOTHING, alike, bags_of
from tracer.sentences.match import matches, read_tokens
from tracer.sentences.ways import Ways

NO_WAYS = Ways("en", (), (), (), (), {})
SAID = (
    ("wet", "The tarp leaked on the drying beds."),
    ("wet", "Rain came through the tarp."),
    ("smoke", "Wood fire beside the drying beds."),
)


@pytest.fixture(scope="module")
def bags():
    return bags_of(NO_WAYS, SAID)


def test_a_word_speaks_for_a_phrase_as_its_share_there_to_its_share_in_the_language(bags):
    # `tarp` stands in two sentences of `wet`; each sentence counts a word once.
    words = [{token.stem for token in read_tokens(text, "en")} for _, text in SAID]
    size = {"wet": len(words[0]) + len(words[1]), "smoke": len(words[2])}
    usual = (2 + 1) / (sum(size.values()) + len(set().union(*words)))
    wanted = log((2 + SMOOTHING * usual) / (size["wet"] + SMOOTHING) / usual)
    assert bags.weights["tarp"] == {"wet": pytest.approx(wanted, abs=0.006)}


def test_a_word_of_every_phrase_tells_less_than_one_of_a_single_phrase(bags):
    assert bags.weights["tarp"]["wet"] > bags.weights.get("bed", {}).get("wet", 0.0)


def test_what_only_the_words_say_is_offered_and_never_whole(base, ready):
    reader = ready.reader
    words = read_tokens("Rain found its way under the tarp over the beds", "en")
    ways = reader.ways("en")
    found = matches(" ".join(word.text for word in words), ways, base.languages["en"])
    made = alike(words, reader._bags("en", ways), base.languages["en"], found)
    before = {one.phrase: one for one in found}
    for one in made:
        if one.phrase in before and one.places == before[one.phrase].places:
            assert (one.share, one.score) == (before[one.phrase].share, before[one.phrase].score)
            assert one.beside >= 0, "its words place it; they make it no surer"
        else:
            assert one.share < 1
    assert BESIDE < 1, "a way weighs more than the words beside it"


def test_sentences_that_were_learnt_from_are_read_as_what_they_say(base, ready):
    every = [
        (one.phrase, text)
        for part in base.sentences.values()
        for one in part.sentences
        for text in one.said.get("en", ())
    ]
    assert len(every) > 5000
    some = every[:: len(every) // 150]
    right = 0
    for phrase, text in some:
        [*reads] = ready.reader.message(text, "en")
        offered = {p.id for read in reads for statement in read.statements for p in statement.proposals}
        right += phrase in offered
    assert right >= 0.6 * len(some)


def test_an_off_note_that_is_named_is_never_crowded_out_by_what_the_words_are_merely_alike_to(ready):
    for text, note in (
        ("We cupped 5 cups and found mould in 3 cups", "mouldy"),
        ("Phenol in 2 cups of 5, repeated on the next table with the same result", "phenolic"),
    ):
        read = ready.reader.message(text, "en")[0]
        named = [one for told in read.statements for one in told.proposals if one.id == f"note_{note}"]
        assert [one.sure for one in named] == [True], text


def test_what_reaches_loosely_over_a_comma_is_asked_and_never_sure(ready):
    for text, phrase in (
        ("Sorry for the late answer, we are in the middle of harvest here", "said_picking_last"),
        ("17 days, and it rained two afternoons, but some beds got wet at the edges", "said_day_lots_some"),
    ):
        read = ready.reader.message(text, "en")[0]
        offered = [one for told in read.statements for one in told.proposals if one.id == phrase]
        assert not any(one.sure for one in offered), text
    plain = ready.reader.message("It was picked in the last pass", "en")[0]
    assert plain.statements[0].proposals[0].id == "said_picking_last"
    assert plain.statements[0].proposals[0].sure
