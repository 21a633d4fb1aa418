"""A letter asks a party what only it can answer, states what the sheet says, and is not written where there is nothing to ask."""

from __future__ import annotations

import datetime
import re

import pytest

from tests.command import run
from tracer.knowledge.load import load_or_fail
from tracer.lots.attached import example_path
from tracer.lots.read import parse_lot, read_lot
from tracer.report.letter_questions import PARTIES, as_known, questions_for
from tracer.report.letter_request import LetterRequest, letter_for
from tracer.tracing import trace

BASE = load_or_fail()
LANGUAGES = ("en", "es", "pt", "fr")
SHEET = (
    "lot: A-1\ncontract: C-7\ncuppings: [{{on: 2026-03-09, sample: arrival, cups: 5, {more}tasters: ["
    "{{taster: a, notes: [{{note: musty, cups: 4}}]}}, {{taster: b, notes: [{{note: musty, cups: 3}}]}}]}}]\n{rest}"
)


def lot_of(more: str = "", rest: str = ""):
    lot, issues = parse_lot(SHEET.format(more=more, rest=rest), "lot.yaml", BASE)
    assert lot is not None, issues
    return lot, trace(lot, BASE)


@pytest.mark.parametrize("party", PARTIES)
def test_only_what_this_party_can_answer_is_asked_of_it(party):
    lot, report = lot_of()
    for stage in BASE.stages:
        for one in questions_for(report, lot, BASE, party, stage):
            assert one.ask_of == as_known(party)
    assert len(questions_for(report, lot, BASE, party, "transport")) <= 4


def test_carrier_and_exporter_are_asked_different_things():
    lot, _ = read_lot(example_path("container_damp"), BASE)
    report = trace(lot, BASE)
    carrier, exporter = (
        questions_for(report, lot, BASE, party, "transport") for party in ("carrier", "exporter")
    )
    assert carrier
    assert exporter
    assert not {one.id for one in carrier} & {one.id for one in exporter}


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_called_blind_only_where_the_sheet_says_so(language):
    words = {"en": "blind", "es": "a ciegas", "pt": "às cegas", "fr": "à l'aveugle"}[language]
    for more, said in (("", False), ("blind: no, ", False), ("blind: yes, ", True)):
        lot, report = lot_of(more)
        asked = LetterRequest("query", language, "2026-03-20", to="exporter", stage="drying")
        written = letter_for(report, lot, BASE, asked).written
        assert written
        assert (words in written.text) == said


@pytest.mark.parametrize("language", LANGUAGES)
def test_cups_and_days_that_the_sheet_does_not_give_are_not_in_the_letter(language):
    bare = "lot: B\ncuppings: [{tasters: [{taster: a, notes: [musty]}]}]\n"
    lot, _ = parse_lot(bare, "lot.yaml", BASE)
    written = letter_for(
        trace(lot, BASE),
        lot,
        BASE,
        LetterRequest("query", language, "2026-03-20", to="exporter", stage="drying"),
    ).written
    assert written
    figures = re.findall(r"\d+", written.text.replace("2026-03-20", "").split("1.")[0])
    assert figures == []
    assert "{" not in written.text
    assert "None" not in written.text


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", ["query", "reminder", "information"])
def test_every_kind_is_written_in_every_language_with_its_day_and_what_is_enclosed(kind, language):
    lot, report = lot_of()
    asked = LetterRequest(
        kind,
        language,
        "2026-03-20",
        "drying",
        "Q. Lead",
        "exporter",
        "2026-03-10",
        ("cup sheets", "photographs"),
    )
    found = letter_for(report, lot, BASE, asked)
    assert found.written
    assert "cup sheets; photographs" in found.written.text
    assert "Q. Lead" in found.written.text
    assert re.search(r"^1\. ", found.written.text, re.MULTILINE)
    assert kind == "information" or "2026-03-20" in found.written.text
    assert (kind == "reminder") == ("2026-03-10" in found.written.text)
    assert not found.written.untranslated


def test_thanks_name_what_was_answered_and_nothing_else():
    lot, report = lot_of(
        rest="answers: {ask_bed_log: sound, ask_stow: dry}\n"
        if "dry" in BASE.enquiries["ask_stow"].answers
        else "answers: {ask_bed_log: sound}\n"
    )
    found = letter_for(report, lot, BASE, LetterRequest("thanks", "en", "", to="exporter"))
    assert found.written
    assert "bed log" in found.written.text
    assert "same container" not in found.written.text
    nobody = letter_for(report, lot, BASE, LetterRequest("thanks", "en", "", to="warehouse"))
    assert nobody.written is None
    assert "warehouse has answered nothing" in nobody.without


def test_nothing_to_ask_is_said_and_no_letter_is_printed():
    done = run("letter", "--example", "quarrelling_tasters", "--by", "2026-03-20", "--to", "decaffeinator")
    assert done.returncode == 0
    assert (
        done.stdout.strip()
        == "No letter: nothing that the decaffeinator can answer would tell more about this lot."
    )


def test_the_decaffeinator_is_asked_about_a_lot_that_may_be_harmed_there(tmp_path):
    done = run("letter", "--example", "decaffeinated_badly", "--by", "2026-03-20", "--to", "decaffeinator")
    assert "batch sheets" in done.stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--to", "carier"), "Did you mean 'carrier'?"),
        (("--kind", "remind"), "Did you mean 'reminder'?"),
        (("--kind", "reminder"), "needs the day of the first letter"),
    ],
)
def test_a_wish_that_cannot_be_met_is_answered_with_its_mend(words, told):
    done = run("letter", "--example", "container_damp", "--by", "2026-03-20", *words)
    assert done.returncode == 1
    assert told in done.stderr


def test_a_stage_that_the_sender_names_is_asked_about_first():
    lot, _ = read_lot(example_path("container_damp"), BASE)
    report = trace(lot, BASE)
    stages = ("harvest", "processing", "drying", "dry_milling", "origin_storage")
    plain, named = (
        [questions_for(report, lot, BASE, "exporter", stage, named) for stage in stages]
        for named in (False, True)
    )
    assert [asked[0].stage for asked in named] == list(stages)
    assert all(len(asked) <= 4 for asked in named)
    assert [asked[0].stage for asked in plain] != list(stages)
    wish = LetterRequest("query", "en", "2099-01-01", stage="dry_milling", to="exporter")
    written = letter_for(report, lot, BASE, wish).written
    assert written
    assert named[3][0].in_words.get("en", named[3][0].text) in written.text


def test_a_day_that_has_passed_and_a_time_that_is_over_are_told_to_the_sender():
    lot, report = lot_of(
        rest="clocks: [{what: quality claim, clause: article 4, days: 21, from: 2026-03-10}]"
    )
    wish = LetterRequest("query", "en", "2026-03-20", to="exporter")

    def told(today):
        return " ".join(letter_for(report, lot, BASE, wish, datetime.date.fromisoformat(today)).to_mind)

    assert "has passed" not in told("2026-03-12")
    assert "ended on" not in told("2026-03-31")
    assert "the day to answer by, 2026-03-20, has passed" in told("2026-03-21")
    assert "the time for quality claim ended on 2026-03-31" in told("2026-04-01")
