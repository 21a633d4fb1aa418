"""Answers as signs in an order of precedence, on small tables worked by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tracer.findings import answers as module
from tracer.findings.answers import about, answer_findings, answer_signs, compound_answers, terms

BASE = SimpleNamespace(
    node=lambda name: "group" if name == "member" else name,
    faults_of=lambda stage: {"drying": ("f", "g")}[stage],
    enquiries={},
)


def given(answers, *faults, compound=None, stage=None):
    return SimpleNamespace(answers=answers, faults=faults, compound=compound, stage=stage)


def enquiry(otherwise, *rows):
    return SimpleNamespace(
        id="ask",
        otherwise=otherwise,
        given=rows,
        text="Was it wet?",
        answers={name: name.upper() for name in otherwise},
        record="the mill's book",
        cites=(),
    )


WET = {"yes": 0.1, "no": 0.7, "none": 0.2}
ONE = enquiry(WET, given({"yes": 0.5, "no": 0.3, "none": 0.2}, "f"))


def chance(asked, answer, fault=None, compound=None):
    return sum(
        one.weight * dict(one.faults).get(fault, 1.0) * dict(one.compounds).get(compound, 1.0)
        for one in terms(BASE, asked, answer)
    )


def test_the_first_mention_of_a_fault_counts_and_a_stage_is_all_of_its_faults():
    first, second = {"a": 1.0}, {"a": 0.5}
    asked = enquiry(
        {"a": 1.0}, given(first, "f"), given(second, stage="drying"), given(second, compound="member")
    )
    assert about(BASE, asked) == {
        ("fault", "f"): first,
        ("fault", "g"): second,
        ("compound", "group"): second,
    }
    assert about(BASE, enquiry({"a": 1.0}, given(first, compound="member"))) == {("compound", "group"): first}


def test_an_answer_that_is_no_sign_of_anything_reassures_and_one_that_comes_as_often_is_silent():
    signs = answer_signs(BASE, ONE)
    # Kept 0.8 for those who have a record: leak 0.1 / 0.8; 1 - (1 - 0.5 / 0.8) / (1 - 0.125) = 4/7.
    assert signs.order == ("yes",)
    assert (signs.silent, signs.nothing) == ({"none": 0.2}, {"no": 1.0})
    assert signs.leak == {"yes": pytest.approx(0.125)}
    assert signs.faults == {"yes": {"f": pytest.approx(4 / 7)}}
    assert signs.compounds == {"yes": {}}


def test_a_single_fault_or_compound_gives_back_the_table():
    rows = {"f": {"yes": 0.5, "no": 0.3, "none": 0.2}, "g": {"yes": 0.2, "no": 0.6, "none": 0.2}}
    asked = enquiry(WET, given(rows["f"], "f"), given(rows["g"], "g"), given(rows["f"], compound="c"))
    for answer in WET:
        assert chance(asked, answer) == pytest.approx(WET[answer])
        assert chance(asked, answer, "f") == pytest.approx(rows["f"][answer])
        assert chance(asked, answer, "g") == pytest.approx(rows["g"][answer])
        assert chance(asked, answer, compound="c") == pytest.approx(rows["f"][answer])


LEVELS = {"some": 0.15, "heavy": 0.05, "clean": 0.3, "fine": 0.3, "none": 0.2}
LEVEL = enquiry(
    LEVELS,
    given({"heavy": 0.4, "some": 0.2, "clean": 0.1, "fine": 0.1, "none": 0.2}, "f"),
    given({"heavy": 0.02, "some": 0.4, "clean": 0.2, "fine": 0.18, "none": 0.2}, compound="c"),
)


def test_of_two_signs_the_more_telling_comes_first_and_two_reassuring_answers_share_the_rest():
    signs = answer_signs(BASE, LEVEL)
    assert signs.order == ("heavy", "some")
    assert signs.nothing == {"clean": pytest.approx(0.5), "fine": pytest.approx(0.5)}
    assert signs.leak == {"heavy": pytest.approx(0.0625), "some": pytest.approx(0.2)}
    assert signs.faults["heavy"] == {"f": pytest.approx(1 - 0.5 / 0.9375)}
    # What is left of 0.8 behind heavy: 0.4 for f, 0.78 for c.
    assert signs.faults["some"] == {"f": pytest.approx(1 - 0.5 / 0.8)}
    assert signs.compounds["heavy"] == {}
    assert signs.compounds["some"] == {"c": pytest.approx(1 - (1 - 0.4 / 0.78) / 0.8)}
    before, after = terms(BASE, LEVEL, "some")
    assert before.weight == pytest.approx(0.8 * 0.9375)
    assert after.weight == pytest.approx(-0.8 * 0.9375 * 0.8)
    assert dict(after.faults)["f"] == pytest.approx(0.5 / 0.9375 * 0.5 / 0.8)
    assert dict(after.compounds)["c"] == pytest.approx((1 - 0.4 / 0.78) / 0.8)
    for answer, wanted in LEVELS.items():
        assert chance(LEVEL, answer) == pytest.approx(wanted)
    assert chance(LEVEL, "heavy", "f") == pytest.approx(0.4)
    assert chance(LEVEL, "some", "f") == pytest.approx(0.2)


def test_where_no_answer_reassures_the_table_is_taken_as_ratios():
    turn = {"a": 0.5, "b": 0.5}
    asked = enquiry(turn, given({"a": 0.9, "b": 0.1}, "f"), given({"a": 0.2, "b": 0.8}, "g", compound="c"))
    assert answer_signs(BASE, asked) is None
    [term] = terms(BASE, asked, "a")
    assert (term.weight, dict(term.faults), dict(term.compounds)) == (0.5, {"f": 1.8, "g": 0.4}, {"c": 0.4})


def signs_of(otherwise, **tables):
    return answer_signs(BASE, enquiry(otherwise, *(given(table, name) for name, table in tables.items())))


def test_the_limits_of_a_silent_and_of_a_reassuring_answer():
    other = {"yes": 0.1, "no": 0.8, "none": 0.1}
    for none, silent in ((0.0601, True), (0.0599, False), (0.1666, True), (0.1668, False)):
        signs = signs_of(other, f={"yes": 0.7 - none, "no": 0.3, "none": none})
        assert (signs.silent == {"none": 0.1}) is silent
        assert ("none" in signs.order) is (none > 0.1668 - 1e-9)
    # On the limits, 0.3 / 0.5 and 0.5 / 0.3, it is silent.
    low = signs_of({"yes": 0.25, "no": 0.25, "none": 0.5}, f={"yes": 0.6, "no": 0.1, "none": 0.3})
    assert (set(low.silent), set(low.nothing)) == ({"none"}, {"no"})
    high = signs_of({"yes": 0.1, "no": 0.6, "none": 0.3}, f={"yes": 0.3, "no": 0.2, "none": 0.5})
    assert (set(high.silent), high.order) == ({"none"}, ("yes",))
    # Reassuring up to 1.05 times: an answer just above it for one fault and low for another orders nothing.
    two = {"f": {"yes": 0.6, "no": 0.3, "odd": 0.1}, "g": {"yes": 0.5, "no": 0.295, "odd": 0.205}}
    most = {"yes": 0.2, "no": 0.6, "odd": 0.2}
    assert set(signs_of(most, **{**two, "g": {"yes": 0.5, "no": 0.291, "odd": 0.209}}).nothing) == {
        "no",
        "odd",
    }
    assert signs_of(most, **{**two, "g": {"yes": 0.5, "no": 0.288, "odd": 0.212}}) is None


def test_where_nothing_reassures_what_is_silent_takes_its_place():
    asked = signs_of({"yes": 0.2, "no": 0.8}, f={"yes": 0.5, "no": 0.5})
    assert (asked.order, asked.silent, asked.nothing) == (("yes",), {}, {"no": 1.0})
    assert asked.leak["yes"] == pytest.approx(0.2)
    assert signs_of({"yes": 0.5, "no": 0.5}, f={"yes": 0.5, "no": 0.5}) is None


def test_a_fault_that_always_gives_an_answer_leaves_a_thousandth():
    asked = signs_of({"yes": 0.2, "no": 0.8}, f={"yes": 1.0, "no": 0.0})
    assert asked.faults["yes"]["f"] == pytest.approx(1 - 0.001 / 0.8)


# The answers of a lot.


def lot(*answers):
    return SimpleNamespace(answers=answers)


@pytest.fixture
def found(monkeypatch):
    monkeypatch.setattr(module, "answers_compared", lambda lot, base: {"compared"})

    def of(asked, answer, name="ask"):
        base = SimpleNamespace(**{**vars(BASE), "enquiries": {"ask": asked, "compared": asked}})
        return answer_findings(lot((name, answer)), base)

    return of


def test_an_answer_is_a_finding_with_its_own_ratio_on_each_fault(found):
    [one] = found(LEVEL, "some")
    assert (one.rule, one.verb, one.group, one.strength, one.because) == (
        "ask",
        "answer",
        "ask",
        None,
        "the mill's book",
    )
    assert one.label == "answer: Was it wet? SOME"
    assert [(fact.name, fact.value, fact.kind, fact.from_) for fact in one.facts] == [
        ("ask", "some", "text", "answers")
    ]
    assert one.leak == pytest.approx(0.2)
    assert dict(one.strengths) == {"f": pytest.approx(0.375)}
    assert dict(one.spared) == {"f": pytest.approx(0.5 / 0.9375)}
    # P(some | f) / P(some): 0.2 / 0.15.
    assert dict(one.ratios) == {"f": pytest.approx(0.2 / 0.15)}
    assert one.targets == ("f",)


def test_a_reassuring_answer_has_no_sign_and_spares_no_fault(found):
    [one] = found(LEVEL, "clean")
    assert (one.leak, one.strengths) == (None, ())
    assert dict(one.ratios) == {"f": pytest.approx(1 / 3)}
    [silent] = found(LEVEL, "none")
    assert silent.ratios == ()
    turn = enquiry({"a": 0.5, "b": 0.5}, given({"a": 0.9, "b": 0.1}, "f"), given({"a": 0.2, "b": 0.8}, "g"))
    [plain] = found(turn, "a")
    assert dict(plain.ratios) == {"f": 1.8, "g": 0.4}
    assert plain.leak is None


def test_an_answer_that_is_a_comparison_is_left_out(found):
    assert found(LEVEL, "some", "compared") == ()


def test_tests_of_a_compound_multiply():
    asked = {
        "one": enquiry(
            {"a": 0.2, "b": 0.8},
            given({"a": 0.6, "b": 0.4}, compound="member"),
            given({"a": 0.9, "b": 0.1}, "f"),
        ),
        "two": enquiry({"a": 0.5, "b": 0.5}, given({"a": 0.25, "b": 0.75}, compound="group")),
    }
    base = SimpleNamespace(**{**vars(BASE), "enquiries": asked})
    assert compound_answers(lot(("one", "a")), base) == {"group": pytest.approx(3.0)}
    assert compound_answers(lot(("one", "a"), ("two", "a")), base) == {"group": pytest.approx(1.5)}
    assert compound_answers(lot(), base) == {}
