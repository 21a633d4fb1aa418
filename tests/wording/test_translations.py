"""Nothing that is told lacks its Spanish and Portuguese, and their screens are Spanish and Portuguese."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache

import pytest

from tests.command import run
from tests.house_rules.wording import missing, templates, unsaid_problems
from tracer.knowledge.shipped import scenarios_folder
from tracer.knowledge.texts import in_language, unused
from tracer.knowledge.texts import missing as missing_of_knowledge
from tracer.wording.language import rows

_FIELD = re.compile(r"\{[^{}]*(?:\{[^{}]*\}[^{}]*)*\}")
MOST_ENGLISH = 0.03
SCREENS = (
    ("trace", "--example", "container_damp", "--without", "precedents"),
    ("trace", "--example", "container_damp", "--everything", "--without", "precedents"),
    ("trace", "--example", "smoke_at_the_roaster", "--everything", "--without", "precedents"),
    ("why", "--example", "sporadic_potato"),
    ("ask", "--example", "container_damp"),
    ("history", "--example", "container_damp"),
    ("show", "musty"),
    ("show", "transport"),
    ("panel", "card", "musty"),
    ("trace", "--help"),
)


def test_every_text_of_the_program_is_translated():
    assert missing() == {}


def test_every_text_of_the_knowledge_is_translated(base):
    assert missing_of_knowledge(base) == {}


def test_what_is_wrong_with_an_input_is_said_and_not_put_together_in_english():
    assert unsaid_problems() == []


@pytest.mark.parametrize("language", ["es", "pt"])
def test_every_question_about_an_open_word_is_told(base, language):
    told = in_language(base, language)
    for entry in base.ambiguities.values():
        assert told.get(entry.ask, entry.ask) != entry.ask, entry.id


def test_no_translation_is_left_of_what_nobody_says_any_more(base):
    assert unused(base) == []
    said = {text for _, text in templates()}
    plain = {row["en"] for row in rows() if row.get("plain")}
    assert [row["en"] for row in rows() if row["en"] not in said | plain] == []


def test_translations_name_the_same_values():
    for row in rows():
        for language in ("es", "pt"):
            assert Counter(_FIELD.findall(row[language])) == Counter(_FIELD.findall(row["en"])), row["en"]


@cache
def words_of(language):
    from tracer.knowledge.load import load_or_fail

    base = load_or_fail()
    texts = [row[language] for row in rows()]
    texts += [getattr(text, language) for part in base.translations.values() for text in part.texts]
    return frozenset(word for text in texts for word in _words(_FIELD.sub(" ", text)))


def _words(text):
    return [word for word in re.findall(r"[^\W\d_]{3,}", text.lower())]


@pytest.mark.parametrize("language", ["es", "pt"])
@pytest.mark.parametrize("screen", SCREENS, ids=" ".join)
def test_less_than_three_words_in_a_hundred_of_a_screen_are_english(screen, language):
    done = run(*screen, "--language", language)
    assert done.returncode == 0, done.stderr
    sheet = scenarios_folder() / f"{screen[2]}.yaml" if screen[1:2] == ("--example",) else None
    own = set(_words(sheet.read_text(encoding="utf-8"))) if sheet else set()
    # What the program prints in brackets and paths are ids, as they are typed; so are records with their values.
    shown = re.sub(
        r"\[[a-z_@.]+\]|--[a-z-]+|<[^>]*>|/\S+|\b\w+_\w+\b|\(\w+\d{4}\)|rule:\w+", " ", done.stdout
    )
    said = [word for word in _words(shown) if word not in own]
    english = [word for word in said if word in words_of("en") and word not in words_of(language)]
    assert len(english) <= MOST_ENGLISH * len(said), Counter(english).most_common(20)
