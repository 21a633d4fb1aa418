"""A kind of thing in a state is asked with the notes that tasters mean by it; what is known for sure keeps its meaning."""

from __future__ import annotations

import pytest

from tracer.knowledge.entries import INNOCENT
from tracer.knowledge.word_list import LikenedThing, WordList
from tracer.words.reading import read_sentence, read_words
from tracer.words.vocabulary import build_vocabulary

SHED = LikenedThing(
    id="shed_thing",
    what="Sheds and huts",
    means={"alone": {"musty": 0.7, INNOCENT: 0.3}, "wet": {"mouldy": 0.6, "musty": 0.4}},
)
SMALL = {
    "negation": ("no", "not"),
    "breaks": ("but",),
    "fillers": ("a", "of", "in", "the"),
    "share_of_cups": {},
}


def words(id, listed, **kind):
    return WordList(id=id, language="en", words=tuple(listed), **kind)


@pytest.fixture(scope="module")
def small(base):
    lists = (
        words("en_shed", ["tool shed", "boathouse"], thing="shed_thing"),
        words("en_wet", ["dripping", "rained on"], state="wet"),
        words("en_boat", ["boat"], note="woody"),
        words("en_nice", ["lovely"], harmless=True),
    )
    notes = [note.model_copy(update={"words": {}, "misspelt": {}}) for note in base.descriptors.values()]
    return build_vocabulary(notes, (), (base.languages["en"].model_copy(update=SMALL),), lists, (SHED,))


def read(text, vocabulary):
    return [(one.text, dict(one.weights)) for one in read_words(text, vocabulary, ("en",)) if one.weights]


def test_a_thing_alone_is_asked_with_what_tasters_mean_by_it(small):
    assert read("a tool shed", small) == [("tool shed", {"musty": 0.7, INNOCENT: 0.3})]


@pytest.mark.parametrize(
    "text", ["dripping boathouse", "boathouse, dripping", "boathouses rained on", "the boathouse dripping"]
)
def test_its_state_says_more_on_either_side_and_in_the_plural(text, small):
    wanted = [{"mouldy": 0.6, "musty": 0.4}] if "," not in text else [{"musty": 0.7, INNOCENT: 0.3}]
    assert [weights for _, weights in read(text, small)] == wanted


def test_a_state_behind_but_or_a_denial_is_not_said_of_it(small):
    assert read("tool shed but dripping", small) == [("tool shed", {"musty": 0.7, INNOCENT: 0.3})]
    denied = read_words("no tool shed", small, ("en",))
    assert [one.state for one in denied] == ["absent"]


def test_beside_praise_or_another_note_a_thing_alone_says_nothing(small):
    assert read("lovely tool shed", small) == []
    assert not any("shed" in text for text, _ in read("boat in a tool shed", small))


def test_a_word_that_no_list_knows_stays_unknown(small):
    assert [one.outcome for one in read_words("dripping zeppelin", small, ("en",))] == ["unknown", "unknown"]


def test_what_the_trade_names_is_never_turned_into_a_question(base, ready):
    for note in base.descriptors.values():
        for word in note.words.get("en", ()):
            named = {one.descriptor for one in read_words(word, ready.vocabulary, ("en",))}
            if named == {note.id} and note.lack_of is None and note.id not in ready.vocabulary.unspecific:
                beside = read_sentence(f"{word} zzqxv in a tool shed", ready.vocabulary, "en")
                assert note.id in {one.descriptor for one in beside}, word


# Lines that nobody had listed whole, with the notes that a fair judge takes (common usage).
COMPOSED = (
    ("en", "soggy shoebox", {"papery_cardboard", "corky_haloanisole", "musty"}),
    ("en", "rotting picket fence", {"woody", "musty", "mouldy"}),
    ("es", "una mochila mojada de la escuela", {"musty"}),
    ("fr", "un vieux cartable moisi", {"mouldy", "musty"}),
    ("vi", "bìa vở bị mưa ướt", {"papery_cardboard", "musty"}),
)


@pytest.mark.parametrize(("language", "line", "notes"), COMPOSED)
def test_a_likeness_that_stands_in_no_list_is_asked_with_a_fitting_note(language, line, notes, ready):
    found = read_words(line, ready.vocabulary, (language,))
    assert notes & {name for one in found for name in (one.descriptor, *one.candidates)}, found
