"""Plain sentences against the phrases: proposed, never counted before the user says so."""

from __future__ import annotations

import dataclasses

import pytest

from tracer.history.said import propose, sentences
from tracer.issues import Place
from tracer.knowledge.load import load_or_fail
from tracer.lots.lot import Said
from tracer.lots.read import parse_lot
from tracer.tracing import trace

BASE = load_or_fail()
SHEET = """
lot: SAY-1
species: arabica
process: washed
cuppings:
  - {on: 2026-03-09, sample: arrival, cups: 5, tasters: [{taster: first, notes: [{note: musty, cups: 3}]}]}
"""
EXAMPLES = [
    (phrase.id, language, text)
    for phrase in BASE.phrases.values()
    for language, text in phrase.example.items()
]


def lot_with(*said: Said, extra: str = ""):
    lot, issues = parse_lot(SHEET + extra, "lot.yaml", BASE)
    assert lot is not None, issues
    return dataclasses.replace(lot, said=said)


def told(
    text: str, language: str | None = None, confirmed: tuple[str, ...] = (), declined: tuple[str, ...] = ()
):
    return Said("the exporter", None, language, text, confirmed, declined, Place("lot.yaml", 9))


@pytest.mark.parametrize(("phrase", "language", "text"), EXAMPLES, ids=lambda value: str(value)[:40])
def test_each_phrase_is_found_in_its_own_example(phrase, language, text):
    proposed, _ = propose(lot_with(told(text, language)), BASE)
    assert phrase in {one.phrase for one in proposed}
    assert len(proposed) <= 3, [one.phrase for one in proposed]


def test_there_are_examples_in_at_least_four_languages():
    assert {"en", "es", "pt", "fr"} <= {language for _, language, _ in EXAMPLES}


def test_a_denial_turns_the_meaning_round_or_says_nothing():
    proposed, _ = propose(lot_with(told("It did not rain on the parchment.", "en")), BASE)
    assert [(one.record, one.value) for one in proposed] == [("rain_on_coffee", "no")]
    proposed, unread = propose(lot_with(told("The dryer is not fired with wood.", "en")), BASE)
    assert not proposed
    assert unread == ("The dryer is not fired with wood",)


def test_a_number_is_read_with_its_unit_in_the_language():
    proposed, _ = propose(lot_with(told("La cereza esperó 1,5 días antes del despulpado", "es")), BASE)
    assert [(one.record, one.value) for one in proposed if one.record == "hours_to_pulping"] == [
        ("hours_to_pulping", 36.0)
    ]


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


def test_the_sheet_counts_before_what_was_said_and_the_quarrel_is_told():
    lot = lot_with(
        told("It rained on the parchment.", confirmed=("said_rain_on_coffee",)),
        extra="history: {drying: {rain_on_coffee: no}}\n",
    )
    report = trace(lot, BASE)
    assert "no_rain" in {finding.rule for finding in report.findings}
    assert any("the sheet counts" in doubt for doubt in report.history.doubts)


def test_sentences_that_match_nothing_are_listed():
    _, unread = propose(lot_with(told("We thank you for your trust. The season was hard!")), BASE)
    assert unread == ("We thank you for your trust", "The season was hard")


def test_a_decimal_point_does_not_end_a_sentence():
    assert sentences("The final moisture was 11.5 %. It is dry.") == [
        "The final moisture was 11.5 %",
        "It is dry",
    ]


def test_a_denial_of_one_thing_does_not_deny_another_in_the_same_sentence():
    text = "We had rain in the second week and the beds were not covered one night."
    proposed, _ = propose(lot_with(told(text, "en")), BASE)
    assert {(one.record, one.value) for one in proposed} == {("rain_on_coffee", "yes"), ("covered", "no")}
