"""Things and their states by language: in another number, with marks or without, as the last member of a compound. From memory, common usage."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tracer.knowledge.entries import INNOCENT
from tracer.knowledge.language import Language
from tracer.knowledge.word_list import LikenedThing
from tracer.words.likened import _apart, _find, _Unit, likened
from tracer.words.part import Part
from tracer.words.thing_index import index, kind_of, questions
from tracer.words.tongue import Meaning, Tongue


def language(name):
    return Language(id=name, label=name, negation=())


def tongue(things=(), states=(), name="en", small=(), known=()):
    of = language(name)
    return Tongue(
        meanings=(),
        exact={},
        stemmed={},
        spelled={},
        fragments={},
        known=frozenset(known),
        small=frozenset(small),
        longest=1,
        by_letter={},
        unspaced={},
        things=index(things, of, frozenset(small)),
        states=index(states, of, frozenset(small)),
    )


def kind(phrase, listed, name="en", small=(), known=()):
    made = tongue(((one, "k") for one in listed), name=name, small=small, known=known)
    words = list(phrase) if name == "ja" else phrase.split()
    return kind_of(words, name, made, made.things) == "k"


def test_a_listed_thing_is_found_as_it_stands_and_nothing_else_is():
    assert kind("shed", ["shed"])
    assert not kind("barn", ["shed"])
    assert kind("tool shed", ["tool shed"])
    assert not kind("shed tool", ["tool shed"])


@pytest.mark.parametrize(
    ("name", "listed", "written", "found"),
    [
        ("en", "shed", "sheds", True),
        ("en", "sheds", "shed", True),
        ("en", "box", "boxes", True),
        ("en", "brush", "brushes", True),
        ("en", "house", "houses", True),
        ("en", "shed", "shedes", False),
        ("en", "tub", "tubs", True),
        ("en", "ox", "oxs", False),
        ("es", "corral", "corrales", True),
        ("es", "cuna", "cunaes", False),
        ("fr", "bateau", "bateaux", True),
        ("it", "cassetto", "cassetti", True),
        ("it", "cassetto", "cassette", False),
        ("it", "portoa", "porto", False),
        ("id", "gudang", "gudangnya", True),
        ("vi", "nha", "nhas", False),
    ],
)
def test_another_number_is_found_where_the_language_forms_it_so(name, listed, written, found):
    assert kind(written, [listed], name) is found


def test_an_expression_is_found_in_another_number_but_not_where_words_only_join():
    assert kind("tool sheds", ["tool shed"])
    assert not kind("tool and sheds", ["tool and shed"])
    assert kind("tool and shed", ["tool and shed"])
    assert kind("shed of the tools", ["shed of tool"], small=("of", "the"))
    assert not kind("the tool sheds", ["tool shed"], small=("of", "the"))
    assert not kind("tool sheds the", ["tool shed"], small=("of", "the"))
    assert not kind("sheds of", ["shed"], small=("of",))


def test_a_word_with_marks_is_only_what_is_spelled_so():
    assert kind("tombé", ["tombé"], "fr")
    assert not kind("tombé", ["tombe"], "fr")
    assert kind("tombe", ["tombé"], "fr")
    assert kind("tombés", ["tombé"], "fr")
    assert not kind("tombés", ["tombe"], "fr")
    assert kind("bauls", ["baúl"], "es") is False
    assert kind("baules", ["baúl"], "es")
    assert kind("vieille église", ["vieille église"], "fr")
    assert kind("vieille eglise", ["vieille église"], "fr")


def test_where_marks_tell_words_apart_a_word_with_other_marks_is_none():
    assert kind("bìa vở", ["bìa vở"], "vi")
    assert kind("bia vo", ["bìa vở"], "vi")
    assert not kind("bía vô", ["bìa vở"], "vi")
    assert not kind("bìa", ["bía"], "vi")
    assert not kind("bia", ["bía"], "vi")


def test_german_changes_marks_in_the_plural_and_types_them_as_two_letters():
    assert kind("schränke", ["schrank"], "de")
    assert kind("kuehlschrank", ["kühlschrank"], "de")
    assert kind("käfig", ["kafig"], "de")


def test_a_compound_is_the_kind_of_its_last_member_where_the_first_is_a_word():
    assert kind("werkzeugschuppen", ["schuppen"], "de", known=("werkzeug",))
    assert not kind("werkzeugschuppen", ["schuppen"], "de")
    assert not kind("toolsheds", ["sheds"], "en", known=("tool",))
    assert kind("heringskiste", ["kiste"], "de", known=("hering",))
    assert kind("kistenkiste", ["kiste"], "de")
    assert kind("heukiste", ["kiste"], "de", known=("heu",))
    assert not kind("eikiste", ["kiste"], "de", known=("ei",))
    assert not kind("heuboot", ["boot"], "de", known=("heu",))
    assert kind("heuboote", ["boote"], "de", known=("heu",))


def test_where_words_run_on_a_sign_alone_is_no_thing():
    assert kind("物置", ["物置"], "ja")
    assert not kind("物", ["物"], "ja")


def test_the_first_list_that_has_a_phrase_keeps_it():
    made = index(
        [("shed", "a"), ("shed", "b"), ("tool shed", "a"), ("tools sheds", "b")], language("en"), frozenset()
    )
    assert made["shed"] == "a"
    assert made["~tool shed"] == "a"


def test_what_is_asked_about_a_thing_is_asked_in_each_state_with_its_readings():
    thing = LikenedThing(
        id="shed", what="Sheds", means={"wet": {"mouldy": 0.6, INNOCENT: 0.4}, "alone": {"musty": 1.0}}
    )
    made = questions([thing])
    assert set(made) == {"shed_wet", "shed_alone"}
    assert made["shed_wet"].readings == {"mouldy": 0.6, INNOCENT: 0.4}
    assert (made["shed_wet"].innocent, made["shed_alone"].innocent) == ("Sheds", None)
    assert made["shed_wet"].umbrella is False
    assert made["shed_wet"].id == "shed_wet"


# The parts of a clause, with things and states in place of words.

MEANS = {
    "shed": {"alone": {"musty": 1.0}, "wet": {"mouldy": 0.6}, "smoky": {"smoke": 0.6, "musty": 0.4}},
    "chest": {"wet": {"musty": 1.0}},
}
THINGS = (("shed", "shed"), ("tool shed", "shed"), ("chest", "chest"), ("cereal box", "shed"))
STATES = (("wet", "wet"), ("soaking wet", "wet"), ("smoked", "smoky"))


@pytest.fixture(scope="module")
def vocabulary():
    return SimpleNamespace(
        tongues={"en": tongue(THINGS, STATES)},
        likened=MEANS,
        ambiguities={"q": None},
        stops=frozenset({"diesel"}),
    )


def part(text, kind=None, note="x", **fields):
    return Part(text, (Meaning("en", kind, note),) if kind else (), **fields)


def made(vocabulary, *parts):
    given = [one if isinstance(one, Part) else part(one) for one in parts]
    return [
        (one.text, [meaning.id for meaning in one.meanings]) for one in likened(given, vocabulary, ("en",))
    ]


def asked(vocabulary, *parts):
    return [ids[0] for _, ids in made(vocabulary, *parts) if ids and ids[0].startswith(("shed_", "chest_"))]


def test_a_thing_takes_its_state_from_either_side_and_both_words_become_one_part(vocabulary):
    assert made(vocabulary, "a", "wet", "shed") == [("a", []), ("wet shed", ["shed_wet"])]
    assert made(vocabulary, "tool", "shed", "soaking", "wet") == [("tool shed soaking wet", ["shed_wet"])]
    [one] = likened([part("wet"), part("shed")], vocabulary, ("en",))
    assert (one.meanings[0].language, one.meanings[0].kind) == ("en", "ambiguity")


def test_a_thing_without_a_state_is_asked_alone_where_it_has_a_meaning_so(vocabulary):
    assert asked(vocabulary, "old", "shed") == ["shed_alone"]
    assert asked(vocabulary, "old", "chest") == []
    assert asked(vocabulary, "smoked", "chest") == []


def test_the_likeness_stands_where_its_first_word_stood(vocabulary):
    assert made(vocabulary, "a", "shed", "b", "wet", "c") == [
        ("a", []),
        ("shed wet", ["shed_wet"]),
        ("b", []),
        ("c", []),
    ]


def test_a_state_stands_four_words_away_at_most(vocabulary):
    assert asked(vocabulary, "wet", "a", "b", "c", "d", "shed") == ["shed_wet"]
    assert asked(vocabulary, "wet", "a", "b", "c", "d", "e", "shed") == ["shed_alone"]
    assert asked(vocabulary, "shed", "a", "b", "c", "d", "wet") == ["shed_wet"]
    assert asked(vocabulary, "shed", "a", "b", "c", "d", "e", "wet") == ["shed_alone"]


def test_of_two_states_the_nearer_is_said_of_it_and_of_two_as_near_the_first(vocabulary):
    assert asked(vocabulary, "wet", "a", "smoked", "shed") == ["shed_smoky"]
    assert asked(vocabulary, "smoked", "shed", "wet") == ["shed_smoky"]
    assert asked(vocabulary, "wet", "shed", "smoked") == ["shed_wet"]
    assert made(vocabulary, "wet", "a", "smoked", "shed") == [("a", []), ("smoked shed", ["shed_smoky"])]


@pytest.mark.parametrize("between", [part("but", "break"), part("no", "negation"), part("2", count=object())])
def test_no_but_denial_or_count_stands_between_a_thing_and_its_state(vocabulary, between):
    assert asked(vocabulary, "wet", between, "shed") == ["shed_alone"]


def test_a_note_or_praise_beside_it_leaves_a_thing_alone_unasked(vocabulary):
    for kind in ("note", "harmless", "clean"):
        assert asked(vocabulary, part("z", kind), "shed") == []
        assert asked(vocabulary, part("z", kind), "wet", "shed") == ["shed_wet"]
    assert asked(vocabulary, part("z", "filler"), "shed") == ["shed_alone"]


def test_what_names_a_note_for_sure_keeps_its_meaning(vocabulary):
    shed = part("shed", "note", "woody")
    assert asked(vocabulary, shed) == []
    assert asked(vocabulary, shed, "wet") == []
    assert asked(vocabulary, part("shed", "note", "woody", guessed=True), "wet") == ["shed_wet"]
    assert asked(vocabulary, part("shed", "ambiguity", "q"), "wet") == ["shed_wet"]
    assert asked(vocabulary, part("shed", "ambiguity", "q"), part("x")) == []


def test_of_a_longer_expression_with_an_unknown_word_only_what_stops_tasting_is_sure(vocabulary):
    assert asked(vocabulary, part("tool", "note", "metal"), "shed") == ["shed_alone"]
    assert asked(vocabulary, part("tool", "note", "diesel"), "shed") == []
    assert asked(vocabulary, part("tool", "note", "metal"), part("shed", "note", "woody")) == []


def test_a_state_that_names_the_note_itself_stays_what_it_is(vocabulary):
    assert asked(vocabulary, part("smoked", "note", "smoke"), "shed") == []
    assert asked(vocabulary, part("smoked", "note", "musty"), "shed") == ["shed_smoky"]
    assert made(vocabulary, part("smoked", "note", "musty"), "shed") == [
        ("smoked", ["musty"]),
        ("shed", ["shed_smoky"]),
    ]


def test_small_words_and_halves_of_an_expression_are_no_things(vocabulary):
    assert asked(vocabulary, part("shed", "filler")) == []
    assert asked(vocabulary, part("shed", "harmless"), "wet") == ["shed_wet"]
    assert asked(vocabulary, part("shed", "quality"), "wet") == ["shed_wet"]
    assert asked(vocabulary, "shed", part("wet paper", "note", "papery")) == []
    assert asked(vocabulary, "shed", part("wet paper")) == ["shed_wet"]


def test_a_but_inside_an_expression_ends_it(vocabulary):
    assert asked(vocabulary, part("tool", "break"), "shed") == []


def test_things_of_any_of_several_languages_are_found(vocabulary):
    both = SimpleNamespace(**{**vars(vocabulary), "tongues": {**vocabulary.tongues, "fr": tongue(name="fr")}})
    [one] = likened([part("shed")], both, ("en", "fr"))
    assert one.meanings[0].id == "shed_alone"
    assert likened([part("shed")], both, ("fr",)) == [part("shed")]


def test_where_every_part_names_a_note_nothing_is_likened(vocabulary):
    both = [part("tool", "note", "metal"), part("shed", "note", "woody")]
    assert likened(both, vocabulary, ("en",)) == both
    loose = part("shed", likened=(("woody", 1.0),))
    assert asked(vocabulary, loose) == ["shed_alone"]
    assert made(vocabulary, "plain", "words") == [("plain", []), ("words", [])]
    assert likened([part("shed")], vocabulary, ("fr",)) == [part("shed")]


def test_two_things_share_no_state(vocabulary):
    assert made(vocabulary, "shed", "wet", "chest") == [("shed wet", ["shed_wet"]), ("chest", [])]


def test_the_longest_thing_is_found_from_left_to_right_and_none_over_another():
    units = [_Unit(word, at) for at, word in enumerate(["soaking", "wet", "tool", "shed", "wet"])]
    of = [("en", tongue(THINGS, STATES))]
    things = list(_find(units, of, "things", ()))
    assert [(one.first, one.after, one.parts) for one in things] == [(2, 4, range(2, 4))]
    assert [(one.first, one.after) for one in _find(units, of, "states", things)] == [(0, 2), (4, 5)]
    assert [
        (one.first, one.after)
        for one in _find(units, of, "states", [things[0].__class__("x", 1, 2, range(1, 2))])
    ] == [(4, 5)]


@pytest.mark.parametrize(
    ("before", "found", "behind", "apart"),
    [
        ("ス", "タイル", "", False),
        ("", "タイル", "ズ", False),
        ("", "タイル", "の", True),
        ("", "木ル", "ズ", False),
        ("", "木の", "う", True),
        ("ま", "かび", "", False),
        ("の", "かび", "", True),
        ("古", "かび", "", True),
        ("", "かび", "だ", True),
        ("い", "木箱", "", True),
        ("ー", "タイル", "", False),
        ("a", "タイル", "a", True),
        ("ス", "木ル", "", True),
        ("", "ル木", "ス", True),
    ],
)
def test_a_thing_is_not_found_within_a_longer_word_of_one_script(before, found, behind, apart):
    signs = [*before, *found, *behind]
    units = [_Unit(sign, at, sign) for at, sign in enumerate(signs)]
    assert _apart(units, len(before), len(before) + len(found)) is apart
