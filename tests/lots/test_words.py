"""Tasters' words: languages, denial, intensity, misspelling, shared and unknown words."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from tracer.knowledge.load import load_or_fail
from tracer.names import fold
from tracer.sentences.match import is_number, read_tokens
from tracer.words.kept import vocabulary_of
from tracer.words.lookup import parts_of
from tracer.words.reading import read_words
from tracer.words.tokens import tokens

BASE = load_or_fail()
VOCABULARY = vocabulary_of(BASE)
WORKED = yaml.safe_load((Path(__file__).parent / "worked_notes.yaml").read_text(encoding="utf-8"))


def heard(text: str, *languages: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for reading in read_words(text, VOCABULARY, languages):
        if reading.outcome == "clean":
            found["*"] = reading.state
        elif reading.descriptor:
            found[reading.descriptor] = reading.state
        else:
            for name in reading.candidates:
                found.setdefault(name, "absent" if reading.state == "absent" else "ask")
    return found


@pytest.mark.parametrize("note", WORKED, ids=lambda note: note["text"][:40])
def test_a_worked_note_is_heard_as_it_was_meant(note):
    found = heard(note["text"], note["language"])
    assert {name: found.get(name) for name in note["expect"]} == note["expect"]


@pytest.mark.parametrize(
    ("text", "language", "descriptor"),
    [
        ("bau minyak tanah", "id", "petroleum_fuel"),
        ("kacang tanah", "id", "peanutty_quaker"),
        ("kapur barus", "id", "mothball"),
        ("feno", "pt", "hay_straw"),
        ("FENÓLICO", "es", "phenolic"),
        ("mustty", "en", "musty"),
        ("mui dat", "vi", "earthy"),
        ("fermentirt", "de", "fermented"),
        ("not clean", "en", "dirty_unclean"),
    ],
)
def test_a_hazardous_word_is_matched_to_its_own_note(text, language, descriptor):
    assert heard(text, language).get(descriptor) == "present"


def test_a_shared_word_becomes_a_question_and_never_a_guess():
    (reading,) = read_words("moho", VOCABULARY, ("es",))
    assert reading.descriptor is None
    assert reading.outcome == "ambiguous"
    assert {"mouldy", "musty"} <= set(reading.candidates)
    assert reading.ask


def test_an_umbrella_word_becomes_a_question():
    (reading,) = read_words("chemical", VOCABULARY, ("en",))
    assert reading.outcome == "ambiguous"
    assert {"solvent_paint", "phenolic"} <= set(reading.candidates)
    assert sum(dict(reading.weights).values()) == pytest.approx(1, abs=0.02)


def test_not_only_is_no_denial():
    assert heard("not only earthy but mouldy too", "en")["earthy"] == "present"


def test_a_denial_ends_with_its_clause():
    found = heard("no ferment, slight earthy", "en")
    assert found == {"fermented": "absent", "earthy": "present"}


def test_cups_are_read_from_the_line():
    (reading,) = read_words("musty in 1 of 5 cups", VOCABULARY, ("en",))
    assert (reading.cups, reading.of) == (1, 5)


def test_intensity_is_read_on_either_side():
    assert read_words("strong phenolic", VOCABULARY, ("en",))[0].intensity == "strong"
    assert read_words("mofo não, terra forte", VOCABULARY, ("pt",))[-1].intensity == "strong"


def test_an_unknown_word_is_kept_with_suggestions():
    (reading,) = read_words("phenollyic-ish zzz"[:11], VOCABULARY, ("en",))
    assert reading.descriptor == "phenolic" or reading.suggestions
    (other,) = read_words("blorptang", VOCABULARY, ("en",))
    assert other.outcome == "unknown"


@settings(max_examples=300, deadline=None)
@given(
    st.text(
        alphabet=st.characters(whitelist_categories=("Ll", "Lu", "Lo"), max_codepoint=0x24F),
        min_size=3,
        max_size=12,
    )
)
def test_no_word_is_ever_dropped(word):
    folded = tokens(word)
    known = {part for tongue in VOCABULARY.tongues.values() for part in folded if part in tongue.known}
    taken = parts_of(word, VOCABULARY, ("en",))
    if not folded or known == set(folded) or all(part.kinds and not part.names_a_note for part in taken):
        return  # each part is a word known here, or its misspelling, that names no note
    readings = read_words(word, VOCABULARY, ("en",))
    assert readings, f"{word!r} was dropped"


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=80))
def test_any_text_gives_readings_and_never_an_exception(text):
    read_words(text, VOCABULARY)


def test_every_language_names_a_note_that_is_found_again():
    for descriptor in BASE.descriptors.values():
        for language, words in descriptor.words.items():
            for word in words:
                readings = read_words(word, VOCABULARY, (language,))
                assert any(r.descriptor == descriptor.id for r in readings), (
                    f"{word} ({language}) is not {descriptor.id}: {readings}"
                )


def test_folding_keeps_what_tells_words_apart():
    assert fold("feno") != fold("fenol")


FRAMES = {
    "en": ("smells like {}", "reminds me of {}", "cup 3 {}", "when it cools {}"),
    "es": ("huele a {}", "me recuerda a {}", "taza 3 {}", "como a {}"),
    "pt": ("cheira a {}", "lembra {}", "xícara 3 {}", "parece {}"),
    "fr": ("ça sent {}", "ça rappelle {}", "tasse 3 {}"),
    "de": ("riecht nach {}", "erinnert an {}", "Tasse 3 {}"),
    "it": ("odore di {}", "ricorda {}", "tazza 3 {}"),
    "id": ("bau {}", "seperti {}", "cangkir 3 {}"),
    "vi": ("giống {}", "hơi {}", "ly 3 {}"),
    "ja": ("{}のような香り", "少し{}", "カップ3 {}"),
    "am": ("{} ይሸታል", "እንደ {}", "ስኒ 3 {}"),
}
DENIALS = {
    "en": ("no", "without", "it has no", "there is no"),
    "es": ("sin", "nada de", "no tiene", "no hay"),
    "pt": ("sem", "nada de", "não tem", "não há"),
    "fr": ("pas de", "sans", "il n'y a pas de"),
    "de": ("kein", "ohne"),
    "it": ("senza", "niente", "non ha"),
    "id": ("tidak", "tanpa"),
    "vi": ("không", "không có"),
}


def core_words(language: str) -> list[tuple[str, str]]:
    return [(one.id, word) for one in BASE.descriptors.values() for word in one.words.get(language, ())]


@pytest.mark.parametrize("language", FRAMES)
def test_a_note_is_found_in_whatever_sentence_it_stands(language):
    lost = [
        frame.format(word)
        for note, word in core_words(language)
        for frame in FRAMES[language]
        if not any(
            note in (one.descriptor, *one.candidates)
            for one in read_words(frame.format(word), VOCABULARY, (language,))
        )
    ]
    assert len(lost) <= 1, lost


@pytest.mark.parametrize("language", DENIALS)
def test_a_denial_before_a_note_denies_it_unless_the_two_are_a_word_of_their_own(language):
    said = [
        (note, f"{denial} {word}")
        for note, word in core_words(language)
        for denial in DENIALS[language]
        if BASE.descriptors[note].lack_of is None
        and "quality" not in {one.kind for one in VOCABULARY.of(word, (language,))}
    ]
    lost = [
        line
        for note, line in said
        if not VOCABULARY.of(" ".join(tokens(line)), (language,), line)
        and not any(
            one.state == "absent" and note in (one.descriptor, *one.candidates)
            for one in read_words(line, VOCABULARY, (language,))
        )
    ]
    assert len(lost) <= 2, lost


@pytest.mark.parametrize(
    ("language", "line", "note", "state"),
    [
        ("en", "smoke? no", "smoky", "absent"),
        ("de", "Rauch? Nein, riech ich nicht", "smoky", "absent"),
        ("en", "thought it might be baggy, it isn't", "baggy_jute", "absent"),
        ("pt", "amargor nenhum", "bitter_excess", "absent"),
        ("en", "musty or not", "musty", "present"),
        ("en", "earthy, no smoke", "earthy", "present"),
        ("en", "earthy, no smoke", "smoky", "absent"),
        ("es", "no tiene gusto a gasolina", "petroleum_fuel", "absent"),
        ("pt", "não tem gosto de gasolina", "petroleum_fuel", "absent"),
        ("it", "non ha odore di benzina", "petroleum_fuel", "absent"),
        ("es", "no tiene nada de dulzor", "lack_of_sweetness", "present"),
        ("pt", "não tem acidez nenhuma", "lack_of_acidity", "present"),
    ],
)
def test_a_denial_may_come_late(language, line, note, state):
    assert heard(line, language)[note] == state


def test_a_mere_word_of_disgust_beside_a_note_adds_no_note():
    found = heard("guácala, petróleo", "es")
    assert [note for note, state in found.items() if state == "present"] == ["petroleum_fuel"]


@pytest.mark.parametrize(
    ("line", "note"),
    [
        ("burned popcorn", "scorched_note"),
        ("rotting coffee pulp", "stinker_putrid"),
        ("dry skins", "pulpy_husk"),
        ("rubber taint", "rubbery"),
        ("earthy odour", "earthy"),
        ("moldiness", "mouldy"),
        ("low acidity", "lack_of_acidity"),
        ("no sweetness", "lack_of_sweetness"),
        ("hollow", "lack_of_body"),
    ],
)
def test_compounds_heads_nouns_and_lacks_are_one_note(line, note):
    assert heard(line, "en") == {note: "present"}


@pytest.mark.parametrize(
    ("language", "line"),
    [
        ("en", "could not swallow it for the petrol"),
        ("en", "can't stand the petrol smell"),
        ("vi", "không khác gì xăng"),
        ("vi", "không chịu nổi mùi xăng"),
        ("id", "bukan main bau solar"),
        ("ja", "ガソリン臭くて飲めない"),
    ],
)
def test_a_stop_word_is_absent_only_by_a_plain_denial(language, line):
    said = [
        one
        for one in read_words(line, VOCABULARY, [language])
        if "petroleum_fuel" in (one.descriptor, *one.candidates)
    ]
    assert said
    assert all(one.state != "absent" for one in said)
    assert all(one.descriptor or "Stop tasting" in one.ask for one in said)


@pytest.mark.parametrize(
    ("language", "line"),
    [
        ("en", "no petrol"),
        ("en", "no mould, no rubber or petrol at all"),
        ("es", "no se percibe ninguna nota de gasolina"),
        ("pt", "sem cheiro de gasolina"),
        ("ja", "ガソリンの匂いはしない"),
    ],
)
def test_a_plain_denial_of_a_stop_word_stands(language, line):
    said = [one for one in read_words(line, VOCABULARY, [language]) if one.descriptor == "petroleum_fuel"]
    assert [one.state for one in said] == ["absent"]


EVERYDAY = yaml.safe_load((Path(__file__).parent / "everyday.yaml").read_text(encoding="utf-8"))
SMALL_TALK = yaml.safe_load((Path(__file__).parent / "small_talk.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("language", EVERYDAY)
def test_a_word_of_daily_life_by_itself_is_no_sure_off_note_and_stops_nothing(language):
    least = BASE.settings.cautions.perhaps
    wrong = [
        (word, one.descriptor, one.candidates)
        for word in EVERYDAY[language].split()
        for one in read_words(word, VOCABULARY, [language])
        if one.descriptor is not None or one.share_of(VOCABULARY.stops) >= least
    ]
    assert not wrong


@pytest.mark.parametrize("language", SMALL_TALK)
def test_small_talk_names_nothing(language):
    wrong = [
        (line, one.text, one.descriptor, one.candidates)
        for line in SMALL_TALK[language]
        for one in read_words(line, VOCABULARY, [language])
        if one.descriptor is not None or one.candidates
    ]
    assert not wrong


@pytest.mark.parametrize(
    ("language", "word", "note"),
    [
        ("en", "mutsy", "musty"),
        ("en", "eearthy", "earthy"),
        ("en", "hosptial", "medicinal"),
        ("en", "fermnted", "fermented"),
        ("es", "fermetado", "fermented"),
    ],
)
def test_a_slip_of_the_pen_is_still_heard(language, word, note):
    assert note in heard(word, language)


@pytest.mark.parametrize(
    ("language", "word"),
    [("en", "bring"), ("en", "funny"), ("en", "leave"), ("pt", "barra"), ("vi", "thước")],
)
def test_a_word_near_to_an_off_note_is_none(language, word):
    assert not heard(word, language)


@pytest.mark.parametrize(
    ("language", "word", "note", "other"),
    [
        ("es", "papa", "potato_pea", "papá"),
        ("es", "té", "astringent", "te"),
        ("pt", "cará", "earthy", "cara"),
        ("de", "Säge", "woody", "sage"),
        ("it", "purè", "potato_pea", "pure"),
    ],
)
def test_marks_tell_an_off_note_from_another_word(language, word, note, other):
    assert note in heard(word, language)
    assert not heard(other, language)


@pytest.mark.parametrize("line", ["gran's attic", "the neighbour’s attic", "somebody's attic"])
def test_whose_it_is_hides_no_off_note(line):
    said = read_words(line, VOCABULARY, ["en"])
    assert all(one.outcome != "unknown" for one in said)
    assert any(one.descriptor or one.candidates for one in said)


@pytest.mark.parametrize("line", ["味は変わらず", "仕事が終わらず"])
def test_the_end_of_a_japanese_verb_is_no_off_note(line):
    assert "hay_straw" not in heard(line, "ja")


@pytest.mark.parametrize(
    ("language", "phrase", "word"),
    [("id", "kopi tua", "kopi"), ("en", "body odour", "body"), ("it", "casa della nonna", "casa")],
)
def test_one_word_of_a_phrase_does_not_stand_for_it(language, phrase, word):
    whole = {one.descriptor for one in read_words(phrase, VOCABULARY, [language])}
    assert not whole & {one.descriptor for one in read_words(word, VOCABULARY, [language])} - {None}


@pytest.mark.parametrize(
    "word",
    ["Benzinschlauch", "Benzingummi", "Gummibenzinschlauch", "Kellerdieselmuff", "Benzinschlauchgeruch"],
)
def test_a_german_compound_with_a_stop_word_asks_for_the_stop(word):
    (said,) = read_words(word, VOCABULARY, ["de"])
    assert "petroleum_fuel" in (said.descriptor, *said.candidates)


@pytest.mark.parametrize(
    "line", ["petrol hose", "diesel rag", "rubber petrol hose", "kerosene lamp and rubber"]
)
def test_a_stop_word_beside_another_stuff_is_heard(line):
    assert "petroleum_fuel" in heard(line, "en")


@pytest.mark.parametrize("word", ["parallel", "Planeten", "dieselben"])
def test_letters_of_a_stop_word_inside_a_german_word_are_none(word):
    assert not heard(word, "de")


@pytest.mark.parametrize(
    ("word", "counts"),
    [("hai", True), ("hái", False), ("chín", True), ("bảy", True), ("bay", True), ("7", True)],
)
def test_a_vietnamese_word_with_marks_is_a_number_only_as_it_is_written(word, counts):
    (token,) = read_tokens(word, "vi")
    assert is_number(token, BASE.languages["vi"]) is counts
