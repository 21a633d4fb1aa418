"""Nothing that is told lacks its Spanish and Portuguese, and their screens are Spanish and Portuguese."""

from __future__ import annotations

import json
import re
from collections import Counter

import pytest

from tests.command import run
from tests.house_rules.wording import missing, templates, unsaid_problems
from tests.wording.english import FIELD, english, words
from tracer.knowledge.shipped import scenarios_folder
from tracer.knowledge.texts import in_language, unused
from tracer.knowledge.texts import missing as missing_of_knowledge
from tracer.wording.language import rows

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
            assert Counter(FIELD.findall(row[language])) == Counter(FIELD.findall(row["en"])), row["en"]


@pytest.mark.parametrize("language", ["es", "pt"])
@pytest.mark.parametrize("screen", SCREENS, ids=" ".join)
def test_less_than_three_words_in_a_hundred_of_a_screen_are_english(screen, language):
    done = run(*screen, "--language", language)
    assert done.returncode == 0, done.stderr
    sheet = scenarios_folder() / f"{screen[2]}.yaml" if screen[1:2] == ("--example",) else None
    own = set(words(sheet.read_text(encoding="utf-8"))) if sheet else set()
    told(done.stdout, language, own)


def told(shown, language, own=()):
    left, said = english(shown, language, own)
    assert len(left) <= MOST_ENGLISH * said, Counter(left).most_common(20)


MAIL = "Buenos días. El lote huele a moho en dos tazas de cinco. Llovió cuatro noches sobre las camas."
CONTACT = """lot: CON-1
process: washed
contact: [{with: leather goods, stage: transport}]
cuppings:
  - on: 2026-03-10
    cups: 5
    tasters: [{taster: Ana, language: es, notes: [{note: cuero curtido, cups: 3}]}]
history: {processing: {tank_hours: 90 h}}
"""
IN_TURN = (
    ("trace", "--example", "container_damp", "--without", "precedents", "--keep", "--by", "Ana"),
    ("answer", "1", "test_smell_green=must", "--by", "Ana"),
    ("cases", "again", "1"),
    ("close", "1", "--fault", "container_condensation", "--how", "record", "--by", "Ana"),
    ("letter", "--example", "container_damp", "--by", "2026-03-20", "--language", "LANGUAGE"),
    ("history", "--example", "log_sea_passage"),
    ("trace", "contact.yaml", "--without", "precedents"),
    ("draft", "mail.txt", "--by", "Ana"),
    ("panel", "set", "--note", "musty", "--note", "phenolic", "--taster", "Ana", "--out", "set"),
    ("panel", "card", "potato"),
    ("season",),
)
"""Commands run one after the other over one casebook."""


@pytest.mark.parametrize("language", ["es", "pt"])
def test_what_a_buyer_and_a_trainer_do_in_turn_is_told_in_their_language(language, tmp_path):
    (tmp_path / "mail.txt").write_text(MAIL, encoding="utf-8")
    (tmp_path / "contact.yaml").write_text(CONTACT, encoding="utf-8")
    for screen in IN_TURN:
        typed = ("--language", language, *(word.replace("LANGUAGE", language) for word in screen))
        done = run(*typed, cwd=tmp_path, TRACER_CASEBOOK=str(tmp_path / "casebook.sqlite"))
        assert done.returncode == 0, done.stderr
        shown = re.split(r"Casos que se leen|Casos que se leem", done.stdout + done.stderr)[0]
        own = {*words(MAIL), *words(CONTACT), *OWN} if screen[0] != "cases" else OWN
        told(shown, language, own)


OWN = set(
    words("a highland district shipping through a warm port passage winter first second third drafted said")
)
"""Words of the sheets of the examples, and keys of a sheet."""


def test_a_kept_report_is_english_whoever_keeps_it(tmp_path):
    book = {"TRACER_CASEBOOK": str(tmp_path / "casebook.sqlite")}
    run("--language", "es", "trace", "--example", "container_damp", "--keep", "--by", "Ana", **book)
    kept = json.loads(run("cases", "show", "1", "--json", **book).stdout)
    assert kept["sources"][0]["label"] == "wetted by container sweat"


def test_a_hold_is_told_before_a_letter_in_the_reader_s_language():
    done = run("--language", "es", "letter", "--example", "container_damp", "--by", "2026-03-20")
    assert "RETENGA EL LOTE" in done.stderr
    assert "HOLD" not in done.stderr
