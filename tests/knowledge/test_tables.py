"""Tables of the knowledge: what is normal for a coffee, and what each practice is for; every row makes its rules."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from tracer.causes.browse import browse
from tracer.findings.weigh import expected
from tracer.knowledge.cache import as_data, from_data
from tracer.knowledge.expected_notes import ExpectedNotes
from tracer.knowledge.load import load
from tracer.knowledge.scale import ratio
from tracer.lots.read import parse_lot
from tracer.tracing import gather, trace, weighed

NOTES = [{"note": "earthy", "strength": {"band": "often", "basis": "judgement"}}]
ROW = {"id": "a", "rule": "expects_a", "label": "a coffee", "notes": NOTES, "because": "It is."}


def lot(base, more):
    found, issues = parse_lot(
        "lot: A\n"
        + more
        + "cuppings: [{cups: 5, tasters: [{taster: a, language: en, notes: [{note: leathery, cups: 2}]}]}]\n",
        "x.yaml",
        base,
    )
    assert found is not None, issues
    return found


def test_every_row_stands_among_the_rules_and_says_where_it_stands(base):
    shipped, _ = load()
    assert shipped is not None
    for name in base.made_rules():
        assert name in base.rules
        place = shipped.places[name].file
        assert place.endswith("expected_notes.yaml") or "/practices/" in place
    assert all(set(one.protects) <= {*base.faults, *base.stages} for one in base.practices.values())


def test_a_practice_that_is_missing_raises_what_it_is_for_and_one_that_was_kept_does_not(base):
    for practice in base.practices.values():
        for side, up in ((practice.missing, True), (practice.kept, False)):
            for conclusion in side.then if side else ():
                named = {*conclusion.named(), conclusion.stage}
                if conclusion.does == "favours" and named & set(practice.protects):
                    assert (ratio(conclusion.strength, base.settings).best > 1) == up, practice.id


def test_a_missing_safeguard_speaks_and_a_lot_that_says_nothing_is_left_alone(base, ready):
    silent = weighed(lot(base, ""), base, ready)
    missing = weighed(lot(base, "history: {drying: {exchanger_checked: no}}\n"), base, ready)
    assert "smoke_drying" not in silent.ratios
    stated = base.practices["practice_exchanger_checked"].missing.then[0].strength
    assert missing.ratios["smoke_drying"].before == ratio(stated, base.settings)


def test_a_note_that_is_normal_for_an_origin_needs_a_cause_less_often_there(base, ready):
    plain, own = (trace(lot(base, said), base, ready) for said in ("", "origin: Yemen\n"))
    assert own.none_of_these > plain.none_of_these
    assert any(one.rule == "expects_yemen_natural" for one in own.expected)


def test_all_that_a_row_names_must_hold(base, ready):
    for said, meant in (
        ("origin: Kenya\nprocess: washed\n", True),
        ("origin: Kenya\nprocess: natural\n", False),
        ("process: washed\n", False),
    ):
        found = gather(lot(base, said), base, ready, "plain").findings
        assert ("savoury_brothy" in expected(found, base.settings)) == meant


def test_a_row_of_no_coffee_and_one_of_two_styles_of_an_origin_are_refused():
    for more in ({}, {"origin": ["kenya"], "style": ["aged", "smoked"]}):
        with pytest.raises(ValidationError):
            ExpectedNotes.model_validate({**ROW, **more})
    assert ExpectedNotes.model_validate({**ROW, "style": ["aged", "smoked"]}).made().when.any


def test_a_rule_of_a_table_has_its_id_to_itself(tmp_path):
    (tmp_path / "expected_notes.yaml").write_text(
        "- id: acme.monsooned\n  rule: expects_monsooned\n  label: ours\n  style: [monsooned]\n"
        "  notes: [{note: earthy, strength: {band: often, basis: judgement}}]\n  because: It is.\n"
    )
    base, issues = load(houses=[tmp_path])
    assert base is None
    assert any("'expects_monsooned' is taken" in one.message for one in issues)


def test_the_tables_survive_the_cache(base):
    again = from_data(as_data(base, whole=True))
    assert again is not None
    assert again.practices == base.practices
    assert again.expected_notes == base.expected_notes
    assert again.rules == base.rules


def test_a_fault_names_the_practices_that_keep_it_off(base):
    shown = browse(base, "faults", "smoke_drying")
    [group] = [one for one in shown.children if one.label == "practices that keep it off"]
    assert any("heat exchanger checked" in one.label for one in group.children)
