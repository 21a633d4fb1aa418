"""A line is also read as a whole, by the known lines it is nearest to; what the lists name outright stays what it is.

The lines are of people who had not seen the lists; the notes are those that a fair judge takes (common usage).
"""

from __future__ import annotations

import pytest

from tracer.knowledge.entries import INNOCENT
from tracer.words.reading import read_sentence, read_words

EVENTS = (
    ("en", "opened the jar a month ago and forgot the lid", "stale_note"),
    ("en", "emptying the lilies after two weeks", "stagnant_water"),
    ("pt", "lavaram a xícara e nao enxaguaram", "soapy_detergent"),
    ("am", "ድመቷ ጥግ ላይ የሸናችው", "ammonia_like"),
)


def named(text, ready, language="en"):
    readings = read_words(text, ready.vocabulary, (language,))
    return [one.descriptor or one.candidates for one in readings if one.descriptor or one.candidates]


@pytest.mark.parametrize(("language", "line", "note"), EVENTS)
def test_an_event_told_in_words_that_no_list_holds_is_asked(ready, language, line, note):
    assert any(note in one for one in named(line, ready, language) if isinstance(one, tuple))


def test_its_shares_are_of_all_tasters_and_its_words_are_kept(ready):
    [asked] = read_words(EVENTS[0][1], ready.vocabulary, ("en",))
    assert asked.descriptor is None
    assert asked.text == EVENTS[0][1]
    assert sum(share for _, share in asked.weights) == pytest.approx(1)
    assert dict(asked.weights)[INNOCENT] == pytest.approx(0.3)


def test_the_cups_that_were_counted_go_with_it(ready):
    asked = read_words(f"{EVENTS[0][1]}, cups 2 and 5", ready.vocabulary, ("en",))[-1]
    assert (asked.cups, asked.which) == (2, (2, 5))


def test_a_count_that_another_note_has_is_not_taken(ready):
    found = read_words(f"musty in cup 3, {EVENTS[0][1]}", ready.vocabulary, ("en",))
    assert [(one.descriptor, one.which) for one in found] == [("musty", (3,)), (None, ())]


def test_a_word_of_another_clause_that_nobody_knows_is_kept(ready):
    found = read_words(f"zzqxvly, {EVENTS[0][1]}", ready.vocabulary, ("en",))
    assert "zzqxvly" in found[0].text
    assert "stale_note" in found[-1].candidates


def test_a_word_nearer_to_a_note_that_stops_tasting_says_so(ready):
    for one in read_words("swimming baths on a Sunday, eyes stinging", ready.vocabulary, ("en",)):
        if ready.vocabulary.stops.intersection(one.candidates):
            assert "Stop tasting" in str(one.ask)


def test_what_may_be_a_stop_says_so(ready):
    [asked] = read_words("ትኋን ሊገድሉ ቤቱን የረጩት", ready.vocabulary, ("am",))
    assert asked.candidates[0] == "insecticide_like"
    assert "Stop tasting" in str(asked.ask)


def test_a_line_of_the_lists_stays_what_they_say(ready):
    assert named("musty", ready) == ["musty"]
    assert named("musty, phenolic", ready) == ["musty", "phenolic"]


def test_a_word_that_names_another_note_than_its_whole_line_is_asked(ready):
    assert named("cruda", ready, "es") == ["underdeveloped_note"]
    found = named("una cáscara de papa cruda", ready, "es")
    assert "underdeveloped_note" not in found
    assert any("potato_pea" in one for one in found)


def test_a_named_note_at_the_end_of_praise_stays_named(ready):
    assert named("ripe peach, jasmine, lovely red wine, a bit musty", ready)[-1] == "musty"


def test_a_question_is_let_go_where_the_line_and_its_clause_are_plainly_harmless(ready):
    assert named("vin rouge", ready, "fr")
    assert not named("un vin rouge léger très élégant", ready, "fr")


def test_a_question_in_a_clause_of_its_own_is_asked_however_much_praise_stands_before_it(ready):
    assert named("wine", ready)[0] == named("ripe peach, jasmine, honey, wine", ready)[-1]


def test_what_is_denied_is_not_offered_again(ready):
    found = read_words("no potato in any of the twenty cups, nice one", ready.vocabulary, ("en",))
    assert all(one.state == "absent" for one in found if one.descriptor or one.candidates)


def test_a_sentence_of_a_story_is_not_compared_as_a_whole(ready):
    assert not any(
        one.candidates for one in read_sentence("opened the jar a month ago", ready.vocabulary, "en")
    )
