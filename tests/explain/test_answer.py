"""What a weighed lot answers: sources in order and within their range, what each note and sign adds, each note by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tracer.explain.answer import ALIKE, LEAST, SHOWN, answer
from tracer.explain.weights import left_out, log_odds, without_notes, without_sign
from tracer.inference.exact import posterior
from tracer.inference.network import Evidence
from tracer.inference.sources import source_probabilities
from tracer.knowledge.scale import share_of_lots
from tracer.lots.read import parse_lot
from tracer.tracing import weighed

SHEET = """
lot: A
cuppings:
- sample: pre_shipment
  cups: 5
  tasters: [{taster: a, language: en, notes: [{note: smoky, cups: 2}]}]
- sample: arrival
  cups: 5
  control: {cups: 5, notes: []}
  tasters:
  - {taster: a, language: en, notes: [{note: smoky, cups: 3}, {note: musty, cups: 2}], not_found: [earthy]}
  - {taster: b, language: en, notes: [{note: smoky, cups: 1}, moldy or dusty chemical]}
green: {bags_wet_or_stained: yes}
history: {transport: {condensation_seen: yes}}
"""


@pytest.fixture(scope="module")
def lot(base, ready):
    made, issues = parse_lot(SHEET, "a.yaml", base)
    assert made, issues
    return weighed(made, base, ready)


@pytest.fixture(scope="module")
def told(base, lot):
    return answer(base, lot)


def test_sources_stand_in_order_the_improbable_left_out_but_never_the_first_three(told):
    chances = [round(one.probability, ALIKE) for one in told.sources]
    assert chances == sorted(chances, reverse=True)
    assert 3 <= len(chances) <= SHOWN
    assert all(chance >= LEAST for chance in chances[3:])


def test_each_source_has_the_probability_of_a_live_path_from_it(told, lot):
    weigh = lot.weighed
    sets = [frozenset(lot.whole.fault[one.fault]) for one in told.sources]
    live = source_probabilities(weigh.network, weigh.evidence, weigh.traced, sets)[0]
    assert [one.probability for one in told.sources] == pytest.approx(list(live))
    every = frozenset(place for places in lot.whole.fault.values() for place in places)
    (any_of,) = source_probabilities(weigh.network, weigh.evidence, weigh.traced, [every])[0]
    assert told.none_of_these == pytest.approx(1 - any_of)


def test_a_source_is_there_and_lies_within_its_range(told, lot):
    for one in told.sources:
        assert one.low <= one.probability <= one.high
        assert one.low < one.high
        assert one.probability <= one.present + 1e-9, "a source must be there to be one"
        assert one.present == pytest.approx(told.after.fault[lot.whole.main(one.fault)])
        assert one.prior == share_of_lots(lot.base.faults[one.fault], lot.base.settings).best


def test_the_papers_speak_before_the_cups(told, lot):
    papers = posterior(lot.weighed.spoken, Evidence(signs=lot.weighed.evidence.signs)).fault
    for one in told.sources:
        assert one.papers == pytest.approx(papers[lot.whole.main(one.fault)])
    sweat = next(one for one in told.sources if one.fault == "container_condensation")
    assert sweat.papers > 3 * sweat.prior, "sweat was seen, and the bags are stained"


def test_a_fault_asked_for_is_told_however_improbable(base, lot, told):
    shown = {one.fault for one in told.sources}
    other = next(name for name in lot.whole.fault if name not in shown)
    kept = answer(base, lot, keep=other)
    assert {one.fault for one in kept.sources} == shown | {other}
    assert kept.sources[-1].fault == other


def test_every_stage_is_told_the_likeliest_first_with_causes_not_listed(base, told):
    assert {name for name, _ in told.stages} == set(base.stages)
    ranked = [chance for _, chance in told.stages]
    assert ranked == sorted(ranked, reverse=True)
    assert all(told.unlisted[name] <= chance <= 1 for name, chance in told.stages)
    assert sum(told.unlisted.values()) <= told.none_of_these + 1e-9


def test_a_caution_is_as_probable_as_any_of_its_sources_and_not_more_than_all(base, told):
    assert set(told.together) == set(base.faults_with_caution())
    chance = {one.fault: one.probability for one in told.sources}
    for caution, faults in base.faults_with_caution().items():
        theirs = [chance.get(name, 0.0) for name in faults]
        assert told.together[caution] >= max(theirs) - 1e-9


def test_what_a_note_adds_is_the_log_odds_with_it_less_those_without_it(told, lot):
    evidence, network = lot.weighed.evidence, lot.weighed.network
    smoky = lot.weighed.vectors["smoky"]
    less = posterior(network, without_notes(evidence, smoky)).fault
    full = posterior(network, evidence).fault
    wanted = np.log10(full / (1 - full)) - np.log10(less / (1 - less))
    (size,) = [size for text, size in told.adds.notes if text.startswith("Smoky")]
    assert size == pytest.approx(wanted, abs=1e-9)


def of_note(told, label):
    (found,) = [str(text) for text, _ in told.adds.notes if text.startswith(label)]
    return found


def test_each_note_is_told_with_what_each_sample_and_the_control_said(told):
    assert of_note(told, "Smoky") == (
        "Smoky: found (arrival: 4 of 10 cups; pre shipment: 2 of 5 cups; control: none)"
    )
    assert of_note(told, "Musty") == "Musty: found (arrival: 2 of 5 cups; control: none)"


def test_a_tainted_control_is_told_as_such(base, ready):
    tainted = SHEET.replace(
        "control: {cups: 5, notes: []}", "control: {cups: 5, notes: [{note: smoky, cups: 3}]}"
    )
    made, issues = parse_lot(tainted, "a.yaml", base)
    assert made, issues
    assert of_note(answer(base, weighed(made, base, ready)), "Smoky").endswith("; control: 3 of 5 cups)")


def test_every_sign_seen_adds_to_a_fault_that_gives_it(told, lot):
    assert set(told.adds.signs) == {sign.name for sign in lot.signs}
    for sign in lot.signs:
        place = lot.whole.main(max(sign.strengths, key=lambda one: one[1].best)[0])
        assert told.adds.signs[sign.name][place] > 0


def test_each_note_found_is_traced_by_itself(told, lot):
    assert [one.note for one in told.by_note][:2] == ["smoky", "musty"]
    for one in told.by_note:
        assert 0 <= one.probability <= one.stage_probability + 1e-9, "a source lies in a stage"


def test_without_a_note_nothing_is_a_source_and_the_stages_are_told_by_what_may_have_gone_wrong(base, ready):
    clean, _ = parse_lot(
        "lot: B\ncuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, notes: [clean]}]}]\n", "b", base
    )
    one = weighed(clean, base, ready)
    told = answer(base, one)
    assert (told.sources, told.unlisted, told.none_of_these) == ((), {}, 1.0)
    there = posterior(one.weighed.network, one.weighed.evidence).fault
    for stage, chance in told.stages:
        own = [there[place] for fault in base.faults_of(stage) for place in one.whole.fault[fault]]
        assert max(own) - 1e-9 <= chance <= sum(own) + 1e-9, "that any of its faults is there"


def test_a_cause_not_listed_lies_where_what_was_heard_can_have_leaked(base, ready):
    def unlisted(*samples):
        text = "lot: B\ncuppings:\n" + "".join(
            f"  - {{sample: {sample}, on: {day}, cups: 5, tasters: [{{taster: a, notes: [{note}]}}]}}\n"
            for sample, day, note in samples
        )
        lot, issues = parse_lot(text, "b", base)
        assert lot is not None, issues
        return answer(base, weighed(lot, base, ready)).unlisted

    before = unlisted(("pre_shipment", "2026-01-01", "{note: petrol, cups: 5}"))
    assert before["transport"] == pytest.approx(0, abs=1e-9)
    after = unlisted(
        ("pre_shipment", "2026-01-01", "clean"), ("arrival", "2026-03-01", "{note: petrol, cups: 5}")
    )
    assert after["transport"] > after["drying"], "the first sample was clean"


@pytest.mark.parametrize(
    ("p", "odds"), [(0.5, 0.0), (10 / 11, 1.0), (1 / 101, -2.0), (1.0, 15.0), (0.0, -15.0)]
)
def test_log_odds(p, odds):
    assert log_odds(p) == pytest.approx(odds, abs=0.05 if p in (0.0, 1.0) else 1e-9)


def test_what_is_left_out_is_left_out_and_all_else_stays():
    vector = np.ones(3)
    evidence = Evidence({1: vector, 2: vector, 3: vector}, {}, {0: vector, 5: vector}, {})
    less = without_notes(evidence, [1, 3])
    assert (set(less.heard), set(less.signs)) == ({2}, {0, 5})
    less = without_sign(evidence, 5)
    assert (set(less.heard), set(less.signs)) == ({1, 2, 3}, {0})


def test_leaving_nothing_out_adds_nothing(lot):
    network, evidence = lot.weighed.network, lot.weighed.evidence
    full, (none,) = left_out(network, evidence, [(network, evidence)])
    assert none == pytest.approx(np.zeros_like(full))
    known = posterior(network, evidence).fault
    assert full == pytest.approx([log_odds(p) for p in known])


def test_what_is_left_out_in_one_batch_is_what_is_left_out_one_by_one(lot):
    known = lot.weighed
    less = [
        (known.network, without_notes(known.evidence, places)) for places in known.vectors.values() if places
    ]
    less += [(known.network, without_sign(known.evidence, sign)) for sign in known.evidence.signs]
    less.append((known.spoken, replace(known.evidence, compounds=known.tests)))
    full, found = left_out(known.network, known.evidence, less)
    assert len(found) == len(less) > 3
    for (network, rest), adds in zip(less, found, strict=True):
        alone = posterior(network, rest).fault
        assert full - adds == pytest.approx([log_odds(float(one)) for one in alone], abs=1e-9)
