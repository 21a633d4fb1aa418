"""A row of the sheet and an answer to an enquiry that say one thing count once, as the row; where they quarrel it is told."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tests.knowledge.one_fact import APART, alike
from tracer.findings.told import against, counting, problems, settling
from tracer.knowledge.entries import Enquiry
from tracer.knowledge.rule import Condition
from tracer.lots.read import parse_lot
from tracer.tracing import trace, weighed

CUPS = """
lot: A
process: washed
cuppings:
- sample: arrival
  cups: 5
  tasters: [{taster: a, language: en, notes: [{note: musty, cups: 4}, {note: mouldy, cups: 3}]}]
"""
WET = "history: {transport: {rain_at_loading: yes}}\n"
DRY = "history: {transport: {rain_at_loading: no, rain_on_truck: no}}\n"


def answered(**answers):
    return "answers: {" + ", ".join(f"{name}: {said}" for name, said in answers.items()) + "}\n"


@pytest.fixture
def lot(base):
    def made(*parts):
        found, issues = parse_lot(CUPS + "".join(parts), "a.yaml", base)
        assert found, issues
        return found

    return made


def chances(report):
    return {source.fault: pytest.approx(source.probability, abs=1e-12) for source in report.sources}


@pytest.mark.parametrize(
    ("row", "answer"),
    [
        (WET, answered(ask_road="rain")),
        ("history: {processing: {power_cut: yes}}\n", answered(ask_standstill="'yes'")),
        ("history: {processing: {water_reuse_days: 4}}\n", answered(ask_water="reused")),
        ("history: {harvest: {blotch_share: 30 %}}\n", answered(ask_blotch="heavy")),
        ("history: {drying: {exhaust_at_drying: yes}}\n", answered(ask_smoke="fuel")),
        ("bench: {samples_in_session: 60}\n", answered(ask_tasters="tired")),
    ],
)
def test_the_same_thing_said_in_a_row_and_in_an_answer_counts_once(base, ready, lot, row, answer):
    both, alone = (
        trace(lot(*parts), base, ready.__class__(**{**vars(ready), "cases": None}))
        for parts in ((row, answer), (row,))
    )
    assert {source.fault: source.probability for source in both.sources} == chances(alone)
    assert any(one.kind == "answer" for one in both.not_weighed), "it is told that the row counts instead"
    assert not [one for one in both.conflicts if "the sheet counts" in one.text]


def test_an_answer_that_no_row_says_counts(base, ready, lot):
    plain, told = (trace(lot(*parts), base, ready) for parts in ((), (answered(ask_road="rain"),)))
    assert {source.fault: source.probability for source in told.sources} != chances(plain)
    assert not told.conflicts


def test_a_row_that_says_another_answer_is_told_and_counts(base, ready, lot):
    report = trace(lot(DRY, answered(ask_road="rain")), base, ready)
    [told] = [one.text for one in report.conflicts if "the sheet counts" in one.text]
    assert "rained on at loading: no" in told
    assert "rained on or uncovered in rain" in told


def test_what_is_computed_from_the_sheet_settles_a_test_as_well_as_what_is_written(base, ready, lot):
    gain = "history: {transport: {moisture_at_loading: 11 %, moisture_on_arrival: 13 %}}\n"
    one = weighed(lot(gain, answered(test_moisture_arrival="gained")), base, ready)
    assert "test_moisture_arrival" not in {finding.rule for finding in one.findings}
    [fact] = settling(base.enquiries["test_moisture_arrival"], one.facts)
    assert fact.name == "moisture_gain_in_transit"
    assert against(base.enquiries["test_moisture_arrival"], "same", one.facts) == (fact,)


def test_a_control_on_the_table_and_an_answer_about_it_are_one_event(base, ready, lot):
    cups = CUPS.replace("  cups: 5\n", "  cups: 5\n  control: {cups: 5, notes: []}\n")
    told = answered(test_control_cup="clean")
    kinds = []
    for sheet in (cups, cups + told, CUPS + told):
        made, issues = parse_lot(sheet, "a.yaml", base)
        assert made, issues
        kinds.append([event.kind for event in weighed(made, base, ready).chain.events])
    assert kinds[0] == kinds[1] == ["sample", "control"]
    assert kinds[2] == ["sample", "comparison"]


def test_a_test_of_a_compound_that_the_sheet_answers_says_nothing_of_the_compound_again(base, lot):
    made = lot(answered(ask_road="rain"))
    row = SimpleNamespace(name="rain_at_loading", value="yes")
    assert counting(made, base, ()).answers == made.answers
    assert counting(made, base, (row,)).answers == ()


def question(**told):
    return SimpleNamespace(
        id="ask",
        told_by={name: tuple(Condition.model_validate(one) for one in tests) for name, tests in told.items()},
    )


@pytest.mark.parametrize(
    ("told", "wrong"),
    [
        ({"wet": [{"record": "dryer", "is": "steam"}]}, "what it cannot be"),
        ({"wet": [{"record": "rain_at_loading", "above": 3}]}, "what it cannot be"),
        (
            {
                "wet": [{"record": "soak_hours", "above": 20}],
                "dry": [{"record": "soak_hours", "at_most": 24}],
            },
            "says both 'wet' and 'dry'",
        ),
        ({"wet": [{"record": "soak_hours", "above": 20, "below": 10}]}, "can never hold together"),
    ],
)
def test_the_check_names_a_test_that_says_nothing_or_two_things(base, told, wrong):
    one = SimpleNamespace(enquiries={"ask": question(**told)}, records=base.records, places={})
    [issue] = problems(one)
    assert wrong in issue.message


def test_the_shipped_links_are_sound(base):
    assert list(problems(base)) == []
    tested = {
        test.record for one in base.enquiries.values() for tests in one.told_by.values() for test in tests
    }
    assert tested <= set(base.records)


def test_told_by_names_answers_of_its_own_enquiry(base):
    data = base.enquiries["ask_road"].model_dump(by_alias=True, exclude_defaults=True)
    with pytest.raises(ValueError, match="told_by"):
        Enquiry.model_validate({**data, "told_by": {"snow": [{"record": "rain_at_loading", "is": "yes"}]}})


def test_no_record_reads_like_an_enquiry_about_the_same_faults_without_a_link_or_a_reason(base):
    found = {(enquiry, record) for _, enquiry, record in alike(base)}
    assert found <= set(APART), "link them with told_by, or say in APART why they are two facts"
    assert set(APART) <= found, "no longer needed"
