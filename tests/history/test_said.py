"""Plain sentences under `said:`: proposed, never counted before the user says so."""

from __future__ import annotations

import dataclasses

import pytest

from tracer.findings.gathered import listener
from tracer.history.said import proposed, spoken
from tracer.issues import Place
from tracer.knowledge.load import load_or_fail
from tracer.lots.lot import Said
from tracer.lots.read import parse_lot
from tracer.sentences.split import sentences
from tracer.tracing import trace

BASE = load_or_fail()
READER = listener(BASE).reader
SHEET = """
lot: SAY-1
species: arabica
process: washed
cuppings:
  - {on: 2026-03-09, sample: arrival, cups: 5, tasters: [{taster: first, notes: [{note: musty, cups: 3}]}]}
"""
FIRST_EDITION = {
    "said_bare_soil": ("en", "It was dried on the ground."),
    "said_covered": ("en", "The beds were covered every night."),
    "said_dryer_diesel": ("es", "El quemador de la secadora es de diésel."),
    "said_dryer_wood": ("pt", "O secador usa lenha."),
    "said_rain_on_coffee": ("en", "It rained on the parchment twice."),
    "said_chlorine": ("es", "Lavamos los tanques con cloro."),
    "said_bulked": ("en", "The lot was bulked with other lots."),
}
"""Sentences that the first edition proposed for, with the ids that stand on users' sheets."""


def lot_with(*said: Said, extra: str = ""):
    lot, issues = parse_lot(SHEET + extra, "lot.yaml", BASE)
    assert lot is not None, issues
    return dataclasses.replace(lot, said=said)


def told(
    text: str, language: str | None = None, confirmed: tuple[str, ...] = (), declined: tuple[str, ...] = ()
):
    return Said("the exporter", None, language, text, confirmed, declined, Place("lot.yaml", 9))


def read(text: str, language: str | None = None):
    found, text_only = spoken(lot_with(told(text, language)), READER)
    return proposed(found), tuple(one.text for _, one in text_only)


def firsts(text: str, language: str | None = None) -> dict[str, object]:
    return {one.record: one.value for one in read(text, language)[0] if one.rank == 1}


@pytest.mark.parametrize(("phrase", "example"), FIRST_EDITION.items(), ids=lambda one: str(one)[:40])
def test_ids_of_the_first_edition_are_still_proposed(phrase, example):
    if phrase not in BASE.phrases:
        pytest.fail(f"{phrase} is gone; users' sheets name it")
    language, text = example
    assert phrase in {one.phrase for one in read(text, language)[0]}


def test_a_denial_turns_the_meaning_round_or_says_nothing():
    assert firsts("It did not rain on the parchment.", "en").get("rain_on_coffee") == "no"
    assert "dryer_fuel" not in firsts("The dryer is not fired with wood.", "en")


def test_a_number_is_read_with_its_unit_in_the_language():
    assert firsts("La cereza esperó 1,5 días antes del despulpado", "es").get("hours_to_pulping") == 36.0


def test_a_range_and_a_bound_are_kept_as_such():
    assert firsts("The coffee was 10 to 14 hours in the tank.", "en").get("tank_hours") == "10 to 14 h"
    assert firsts("The coffee was more than 30 hours in the tank.", "en").get("tank_hours") == "at least 30 h"


def test_nothing_said_counts_before_it_is_confirmed():
    text = "It rained on the parchment twice and it was not covered at night."
    silent = trace(lot_with(), BASE)
    open_ = trace(lot_with(told(text)), BASE)
    assert open_.sources == silent.sources
    confirmed = trace(lot_with(told(text, confirmed=("said_rain_on_coffee",))), BASE)
    assert "rained_on" in {finding.rule for finding in confirmed.findings}
    facts = [fact for finding in confirmed.findings if finding.rule == "rained_on" for fact in finding.facts]
    assert any("said by the exporter" in fact and "It rained on the parchment" in fact for fact in facts)
    declined = trace(lot_with(told(text, declined=("said_rain_on_coffee",))), BASE)
    assert declined.sources == silent.sources


def test_a_confirmed_off_note_is_a_cupping_of_its_own():
    lot = lot_with(told("Two of five cups taste of vinegar.", "en", confirmed=("note_sour_vinegary",)))
    report = trace(lot, BASE)
    assert "sour_vinegary" in {note.descriptor for note in report.notes}


def test_what_one_person_says_twice_is_one_taster():
    once = trace(lot_with(told("The cup is musty.", "en", confirmed=("note_musty",))), BASE)
    twice = trace(
        lot_with(
            told("The cup is musty.", "en", confirmed=("note_musty",)),
            told("As I said, the cup tastes musty.", "en", confirmed=("note_musty",)),
        ),
        BASE,
    )
    # Only the plain words of the second sentence lean a little, as those of any record do.
    given = [{line.fault: line.probability for line in report.sources} for report in (once, twice)]
    assert given[0] == pytest.approx(given[1], abs=0.005)


def test_the_sheet_counts_before_what_was_said_and_the_quarrel_is_told():
    lot = lot_with(
        told("It rained on the parchment.", confirmed=("said_rain_on_coffee",)),
        extra="history: {drying: {rain_on_coffee: no}}\n",
    )
    report = trace(lot, BASE)
    assert "no_rain" in {finding.rule for finding in report.findings}
    assert any("the sheet counts" in doubt for doubt in report.history.doubts)


def test_sentences_that_mean_nothing_here_are_listed_as_read_only_as_text():
    _, text_only = read("We thank you for your trust.", "en")
    assert text_only == ("We thank you for your trust",)


def test_a_decimal_point_does_not_end_a_sentence():
    assert [one.text for one in sentences("The final moisture was 11.5 %. It is dry.")] == [
        "The final moisture was 11.5 %",
        "It is dry",
    ]


def test_a_denial_of_one_thing_does_not_deny_another_in_the_same_sentence():
    text = "We had rain on the beds in the second week, and they were not covered one night."
    found = firsts(text, "en")
    assert found.get("rain_on_coffee") == "yes"
    assert found.get("covered") == "no"


def test_somebody_elses_word_is_marked_as_hearsay():
    found, _ = read("They say it rained on the parchment.", "en")
    assert any(one.record == "rain_on_coffee" and one.hearsay for one in found)
