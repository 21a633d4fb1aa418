"""A sentence is data until it is told: it reads as English, and is told in the reader's language with its values."""

from __future__ import annotations

import json
import pickle
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracer.causes.browse import strength_text
from tracer.cli.spoken import language_of
from tracer.knowledge.strength import Strength
from tracer.names import did_you_mean, printable
from tracer.wording.language import LANGUAGES, of_environment, speaking, tell
from tracer.wording.sentence import Id, Name, Own, Sentence, joined, say, to_type

KNOWN = {
    "musty": "mohoso",
    "{cups} of {of} bowls": "{cups} tazones de {of}",
    "{note} in {cups}": "en {cups}: {note}",
    "and": "y",
}


def in_spanish(said):
    with speaking("es", lambda: KNOWN):
        return tell(said)


def test_a_sentence_is_english_text_that_knows_its_parts():
    said = say("{note} in {cups}", note="musty", cups=say("{cups} of {of} bowls", cups=2, of=5))
    assert said == "musty in 2 of 5 bowls"
    assert json.dumps(said) == '"musty in 2 of 5 bowls"'
    assert said.values["cups"].values == {"cups": 2, "of": 5}


def test_it_is_told_with_its_values_in_the_order_of_the_other_language():
    said = say("{note} in {cups}", note="musty", cups=say("{cups} of {of} bowls", cups=2, of=5))
    assert in_spanish(said) == "en 2 tazones de 5: mohoso"
    assert tell(said) is said


def test_somebody_s_own_words_stay():
    assert in_spanish(say("{note} in {cups}", note=Own("musty"), cups=3)) == "en 3: musty"


def test_text_in_single_quotes_is_somebody_s_own_or_to_be_typed_and_stays():
    assert in_spanish(say("'{word}' is in {note}", word="musty", note="musty")) == "'musty' is in mohoso"
    assert in_spanish(say('"{note}" is meant', note="musty")) == '"mohoso" is meant'


def test_options_stay_as_they_are_typed_and_what_joins_them_is_told():
    assert in_spanish(to_type(["musty", "earthy"], " and ")) == "musty y earthy"


def test_a_sentence_that_was_made_safe_to_print_is_told_all_the_same():
    said = printable(
        say("{note} in {cups}", note=Own("musty\x1b"), cups=say("{cups} of {of} bowls", cups=1, of=2))
    )
    assert in_spanish(said) == "en 1 tazones de 2: musty\ufffd"


def test_a_name_that_may_be_meant_is_offered_in_the_reader_s_language_as_it_is_typed():
    with speaking("es"):
        assert tell(did_you_mean("mustyy", ["musty"], say("none"))) == "¿Quiso decir 'musty'?"


def test_capitals_and_blanks_around_a_text_stay():
    assert in_spanish("Musty") == "Mohoso"
    assert in_spanish("  musty\n") == "  mohoso\n"
    assert in_spanish("never heard of") == "never heard of"


def test_joined_parts_are_told_one_by_one():
    assert in_spanish(joined(["musty", Own("musty")], " and ")) == "mohoso y musty"


def test_sentences_put_together_stay_sentences():
    both = say("{cups} of {of} bowls", cups=1, of=2) + "; " + say("musty")
    assert isinstance(both, Sentence)
    assert both == "1 of 2 bowls; musty"
    assert in_spanish(both) == "1 tazones de 2; mohoso"
    assert in_spanish("x: " + say("musty")) == "x: mohoso"


@given(st.text(), st.text())
def test_braces_in_values_do_no_harm(one, two):
    said = say("{a} ({b})", a=Own(one), b=Own(two))
    assert said == f"{one} ({two})"
    assert in_spanish(said) == said
    assert pickle.loads(pickle.dumps(said)) == said
    assert pickle.loads(pickle.dumps(said)).values == dict(said.values)


@dataclass(frozen=True)
class Line:
    fault: Id
    words: tuple[Name, ...]
    label: str
    more: tuple[str, ...] = ()


def test_ids_and_names_of_data_stay_and_all_else_is_told():
    line = Line("musty", ("musty",), "musty", ("musty", "other"))
    assert in_spanish(line) == Line("musty", ("musty",), "mohoso", ("mohoso", "other"))
    assert in_spanish([line, {"musty": "musty"}]) == [in_spanish(line), {"musty": "mohoso"}]


def test_the_language_is_that_of_the_option_else_of_the_system():
    assert language_of(["trace", "x.yaml", "--language=pt"], {"LANG": "es"}) == ("pt", ["trace", "x.yaml"])
    assert language_of(["trace", "x.yaml"], {"LANG": "es_CO.UTF-8"}) == ("es", ["trace", "x.yaml"])
    assert language_of(["letter", "x.yaml", "--language", "fr"], {"LANG": "C"})[0] == "en"
    assert of_environment({"LANG": "fr_FR.UTF-8"}) == "en"
    assert of_environment({"TRACER_LANGUAGE": "pt", "LANG": "es"}) == "pt"
    for wrong in (["trace", "--language"], ["--language", "klingon", "trace"]):
        with pytest.raises(ValueError, match=r"klingon|^$"):
            language_of(wrong, {})


def test_what_has_no_screens_is_refused():
    with pytest.raises(ValueError, match="fr"), speaking("fr"):
        pass
    assert list(LANGUAGES) == ["en", "es", "pt"]


def test_a_strength_that_is_a_range_is_told_in_the_reader_s_language():
    strength = Strength(low=0.03, high=0.15, basis="judgement")
    assert strength_text(strength) == "0.03 to 0.15, judgement"
    with speaking("es"):
        assert str(tell(strength_text(strength))).startswith("0.03 a 0.15, ")
