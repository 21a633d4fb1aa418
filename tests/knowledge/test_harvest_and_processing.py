"""What the knowledge of harvest and wet mill must hold, whatever its figures are."""

from __future__ import annotations

from functools import cache

import pytest

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail
from tracer.lots.read import parse_lot
from tracer.report.document import Report
from tracer.tracing import Prepared, prepare, trace

STAGES = ("harvest", "processing")
DIRECT_SIGNS = {"bored_beans_stained", "nipped_many", "residue_above_limit", "silverskin_many"}
"""The one record line that is itself the fault's own mark in the bean."""


@cache
def _ready() -> tuple[KnowledgeBase, Prepared]:
    base = load_or_fail()
    return base, prepare(base, precedents=False)


def _trace(sheet: str) -> Report:
    base, ready = _ready()
    lot, issues = parse_lot(sheet, "lot.yaml", base)
    assert lot is not None, issues
    return trace(lot, base, ready)


def _probability(sheet: str, fault: str) -> float:
    return next((source.probability for source in _trace(sheet).sources if source.fault == fault), 0.0)


FERMENTED = """
lot: T-1
species: arabica
process: {process}
cuppings: [{{sample: arrival, cups: 5, tasters: [{{taster: first, language: en, notes: [{{note: fermented, cups: 4}}]}}]}}]
"""


def _with(process: str = "washed", more: str = "") -> str:
    return FERMENTED.format(process=process) + more


def test_hours_in_a_tank_alone_change_nothing():
    without = _trace(_with())
    alone = _trace(_with(more="history: {processing: {tank_hours: 24 h}}"))
    assert [(s.fault, s.probability) for s in alone.sources] == [
        (s.fault, s.probability) for s in without.sources
    ]


def test_the_same_hours_point_to_the_tank_when_warm_and_away_from_it_when_cold():
    warm = _probability(
        _with(more="history: {processing: {tank_hours: 24 h, tank_temperature: 26 C}}"), "over_fermentation"
    )
    cold = _probability(
        _with(more="history: {processing: {tank_hours: 24 h, tank_temperature: 16 C}}"), "over_fermentation"
    )
    assert cold < _probability(_with(), "over_fermentation") < warm


def test_the_vessel_of_the_fermentation_changes_nothing():
    # Kathurima and others 2017: sack, bucket or tank made no difference to the cup.
    sack = _trace(_with(more="history: {processing: {fermented_in: sack}}"))
    assert [s.probability for s in sack.sources] == [s.probability for s in _trace(_with()).sources]


def test_a_coffee_dried_in_its_fruit_is_not_blamed_on_a_pulper():
    assert _probability(_with("natural"), "pulper_damage") < 0.01


def test_a_declared_closed_tank_is_not_a_fault():
    sheet = _with("natural", "declared: [anaerobic]\n")
    assert _trace(sheet).verdict == "no_defect_supported"


@pytest.mark.parametrize("origin", ["Rwanda", "Burundi"])
def test_the_lakes_country_raises_the_potato_taste(origin):
    sheet = (
        "lot: T-2\nspecies: arabica\nprocess: washed\norigin: {}\ncuppings: [{{sample: arrival, cups: 5, "
        "tasters: [{{taster: first, language: en, notes: [{{note: raw potato, cups: 1}}]}}]}}]\n"
    )
    assert _probability(sheet.format("Brazil"), "potato_taste") < _probability(
        sheet.format(origin), "potato_taste"
    )


def test_one_record_line_is_never_more_than_moderate_unless_it_is_the_mark_in_the_bean():
    base, _ = _ready()
    strong = set()
    for rule in base.rules.values():
        lines = len(rule.when.all) if rule.when.all else 1
        own = {fault.id for fault in base.faults.values() if fault.stage in STAGES}
        for conclusion in rule.then:
            band = conclusion.strength.band if conclusion.strength else None
            if lines == 1 and band in ("strongly_for", "very_strongly_for") and own & set(conclusion.named()):
                strong.add(rule.id)
    assert strong <= DIRECT_SIGNS


@pytest.mark.parametrize("stage", STAGES)
def test_records_can_speak_for_and_against_every_fault(stage):
    base, _ = _ready()
    for fault in base.faults_of(stage):
        speaking = {
            "against" if conclusion.rules_out or "against" in (conclusion.strength.band or "") else "for"
            for rule in base.rules.values()
            for conclusion in rule.then
            if fault in conclusion.named() and (conclusion.rules_out or conclusion.strength)
        }
        assert speaking == {"for", "against"}, fault


@pytest.mark.parametrize("stage", STAGES)
def test_every_fault_can_be_asked_about(stage):
    base, _ = _ready()
    asked = {
        fault for enquiry in base.enquiries.values() for given in enquiry.given for fault in given.faults
    }
    assert set(base.faults_of(stage)) <= asked
