"""What a lot's samples, tables and comparisons do to its sources: evidence by construction, no rule in between."""

from __future__ import annotations

import pytest

from tracer.batch.many import brief
from tracer.lots.read import parse_lot
from tracer.report.verdict import parted
from tracer.tracing import trace

EARLIER = ("harvest", "processing", "drying", "dry_milling", "origin_storage")


def cupping(sample, notes="", more=""):
    return f"{{sample: {sample}, cups: 5, tasters: [{{taster: a, language: en, notes: [{notes}]}}]{more}}}"


@pytest.fixture(scope="module")
def report(base, ready):
    def made(*cuppings, more=""):
        lot, issues = parse_lot(f"lot: A\ncuppings: [{', '.join(cuppings)}]\n{more}", "x.yaml", base)
        assert lot is not None, issues
        return trace(lot, base, ready)

    return made


def stages(report):
    return {line.stage: line.probability for line in report.stages}


def test_a_clean_pre_shipment_sample_lowers_every_earlier_stage_and_nothing_later(report):
    alone = stages(report(cupping("arrival", "musty")))
    after = stages(report(cupping("pre_shipment", "clean"), cupping("arrival", "musty")))
    assert all(after[stage] < alone[stage] for stage in EARLIER if alone[stage] > 0.005)
    assert after["transport"] > alone["transport"]


def test_a_note_of_the_pre_shipment_sample_did_not_come_from_the_ship_or_the_store_at_destination(report):
    alone = stages(report(cupping("warehouse", "musty")))
    found = stages(report(cupping("pre_shipment", "musty"), cupping("warehouse", "musty")))
    assert found["transport"] < alone["transport"] / 2
    assert found["destination_storage"] < alone["destination_storage"] / 2
    assert max(found, key=found.get) in EARLIER


def test_a_sample_drawn_before_shipment_has_no_source_after_it(report):
    found = stages(report(cupping("pre_shipment", "musty")))
    assert found["transport"] == pytest.approx(0, abs=1e-9)
    assert found["destination_storage"] == pytest.approx(0, abs=1e-9)


def test_a_clean_control_lowers_the_bench_and_a_tainted_one_raises_it(report):
    alone = stages(report(cupping("arrival", "smoky")))
    clean = stages(report(cupping("arrival", "smoky", ", control: {cups: 5, notes: []}")))
    tainted = stages(report(cupping("arrival", "smoky", ", control: {cups: 5, notes: [smoky]}")))
    assert clean["roasting"] < alone["roasting"] / 2
    assert tainted["roasting"] > 3 * alone["roasting"]
    assert tainted["drying"] < alone["drying"]


@pytest.mark.parametrize(
    ("line", "lowered"),
    [
        ("{with: other_container, shows: clean}", "drying"),
        ("{with: kept_elsewhere, shows: clean}", "drying"),
        ("{with: roasted_elsewhere, shows: same}", "roasting"),
        ("{with: retained_sample, shows: same}", "transport"),
        ("{with: parchment_sample, shows: clean}", "drying"),
    ],
)
def test_a_comparison_speaks_by_what_it_shares(report, line, lowered):
    note = "smoky" if lowered in ("roasting", "drying") else "musty"
    alone = stages(report(cupping("warehouse", note)))
    compared = stages(report(cupping("warehouse", note), more=f"comparisons: [{line}]"))
    assert compared[lowered] < alone[lowered]


def test_two_lines_that_say_the_opposite_of_one_coffee_count_for_nothing_and_are_told(report):
    alone = report(cupping("arrival", "musty"))
    both = "[{with: other_container, shows: clean}, {with: other_container, shows: same}]"
    quarrel = report(cupping("arrival", "musty"), more=f"comparisons: {both}")
    assert stages(quarrel) == pytest.approx(stages(alone), abs=1e-12)
    assert sum("opposite" in one.because for one in quarrel.not_weighed) == 2


def test_the_same_cupping_entered_twice_counts_once_and_is_told(report):
    once = report(cupping("arrival", "{note: raw potato, cups: 1}"))
    twice = report(*[cupping("arrival", "{note: raw potato, cups: 1}")] * 2)
    assert stages(twice) == pytest.approx(stages(once), abs=1e-12)
    assert any("word for word" in one.because for one in twice.not_weighed)


def test_a_stop_note_of_an_earlier_sample_is_traced_and_stops(report):
    found = report(cupping("pre_shipment", "{note: petrol, cups: 5}"), cupping("arrival", "clean"))
    assert any(caution.level == "stop" for caution in found.cautions)
    assert [note.label for note in found.notes] == ["Petroleum / fuel"]
    # The same coffee clean at arrival: what tainted the earlier sample alone may have been its own bench.
    bench = ("roasting", "cupping_lab")
    assert sum(line.probability for line in found.stages if line.stage in (*EARLIER, *bench)) > 0.5
    alone = stages(report(cupping("pre_shipment", "{note: petrol, cups: 5}")))
    after = stages(found)
    assert all(after[stage] > alone[stage] for stage in bench)
    assert after["transport"] == pytest.approx(0, abs=1e-9)


def test_an_open_word_moves_the_sources_of_the_notes_it_may_mean(report):
    silent = report(cupping("arrival", "clean"))
    word = report(cupping("arrival", "chemical"))
    assert not silent.sources
    assert word.sources
    assert any("which may mean" in weight.text for line in word.sources for weight in line.weights)


def test_looked_for_and_not_found_lowers_what_would_have_made_it(report, base, ready):
    asked = "{taster: a, language: en, notes: [smoky], not_found: [tarry, ashy]}"
    lot, _ = parse_lot(f"lot: A\ncuppings: [{{sample: arrival, cups: 5, tasters: [{asked}]}}]", "x", base)
    alone, looked = report(cupping("arrival", "smoky")), trace(lot, base, ready)

    def smoke(of):
        return next((line.probability for line in of.sources if line.fault == "roaster_smoke"), 0.0)

    assert smoke(looked) < smoke(alone)


def test_two_notes_from_two_places_are_told_apart(report):
    two = report(
        cupping("pre_shipment", "{note: smoky, cups: 5}"),
        cupping("warehouse", "{note: smoky, cups: 5}, {note: musty, cups: 4}"),
        more="history: {destination_storage: {leak_or_damp_wall: yes}}",
    )
    told = {one.note: one.stage for one in two.by_note}
    assert told["smoky"] == "Drying"
    assert told["musty"] == "Storage at destination"
    assert "Smoky: Drying" in parted(two.by_note)
    assert not report(cupping("arrival", "musty")).by_note


def test_words_too_many_to_weigh_together_are_told(report):
    words = "[{note: moho, cups: 2}, oily, chemical, hard]"
    sheet = f"{{sample: arrival, cups: 5, tasters: [{{taster: a, language: es, notes: {words}}}]}}"
    told = report(sheet)
    assert any("these were not weighed" in one.text for one in told.conflicts)


def test_a_cause_that_is_not_listed_lies_only_where_it_could_have_reached_the_sample(report):
    found = report(cupping("pre_shipment", "musty"))
    unlisted = {line.stage: line.unlisted for line in found.stages}
    assert unlisted["transport"] == unlisted["destination_storage"] == 0
    assert 0 < sum(unlisted.values()) <= found.none_of_these + 1e-9


@pytest.fixture(scope="module")
def faults(base, ready):
    def found(sample, note, more=""):
        lot, issues = parse_lot(f"lot: A\ncuppings: [{cupping(sample, note)}]\n{more}", "x.yaml", base)
        assert lot is not None, issues
        [one] = brief([lot], base, ready, listed=len(base.faults))
        return {source.id: source.probability for source in one.sources}

    return found


def test_a_clean_tank_clears_what_strikes_the_whole_station_and_not_what_strikes_one_tank(base, faults):
    alone = faults("pre_shipment", "ferment")
    beside = faults("pre_shipment", "ferment", "comparisons: [{with: other_tank, shows: clean}]\n")
    assert beside["over_fermentation"] > alone["over_fermentation"]
    assert beside["fermented_in_drying"] > alone["fermented_in_drying"], "each tank dries on its own bed"
    for everywhere in ("dirty_water", "delayed_pulping"):
        unit = base.faults[everywhere].unit[0]
        assert (beside[everywhere] < alone[everywhere]) == (unit == "station")


def test_a_clean_bag_clears_the_store_and_the_container_and_not_what_wets_single_bags(faults):
    alone = faults("arrival", "fuel")
    beside = faults("arrival", "fuel", "comparisons: [{with: other_bag, shows: clean}]\n")
    assert beside["leaking_cargo"] > alone["leaking_cargo"]
    assert beside["exhaust_in_transit"] < alone["exhaust_in_transit"]
