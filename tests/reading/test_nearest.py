"""Likeness of sentences worked anew on a few of them, and what is offered of it at each limit."""

from __future__ import annotations

import math
from collections import Counter
from types import SimpleNamespace

import numpy as np
import pytest

from tracer.knowledge.kept import kept_at
from tracer.sentences import alike as module
from tracer.sentences import nearest
from tracer.sentences.alike import alike, known_in, known_sentences
from tracer.sentences.match import Match, read_tokens
from tracer.sentences.nearest import Likeness, likeness_of, sentences_of
from tracer.words.known_texts import as_data, from_data, parts_of

SAID = (
    ("wet", "The tarp leaked on the drying beds."),
    ("smoke", "Wood fire beside the drying beds."),
    ("wet", "Rain came through the tarp onto the beds."),
    ("wet", "Rain rain rain on 14 beds."),
    ("smoke", "They lit a fire of wet wood."),
    ("wet", "Rain on the tarp."),
    ("wet", "The beds had rain."),
    ("wet", "Tarp and rain and 12 beds."),
)


def tokens(text):
    return read_tokens(text, "en")


@pytest.fixture(scope="module")
def known():
    return sentences_of("en", SAID)


def vectors(counts, of):
    """tf-idf of length 1 over the parts that two sentences have, worked for each kind of part by itself."""
    among = Counter(one for count in of for one in count)
    kept = sorted(one for one, number in among.items() if number >= 2)
    made = np.array(
        [
            [
                (1 + math.log(c[one])) * (1 + math.log((1 + len(of)) / (1 + among[one]))) if c[one] else 0
                for one in kept
            ]
            for c in counts
        ]
    )
    length = np.sqrt((made**2).sum(axis=1, keepdims=True))
    return made / np.where(length > 0, length, 1)


def cosines(text):
    every = [parts_of(tokens(said)) for _, said in SAID]
    query = parts_of(tokens(text))
    found = np.zeros(len(SAID))
    for kind in (0, 1):
        of = [parts[kind] for parts in every]
        found += vectors(of, of) @ vectors([query[kind]], of)[0]
    return found


@pytest.mark.parametrize(
    "text", ["Rain rain on the beds and tarp", "a fire of wood", "15 beds 15 tarps rain", "the tarps leaked"]
)
def test_likeness_is_the_sum_of_both_cosines_over_the_nearest_five_of_a_phrase(known, text):
    each = cosines(text)
    found = likeness_of(tokens(text), known)
    for phrase in {phrase for phrase, _ in SAID}:
        own = sorted(
            (at for at, (name, _) in enumerate(SAID) if name == phrase and each[at] > 0),
            key=lambda at: -each[at],
        )[:5]
        if not own:
            assert phrase not in found
            continue
        assert found[phrase].weight == pytest.approx(
            sum(s * each[at] for s, at in zip((1, 0.5, 0.25, 0.12, 0.06), own, strict=False)), abs=1e-5
        )
        assert set(found[phrase].sentences) == set(own)
        assert found[phrase].sentences[0] == own[0]


def test_only_the_nearest_sentences_are_looked_at(known, monkeypatch):
    monkeypatch.setattr(nearest, "NEAREST", 2)
    found = likeness_of(tokens("Rain on the tarp"), known)
    assert sum(len(one.sentences) for one in found.values()) == 2
    assert found["wet"].sentences[0] == 5


def test_what_shares_nothing_is_like_nothing(known):
    assert likeness_of(tokens("Zzz"), known) == {}
    assert likeness_of([], known) == {}
    assert likeness_of(tokens("rain"), sentences_of("en", ())) == {}


def test_a_word_is_the_rarer_the_fewer_sentences_have_it(known):
    def rarity(text):
        return known.rarity_of(tokens(text)[0])

    assert rarity("tarp") == pytest.approx(1 + math.log(9 / 5))
    assert rarity("99") == pytest.approx(1 + math.log(9 / 3))
    assert rarity("wood") == pytest.approx(1 + math.log(9 / 3))
    assert rarity("leaked") == 0
    assert rarity("zzz") == 0


def test_the_words_that_a_known_sentence_has_too_are_its_places(known):
    words = tokens("Rain zzz fire tarp")
    assert known.shared(words, (5,)) == {0, 3}
    assert known.shared(words, (1,)) == {2}
    assert known.shared(words, (1, 5)) == {0, 2, 3}
    assert known.shared(words, ()) == frozenset()
    every = tokens(" ".join(text for _, text in SAID))
    for at, (_, text) in enumerate(SAID):
        own = set(parts_of(tokens(text))[0])
        has = {place for place, word in enumerate(every) if parts_of([word])[0].keys() & own}
        assert known.shared(every, (at,)) == {place for place in has if known.rarity_of(every[place]) > 0}


def test_a_short_word_is_one_run_and_a_longer_one_each_four_signs():
    assert parts_of(tokens("I"))[1] == Counter({"~ i ": 1})
    assert parts_of(tokens("wet"))[1] == Counter({"~ wet": 1, "~wet ": 1})
    assert parts_of(tokens("woods"))[1] == Counter({"~ woo": 1, "~wood": 1, "~oods": 1, "~ods ": 1})


@pytest.mark.parametrize("change", [{"starts": None}, {"starts": "x"}, {"places": 3}])
def test_data_that_do_not_fit_are_no_index(known, change):
    data = as_data(known)
    assert from_data(data) is not None
    assert from_data({**data, **change}) is None
    assert from_data({name: value for name, value in data.items() if name != "rarity"}) is None


# What is known and kept.


def base_of(sha=""):
    phrase = SimpleNamespace(id="said_rain", ways={"en": ("rain|rained bed*|table? wet_through #_day",)})
    part = SimpleNamespace(
        sentences=[SimpleNamespace(phrase="said_fire", said={"en": ("A fire.",), "es": ("Fuego.",)})]
    )
    return SimpleNamespace(
        phrases={"said_rain": phrase},
        sentences={"drying": part},
        sha256=sha,
        languages={"en": SimpleNamespace(courtesy=("Dear sirs",))},
    )


def test_ways_are_known_by_first_words_and_by_all_and_courtesies_stand_for_nothing():
    assert list(known_sentences("en", base_of())) == [
        ("said_rain", "rain bed wet through 7 day"),
        ("said_rain", "rain rained bed table wet through 7 day"),
        ("said_fire", "A fire."),
        ("", "Dear sirs"),
    ]


def test_an_index_is_kept_for_a_knowledge_that_has_a_name(monkeypatch):
    written, stored = {}, {}
    monkeypatch.setattr(module, "read_json", lambda path: stored.get(path))
    monkeypatch.setattr(module, "write_json", lambda path, data: written.update({path: data}))
    assert known_in("en", base_of()).labels == ["said_rain", "said_fire", ""]
    assert written == {}
    fresh = known_in("en", base_of("abc"))
    assert list(written) == [kept_at("nearest.en", "abc")]
    stored[kept_at("nearest.en", "abc")] = as_data(sentences_of("en", SAID))
    assert known_in("en", base_of("abc")).labels == ["wet", "smoke"]
    stored[kept_at("nearest.en", "abc")] = {"places": []}
    assert known_in("en", base_of("abc")).labels == fresh.labels
    assert known_in("en", base_of()).labels == fresh.labels


# What is offered.

WORDS = tokens("wet bags stood on the quay without any tarp over them")


class Fake:
    """Phrases with their weight; the words they share; how rare each word is."""

    def __init__(self, weights, places=(0, 1), rarity=3.0):
        self.weights, self.places, self.rarity = weights, places, rarity

    def likeness(self):
        return {name: Likeness(weight, (at,)) for at, (name, weight) in enumerate(self.weights.items())}

    def shared(self, words, sentences):
        return frozenset(self.places)

    def rarity_of(self, word):
        return self.rarity


@pytest.fixture(autouse=True)
def _likeness_as_told(monkeypatch):
    def told(words, known):
        return known.likeness() if isinstance(known, Fake) else likeness_of(words, known)

    monkeypatch.setattr(module, "likeness_of", told)


def offered(base, near, found=(), small=()):
    return [(one.phrase, one.score) for one in alike(WORDS, near, base.languages["en"], found, small)]


def test_what_the_words_say_is_offered_by_its_weight_from_a_least_likeness_on(base):
    assert offered(base, Fake({"a": 0.6, "b": 0.9, "c": 0.59})) == [("b", 4.5), ("a", 3.0)]
    [one] = alike(WORDS, Fake({"a": 1.0}), base.languages["en"], ())
    assert (one.share, one.places, one.denied, one.beside) == (0.7, frozenset({0, 1}), False, 0.0)
    assert offered(base, Fake({"b": 1.0, "a": 1.0})) == [("a", 5.0), ("b", 5.0)]


def test_five_phrases_are_offered_at_most(base):
    assert [name for name, _ in offered(base, Fake(dict.fromkeys("abcdef", 1.0)))] == list("abcde")


def test_what_is_nearer_to_a_courtesy_is_nothing(base):
    assert [name for name, _ in offered(base, Fake({"a": 2.0, "": 1.5, "b": 1.0}))] == ["a"]


def test_a_phrase_must_share_two_words_that_tell(base):
    assert offered(base, Fake({"a": 1.0}, places=(0,), rarity=9.0)) == []
    assert offered(base, Fake({"a": 1.0}, places=(0, 1), rarity=2.99)) == []
    assert len(offered(base, Fake({"a": 1.0}, places=(0, 1), rarity=3.0))) == 1
    assert offered(base, Fake({"a": 1.0}, places=(0, 4), rarity=3.0), small={4}) == []
    assert len(offered(base, Fake({"a": 1.0}, places=(0, 4), rarity=6.0), small={4})) == 1


def test_what_is_not_offered_takes_no_place_of_the_five(base):
    class Some(Fake):
        def shared(self, words, sentences):
            return frozenset({0, 1}) if sentences[0] else frozenset({0})

    assert [name for name, _ in offered(base, Some(dict.fromkeys("abcdefg", 1.0)))] == list("bcdef")


def way(phrase, score, share):
    return Match(phrase, score, share, frozenset({3}), False, 7.0)


def test_a_way_is_placed_by_its_likeness_too_and_gives_way_to_it_only_where_it_is_not_whole(base):
    made = alike(WORDS, Fake({"a": 1.0}), base.languages["en"], [way("a", 2.0, 1.0), way("z", 2.0, 1.0)])
    assert [(one.phrase, one.score, one.beside) for one in made] == [("a", 2.0, 2.0), ("z", 2.0, 0.0)]
    assert len(offered(base, Fake({"a": 1.0}), [way("a", 2.9, 0.9)])) == 2
    assert len(offered(base, Fake({"a": 1.0}), [way("a", 3.0, 0.9)])) == 1


def test_what_stands_behind_a_denial_is_denied(base):
    [one] = alike(WORDS, Fake({"a": 1.0}, places=(8, 9)), base.languages["en"], ())
    assert one.denied
