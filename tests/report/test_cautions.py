"""STOP and HOLD on plain data: a stop note, heard or perhaps heard, and a source whose caution concerns people's health."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest

from tracer.findings.finding import Finding
from tracer.inference.smells import Smell
from tracer.issues import Place
from tracer.lots.observed import Asked, Heard, Observation
from tracer.report.cautions import alarms, cautions, only_beside, stop_notes

MOULD = "may hold mould toxins"


@dataclass(frozen=True)
class Ranked:
    label: str
    probability: float
    caution: str | None = MOULD


@pytest.fixture(scope="module")
def half(base):
    """Half of what a source needs to be one of several: the least for a HOLD."""
    return base.settings.verdicts.several / 2


def held(found):
    return [(one.text, one.because) for one in found if one.level == "hold"]


def test_a_stop_note_stops_and_is_named(base):
    one, _hold = alarms(base, ["petroleum_fuel"], [], [])
    assert one.level == "stop"
    assert one.text == base.settings.cautions.stop
    assert one.because == base.descriptors["petroleum_fuel"].label


def test_what_is_only_perhaps_a_stop_note_stops_too(base):
    (one,) = alarms(base, [], ["petroleum_fuel"], [])
    assert (one.level, one.because) == ("stop", f"perhaps {base.descriptors['petroleum_fuel'].label}")


def test_without_a_stop_note_nothing_stops(base):
    assert alarms(base, [], [], []) == ()


def test_a_source_with_a_caution_holds_the_lot_from_half_of_what_makes_one_of_several(base, half):
    # Food safety: far below the verdict's own limits, and not above them.
    assert held(alarms(base, [], [], [Ranked("damp", half)])) == [(MOULD, "damp")]
    assert held(alarms(base, [], [], [Ranked("damp", half - 0.001)])) == []
    assert half == pytest.approx(0.2)


def test_a_likely_source_without_a_caution_holds_nothing(base):
    assert alarms(base, [], [], [Ranked("smoke", 0.9, None)]) == ()


def test_sources_too_weak_alone_hold_the_lot_together_and_are_all_named(base, half):
    weak = [Ranked("damp", half - 0.05), Ranked("rewetting", half - 0.06), Ranked("other", 0.1, "other")]
    found = held(alarms(base, [], [], weak, together={MOULD: half, "other": half - 0.01}))
    assert found == [(MOULD, "together 0.20: damp, rewetting")]


def test_sources_beyond_the_list_hold_the_lot_too(base):
    assert held(alarms(base, [], [], [], together={MOULD: 0.5})) == [
        (MOULD, "together 0.50: several sources")
    ]


def test_a_caution_already_told_for_one_source_is_not_told_again_for_all(base):
    both = [Ranked("damp", 0.5), Ranked("rewetting", 0.1)]
    assert held(alarms(base, [], [], both, together={MOULD: 0.55})) == [(MOULD, "damp")]


def test_a_finding_that_warns_holds_the_lot_and_no_other_finding_does(base):
    warns = Finding("r", "warns", ("may be wet inside",), None, "g", "b", "the log shows sweat", (), ())
    favours = replace(warns, verb="favours", targets=("damp",))
    assert held(alarms(base, [], [], [], [favours, warns])) == [("may be wet inside", "the log shows sweat")]


def test_a_note_that_stops_tasting_holds_the_lot_where_no_source_does_and_not_that_of_another_coffee(base):
    hold = base.settings.cautions.hold
    label = base.descriptors["petroleum_fuel"].label
    assert held(alarms(base, ["petroleum_fuel"], [], [])) == [(hold, label)]
    assert held(alarms(base, ["petroleum_fuel"], [], [Ranked("damp", 0.5)])) == [(MOULD, "damp")]
    assert held(alarms(base, ["petroleum_fuel"], [], [], beside=["petroleum_fuel"])) == []
    assert held(alarms(base, [], ["petroleum_fuel"], [])) == []


def test_a_note_is_only_beside_where_neither_the_cups_nor_the_green_of_the_lot_have_it():
    fuel = said("petroleum_fuel")
    assert only_beside(["petroleum_fuel"], heard(beside=(fuel,))) == {"petroleum_fuel"}
    assert only_beside(["petroleum_fuel"], heard(observations=(fuel,), beside=(fuel,))) == set()


def test_the_general_cautions_stand_under_every_report_with_what_they_rest_on(base):
    found = cautions(base, ["petroleum_fuel"], [], [Ranked("damp", 0.5)], together={MOULD: 0.5})
    notes = [one for one in found if one.level == "note"]
    assert [one.level for one in found[:2]] == ["stop", "hold"]
    assert [one.text for one in notes] == [one.text for one in base.settings.cautions.notes]
    cited, common = notes
    assert cited.because.count("; ") >= 1
    assert common.because == "common practice"
    authors = base.sources[base.settings.cautions.notes[0].cites[0].source].authors
    assert cited.because.startswith(authors)


def heard(**parts):
    return Heard(**{"observations": (), "asked": (), "clean": False, "checked_all": (), **parts})


def said(name, found=1):
    return Observation(name, "a", found, 5, "unstated", False, name, 0, Place("x"))


@pytest.mark.parametrize("where", ["observations", "elsewhere", "beside"])
def test_a_stop_note_in_any_cup_of_any_sample_is_one_and_a_note_not_found_is_none(base, where):
    assert stop_notes(base, heard(**{where: (said("petroleum_fuel"),)})) == (("petroleum_fuel",), ())
    assert stop_notes(base, heard(**{where: (said("petroleum_fuel", 0),)})) == ((), ())
    assert stop_notes(base, heard(**{where: (said("petroleum_fuel", None),)})) == (("petroleum_fuel",), ())
    assert stop_notes(base, heard(**{where: (said("musty"),)})) == ((), ())


def word(share, **more):
    return Asked(
        "chemical", "ambiguous", "?", ("petroleum_fuel", "musty"), (), "a", Place("x"),
        (("petroleum_fuel", share), ("musty", 1 - share)), **more,
    )  # fmt: skip


@pytest.mark.parametrize("where", ["asked", "asked_elsewhere", "asked_beside"])
def test_an_open_word_stops_where_enough_tasters_mean_a_stop_note_by_it(base, where):
    least = base.settings.cautions.perhaps
    assert stop_notes(base, heard(**{where: (word(least),)})) == ((), ("petroleum_fuel",))
    assert stop_notes(base, heard(**{where: (word(least - 0.01),)})) == ((), ())
    assert stop_notes(base, heard(**{where: (word(0.9, denied=True),)})) == ((), ())


def test_a_note_named_outright_is_not_told_as_perhaps_too(base):
    both = heard(observations=(said("petroleum_fuel"),), asked=(word(0.9),))
    assert stop_notes(base, both) == (("petroleum_fuel",), ())


def test_a_smell_of_the_green_that_can_only_be_a_stop_note_is_one_and_a_wider_smell_is_one_perhaps(base):
    only = Smell("s", "petrol", ("petroleum_fuel",), True)
    wide = Smell("w", "chemical", ("petroleum_fuel", "musty"), True)
    assert stop_notes(base, heard(), [only]) == (("petroleum_fuel",), ())
    assert stop_notes(base, heard(), [wide]) == ((), ("petroleum_fuel",))
    assert stop_notes(base, heard(), [replace(only, found=False), replace(wide, found=False)]) == ((), ())
    assert stop_notes(base, heard(), [only, wide]) == (("petroleum_fuel",), ())
