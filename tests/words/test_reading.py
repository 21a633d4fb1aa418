"""How far a denial, a doubt, a strength and a count reach along a taster's line. English, Spanish and Portuguese from memory, common usage."""

from __future__ import annotations

import pytest

from tracer.words.kept import vocabulary_of
from tracer.words.reading import read_words


@pytest.fixture(scope="module")
def read(base):
    vocabulary = vocabulary_of(base)

    def of(line, language="en"):
        return {
            one.descriptor: one
            for one in read_words(line, vocabulary, [language])
            if one.descriptor is not None
        }

    return of


def states(found):
    return {name: one.state for name, one in found.items()}


BUT = [
    ("en", "no {petrol} but {mould}", "petrol", "mouldy"),
    ("en", "no smell of {petrol} but {mould}", "petrol", "mouldy"),
    ("en", "not {petrol} but clearly {mould}", "petrol", "mouldy"),
    ("en", "no {petrol} however {mould}", "petrol", "mouldy"),
    ("es", "sin {petrol} pero {mould}", "gasolina", "mohoso"),
    ("pt", "sem {petrol} mas {mould}", "gasolina", "mofado"),
    ("fr", "pas d'{petrol} mais {mould}", "essence", "moisi"),
    ("fr", "pas d'{petrol} mais une odeur de {mould}", "essence", "moisi"),
    ("de", "kein {petrol} aber {mould}", "Benzin", "schimmelig"),
    ("it", "senza {petrol} ma {mould}", "benzina", "muffa"),
]


def of(base, line, language, note):
    """What the line says of a note, be it one that a word may only mean."""
    readings = read_words(line, vocabulary_of(base), [language])
    return [one.state for one in readings if note in (one.descriptor, *one.candidates)]


@pytest.mark.parametrize(("language", "line", "petrol", "mould"), BUT)
def test_but_ends_a_denial(base, language, line, petrol, mould):
    # Food safety: what stands behind "but" was found, and a denial must not swallow it.
    told = line.format(petrol=petrol, mould=mould)
    assert of(base, told, language, "petroleum_fuel") == ["absent"]
    assert of(base, told, language, "mouldy") == ["present"]


@pytest.mark.parametrize(("language", "line", "petrol", "mould"), BUT)
def test_but_ends_a_denial_the_other_way_round_and_the_stop_word_is_heard(
    base, language, line, petrol, mould
):
    told = line.format(petrol=mould, mould=petrol)
    assert of(base, told, language, "petroleum_fuel") == ["present"]
    assert of(base, told, language, "mouldy") == ["absent"]


@pytest.mark.parametrize(
    ("language", "line"),
    [
        ("en", "maybe smoky but musty"),
        ("es", "quizás ahumado pero humedad"),
        ("pt", "talvez fumaça mas mofo"),
    ],
)
def test_but_ends_a_doubt(base, language, line):
    found = [one.state for one in read_words(line, vocabulary_of(base), [language])]
    assert found == ["doubtful", "present"]


def test_but_ends_a_strength_too(read):
    found = read("slightly smoky but musty")
    assert (found["smoky"].intensity, found["musty"].intensity) == ("slight", "unstated")


@pytest.mark.parametrize(
    "line", ["no petrol or mould", "no petrol and mould", "no petrol, no mould", "neither petrol nor mould"]
)
def test_what_only_joins_does_not_end_a_denial(read, line):
    assert set(states(read(line)).values()) == {"absent"}


@pytest.mark.parametrize(
    ("line", "intensity"),
    [
        ("slightly musty", "slight"),
        ("very musty", "strong"),
        ("strong musty", "strong"),
        ("musty, earthy", "unstated"),
        ("very slightly musty", "slight"),
        ("slightly strong musty", "slight"),
        ("musty, strong", "unstated"),
        ("musty strong", "strong"),
        ("musty slight", "slight"),
    ],
)
def test_how_strong_is_said_before_the_note_or_right_behind_it(read, line, intensity):
    assert read(line)["musty"].intensity == intensity


def test_a_strength_is_used_once(read):
    found = read("slightly musty and earthy")
    assert (found["musty"].intensity, found["earthy"].intensity) == ("slight", "unstated")


@pytest.mark.parametrize(
    ("line", "cups", "of"),
    [
        ("musty in 2 of 5 cups", 2, 5),
        ("2 of 5 cups musty", 2, 5),
        ("2 cups musty", 2, None),
        ("musty in one cup", 1, None),
        ("musty", None, None),
    ],
)
def test_cups_are_those_of_the_note_before_or_behind(read, line, cups, of):
    found = read(line)["musty"]
    assert (found.cups, found.of) == (cups, of)


def test_each_note_has_the_count_beside_it(read):
    found = read("musty in 2 cups, earthy in 3 cups")
    assert (found["musty"].cups, found["earthy"].cups) == (2, 3)
    found = read("2 cups musty, 3 cups earthy")
    assert (found["musty"].cups, found["earthy"].cups) == (2, 3)


def test_numbers_of_cups_belong_to_the_note_they_stand_by(read):
    found = read("musty in cups 2 and 4, earthy in cup 5")
    assert (found["musty"].which, found["earthy"].which) == ((2, 4), (5,))
    assert (found["musty"].cups, found["earthy"].cups) == (2, 1)


def test_not_clean_is_a_note_and_clean_is_none(read, base):
    vocabulary = vocabulary_of(base)
    assert [one.outcome for one in read_words("clean", vocabulary, ["en"])] == ["clean"]
    (one,) = read_words("not clean", vocabulary, ["en"])
    assert (one.descriptor, one.state) == (vocabulary.unclean, "present")


def test_an_unknown_word_is_kept_and_denied_with_the_rest(base):
    vocabulary = vocabulary_of(base)
    (one,) = read_words("qwzrtx", vocabulary, ["en"])
    assert (one.outcome, one.state, one.text, one.intensity) == ("unknown", "present", "qwzrtx", "unstated")
    (one,) = read_words("no qwzrtx", vocabulary, ["en"])
    assert (one.outcome, one.state) == ("unknown", "absent")
    (one,) = read_words("slightly qwzrtx in 2 of 5 cups", vocabulary, ["en"])
    assert (one.intensity, one.cups, one.of) == ("slight", 2, 5)


@pytest.mark.parametrize(
    ("language", "line", "note"),
    [
        ("en", "stink of old socks", "butyric_cheesy"),
        ("es", "apesta a vinagre", "sour_vinegary"),
        ("pt", "fede a vinagre", "sour_vinegary"),
        ("de", "stinkt nach Benzin", "petroleum_fuel"),
    ],
)
def test_a_word_of_stench_beside_a_note_only_carries_it(base, ready, language, line, note):
    found = [one.descriptor for one in read_words(line, ready.vocabulary, (language,))]
    assert found == [note]


@pytest.mark.parametrize(("language", "line"), [("en", "it stinks"), ("es", "apesta"), ("pt", "fede")])
def test_by_itself_it_names_one(ready, language, line):
    assert [one.descriptor for one in read_words(line, ready.vocabulary, (language,))] == ["stinker_putrid"]
