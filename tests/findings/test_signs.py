"""Signs are explained away: what one fault explains raises the others no longer."""

from __future__ import annotations

import pytest

from tracer.findings.answers import answer_signs, compound_answers, terms
from tracer.findings.weigh import likelihood_ratios, signs_of
from tracer.lots.read import parse_lot
from tracer.tracing import trace


def test_every_shipped_enquiry_gives_chances_that_sum_to_one_for_any_fault_at_work(base):
    for enquiry in base.enquiries.values():
        for at_work in (None, *{f for given in enquiry.given for f in given.faults}):
            total = 0.0
            for answer in enquiry.answers:
                for term in terms(base, enquiry, answer):
                    factor = dict(term.faults).get(at_work, 1.0)
                    total += term.weight * factor
            assert total == pytest.approx(1.0, abs=1e-6), (enquiry.id, at_work)


def test_a_single_fault_gives_back_the_stated_table_of_answers(base):
    enquiry = base.enquiries["ask_mill_log"]
    assert answer_signs(base, enquiry) is not None
    for given in enquiry.given:
        (fault,) = given.faults
        for answer, stated in given.answers.items():
            worked = sum(t.weight * dict(t.faults).get(fault, 1.0) for t in terms(base, enquiry, answer))
            assert worked == pytest.approx(stated, abs=0.03), (fault, answer)


def test_a_sign_that_one_fault_explains_no_longer_raises_the_other(base, ready):
    wet = "lot: A\ncuppings: [{sample: warehouse, cups: 5, tasters: [{taster: a, notes: [musty]}]}]\n"
    signs = "green: {bags_wet_or_stained: yes, stains_top_and_sides: yes}\n"
    rise = {}
    for fault in ("container_condensation", "destination_damp"):
        found = []
        for text in (wet, wet + signs):
            lot, issues = parse_lot(text, "x", base)
            assert lot, issues
            report = trace(lot, base, ready, keep=fault)
            found.append(next(line.probability for line in report.sources if line.fault == fault))
        rise[fault] = found[1] / found[0]
    assert rise["container_condensation"] > 3
    assert rise["destination_damp"] < 1.5


def test_a_sign_and_its_absence_about_as_telling_leave_the_odds_alone_and_are_told(base, ready):
    from tracer.findings.finding import Finding
    from tracer.knowledge.strength import Strength

    def says(rule, verb, band):
        strength = Strength(band=band, basis="judgement")
        leak = Strength(band="now_and_then", basis="judgement") if verb == "shows" else None
        return Finding(rule, verb, ("rewetting",), strength, "g", "because", rule, (), (), leak=leak)

    pair = [says("one", "shows", "often"), says("other", "would_show", "usually")]
    for order in (pair, pair[::-1]):
        combined = likelihood_ratios(order, base.settings)["rewetting"]
        assert combined.before == (1, 1, 1)
        assert len(combined.contradicted) == 1
        assert signs_of(order, {"rewetting": combined}, base.settings) == ()


def answered(base, **answers):
    told = ", ".join(f"{question}: {answer}" for question, answer in answers.items())
    text = f"lot: A\ncuppings: [{{sample: arrival, cups: 5, tasters: [{{taster: a, notes: [{{note: musty, cups: 3}}]}}]}}]\nanswers: {{{told}}}\n"
    lot, issues = parse_lot(text, "x", base)
    assert lot, issues
    return lot


def test_an_answered_test_of_a_compound_says_how_much_oftener_it_is_given_where_the_compound_is(base):
    # test_haloanisoles: raised with 0.85 where TCA is, with 0.8 where another is, with 0.05 otherwise.
    raised = compound_answers(answered(base, test_haloanisoles="raised"), base)
    assert raised == pytest.approx({"tca": 0.85 / 0.05, "other_haloanisoles": 0.8 / 0.05})
    not_raised = compound_answers(answered(base, test_haloanisoles="not_raised"), base)
    assert not_raised == pytest.approx({"tca": 0.15 / 0.95, "other_haloanisoles": 0.2 / 0.95})


def test_two_tests_of_one_compound_multiply_and_a_question_about_faults_says_nothing_of_compounds(base):
    both = compound_answers(
        answered(base, test_haloanisoles="raised", test_anisole_profile="trichloro", ask_bed_log="slow"), base
    )
    assert both == pytest.approx(
        {"tca": 0.85 / 0.05 * 0.8 / 0.03, "other_haloanisoles": 0.8 / 0.05 * 0.1 / 0.03}
    )


def test_every_test_of_a_compound_raises_it_by_the_answer_that_finds_it_and_lowers_it_by_the_others(base):
    tests = [one for one in base.enquiries.values() if any(given.compound for given in one.given)]
    assert len(tests) >= 8
    for enquiry in tests:
        for given in enquiry.given:
            if not given.compound:
                continue
            node = base.node(given.compound)
            found = max(given.answers, key=lambda answer: given.answers[answer] / enquiry.otherwise[answer])
            least = min(given.answers, key=lambda answer: given.answers[answer] / enquiry.otherwise[answer])
            assert compound_answers(answered(base, **{enquiry.id: found}), base)[node] > 2, enquiry.id
            assert compound_answers(answered(base, **{enquiry.id: least}), base)[node] < 1, enquiry.id


def test_a_compound_that_a_laboratory_found_raises_the_source_that_makes_it(base, ready):
    chance = {}
    for answer in ("raised", "not_raised"):
        report = trace(answered(base, test_haloanisoles=answer), base, ready, keep="rio_field")
        chance[answer] = next(line.probability for line in report.sources if line.fault == "rio_field")
    assert chance["raised"] > 3 * chance["not_raised"]
