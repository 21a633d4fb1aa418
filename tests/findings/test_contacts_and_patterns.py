"""What a lot has met makes faults of its own; which parts show a note speaks for the faults that strike such parts."""

from __future__ import annotations

import pytest

from tracer.batch.many import brief
from tracer.findings.gathered import gather
from tracer.lots.read import parse_lot
from tracer.tracing import trace, weighed


@pytest.fixture(scope="module")
def read(base):
    def lot(text):
        made, issues = parse_lot("lot: A\n" + text, "a.yaml", base)
        assert made, issues
        return made

    return lot


@pytest.fixture(scope="module")
def stages(base, ready, read):
    def found(text):
        report = trace(read(text), base, ready)
        return {line.stage: line.probability for line in report.stages}

    return found


def cups(*notes):
    told = ", ".join(f"{{note: {note}, cups: 4}}" for note in notes)
    return "cuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, notes: [" + told + "]}]}]\n"


def test_onions_beside_the_coffee_are_the_source_of_its_onion_note_where_they_stood(base, ready, read):
    for stage in ("origin_storage", "transport", "destination_storage"):
        text = cups("onion") + "contact: [{with: onions, stage: " + stage + ", how: beside}]\n"
        report = trace(read(text), base, ready)
        assert report.sources[0].fault == f"contact_onions_{stage}"
        assert report.stages[0].stage == stage
        assert not [one for one in report.not_weighed if one.kind == "contact"]


def test_what_a_material_cannot_make_it_is_no_source_of(base, ready, read):
    report = trace(read(cups("chlorine") + "contact: [{with: onions, stage: transport}]\n"), base, ready)
    assert not [one for one in report.sources if one.fault.startswith("contact_")]


def test_a_thing_that_is_not_in_the_knowledge_counts_by_its_smell(base, ready, read):
    text = (
        cups("fishy") + "contact: [{with: crates of krill, stage: transport, how: touched, smell: fishy}]\n"
    )
    report = trace(read(text), base, ready)
    assert report.sources[0].fault == "contact_thing_1_transport"
    assert "crates of krill" in report.sources[0].label


def test_without_a_stage_a_contact_is_shared_out_over_those_where_it_is_usual(base, ready, read):
    found = gather(read(cups("onion") + "contact: [{with: onions}]\n"), base, ready, "plain").base
    made = [fault for name, fault in found.faults.items() if name.startswith("contact_onions")]
    assert {fault.stage for fault in made} == set(base.materials["onions"].stages)
    at_one = gather(
        read(cups("onion") + "contact: [{with: onions, stage: transport}]\n"), base, ready, "plain"
    ).base
    assert sum(fault.prior.best for fault in made) == pytest.approx(
        at_one.faults["contact_onions_transport"].prior.best
    )


def test_what_nearly_every_lot_meets_says_nothing_and_is_told(base, ready, read):
    report = trace(
        read(cups("musty") + "contact: [{with: jute sacks, stage: origin_storage}]\n"), base, ready
    )
    assert not [one for one in report.sources if one.fault.startswith("contact_")]
    (told,) = [one for one in report.not_weighed if one.kind == "contact"]
    assert "nearly every lot" in told.because


def test_the_same_contact_twice_counts_once_and_the_nearer_one(base, ready, read):
    far = "{with: onions, stage: transport, how: same_room}"
    near = "{with: onions, stage: transport, how: touched}"
    once, twice = (
        gather(read(cups("onion") + f"contact: [{lines}]\n"), base, ready, "plain").base.faults[
            "contact_onions_transport"
        ]
        for lines in (near, f"{near}, {far}")
    )
    assert once == twice


def test_a_hazard_that_met_the_coffee_holds_the_lot(base, ready, read):
    text = cups("diesel") + "contact: [{with: diesel, stage: transport, how: touched}]\n"
    report = trace(read(text), base, ready)
    assert any("Nobody tastes it further" in one.text for one in report.cautions)


def test_many_lots_with_contacts_are_as_one_lot(base, ready, read):
    lots = [
        read(cups("onion") + "contact: [{with: onions, stage: transport}]\n"),
        read(cups("onion")),
        read(cups("onion") + "contact: [{with: onions, stage: transport, how: same_room}]\n"),
    ]
    for lot, told in zip(lots, brief(lots, base, ready), strict=True):
        report = trace(lot, base, ready)
        assert told.sources[0].id == report.sources[0].fault
        assert told.sources[0].probability == pytest.approx(report.sources[0].probability, abs=1e-9)


@pytest.mark.parametrize(
    ("level", "stage"),
    [
        ("tanks", "processing"),
        ("farms", "harvest"),
        ("containers", "transport"),
        ("roast_batches", "roasting"),
    ],
)
def test_one_part_of_several_speaks_for_what_strikes_such_a_part(level, stage, stages):
    note = {"roasting": "scorched", "transport": "musty"}.get(stage, "fermented")
    plain, one, every = (
        stages(cups(note) + text)
        for text in ("", f"pattern: {{{level}: 1 of 5}}\n", f"pattern: {{{level}: all}}\n")
    )
    assert one[stage] > plain[stage]
    if level != "roast_batches":  # that all roasts show it stands in a row of the sheet
        assert every[stage] < one[stage]


def test_a_pattern_counts_for_the_note_it_names_only(base, ready, read):
    text = cups("smoky", "fermented") + "pattern: [{of: smoky, farms: one}]\n"
    (sign,) = [
        one
        for one in weighed(read(text), base, ready, engine="plain").signs
        if one.name.startswith("pattern")
    ]
    named = dict(sign.strengths)
    assert "over_fermentation" not in named
    assert "smoke_drying" in named


def test_a_pattern_that_a_row_of_the_sheet_says_counts_by_the_row(base, ready, read):
    found = gather(read(cups("musty") + "pattern: {bags: outer}\n"), base, ready, "plain").findings
    assert not [one for one in found if one.rule.startswith("pattern")]


def test_every_shipped_fault_says_what_it_strikes(base):
    assert not [fault.id for fault in base.faults.values() if not fault.unit]
