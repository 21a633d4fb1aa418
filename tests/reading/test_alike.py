"""Phrases that a sentence is alike to by its words and spelling: tf-idf cosines to known sentences, offered and never sure."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from tracer.sentences.alike import alike
from tracer.sentences.match import matches, read_tokens
from tracer.sentences.nearest import likeness_of, sentences_of
from tracer.words.known_texts import as_data, from_data, parts_of

SAID = (
    ("wet", "The tarp leaked on the drying beds."),
    ("wet", "Rain came through the tarp onto the beds."),
    ("smoke", "Wood fire beside the drying beds."),
    ("smoke", "They lit a fire of wet wood."),
)


@pytest.fixture(scope="module")
def known():
    return sentences_of("en", SAID)


def test_the_weights_are_those_of_scikit_learn(known):
    text = pytest.importorskip("sklearn.feature_extraction.text")
    every = [parts_of(read_tokens(said, "en")) for _, said in SAID]
    for which in (0, 1):
        counts = [parts[which] for parts in every]
        vectors = text.TfidfVectorizer(
            analyzer=lambda one: list(one.elements()), sublinear_tf=True, min_df=2, lowercase=False
        )
        wanted = vectors.fit_transform(counts).toarray()
        for word, column in vectors.vocabulary_.items():
            at = known.places[word]
            here = slice(known.starts[at], known.starts[at + 1])
            got = np.zeros(len(SAID))
            got[known.texts[here]] = known.weights[here]
            assert got == pytest.approx(wanted[:, column], abs=1e-6), word


def test_the_same_sentence_is_as_like_as_can_be_and_speaks_for_its_phrase(known):
    told = likeness_of(read_tokens(SAID[0][1], "en"), known)
    assert max(told, key=lambda one: told[one].weight) == "wet"
    assert told["wet"].sentences[0] == 0
    assert 2.0 <= told["wet"].weight <= 2.0 * (1 + 0.5)


def test_a_misspelt_word_is_found_by_its_letters(known):
    told = likeness_of(read_tokens("the trapaulin, the tarpp", "en"), known)
    assert told["wet"].weight > told["smoke"].weight if "smoke" in told else "wet" in told


def test_the_index_is_the_same_when_it_is_kept_and_read_back(known):
    again = from_data(as_data(known))
    words = read_tokens("wet wood on the beds", "en")
    assert again is not None
    assert likeness_of(words, again) == likeness_of(words, known)
    assert from_data({"places": []}) is None


def test_a_word_counts_by_its_stem_and_a_number_as_any_number():
    told, runs = parts_of(read_tokens("beds 14 beds", "en"))
    assert told == Counter({"bed": 2, "#": 1, "bed #": 1, "# bed": 1})
    assert runs["~ bed"] == 2


def test_what_only_the_words_say_is_offered_and_never_whole(base, ready):
    reader = ready.reader
    words = read_tokens("Rain found its way under the tarp over the beds", "en")
    found = matches(" ".join(word.text for word in words), reader.ways("en"), base.languages["en"])
    made = alike(words, reader.nearest("en"), base.languages["en"], found)
    before = {one.phrase: one for one in found}
    assert len(made) > len(found)
    for one in made:
        if one.phrase in before and one.places == before[one.phrase].places:
            assert (one.share, one.score) == (before[one.phrase].share, before[one.phrase].score)
            assert one.beside >= 0
        else:
            assert one.share < 1


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
