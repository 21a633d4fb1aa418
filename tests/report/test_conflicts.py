"""Evidence that does not go together, on plain data: each conflict where it begins, and not before."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tracer.findings.finding import Finding
from tracer.findings.weigh import Combined, Weighed
from tracer.issues import Place
from tracer.knowledge.scale import Range
from tracer.lots.observed import Heard, Observation
from tracer.report.conflicts import conflicts

ONE = Range(1.0, 1.0, 1.0)
PLAIN = 10**0.6
"""The ratio, of about four, from which a finding is plainly for or against."""


def finding(label, rule=""):
    return Finding(rule or label, "favours", ("damp",), None, label, "", label, (), ())


def source(fault="damp", probability=0.5):
    return SimpleNamespace(fault=fault, label=fault, probability=probability)


def combined(*ratios, contradicted=(), fault="damp", silent=()):
    weighed = tuple(
        Weighed(finding(name), Range(best / 2, best, best * 2), name in silent) for name, best in ratios
    )
    return {fault: Combined(fault, ONE, ONE, weighed, contradicted)}


def told(base, observations=(), ratios=None, sources=(), fits=True, notes=(), words=()):
    heard = Heard(tuple(observations), (), False, ())
    weighed = SimpleNamespace(present_left_out=tuple(notes), words_left_out=tuple(words))
    return [one.text for one in conflicts(base, heard, ratios or {}, tuple(sources), fits, weighed)]


def test_where_all_goes_together_there_is_no_conflict(base):
    assert told(base, ratios=combined(("wet", 9), ("dry", 1.1)), sources=[source()]) == []


def says(taster, found, cups=5, note="musty", cupping=0):
    return Observation(note, taster, found, cups, "unstated", False, note, cupping, Place("x"))


def test_a_taster_who_finds_it_in_most_cups_and_one_who_looked_and_found_none_quarrel(base):
    label = base.descriptors["musty"].label
    assert told(base, [says("Ana", 3), says("Bui", 0)]) == [
        f"Ana finds {label} in 3 of 5 cups; Bui looked and finds none."
    ]


def test_the_first_of_several_on_each_side_is_named(base):
    label = base.descriptors["musty"].label
    rows = [says("Ana", 4), says("Cyr", 5, 6), says("Bui", 0), says("Dan", 0)]
    assert told(base, rows) == [f"Ana finds {label} in 4 of 5 cups; Bui looked and finds none."]


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ([says("Ana", 2, 4), says("Bui", 0)], "half of the cups is not most"),
        ([says("Ana", 5), says("Bui", 1)], "both found it"),
        ([says("Ana", 5), says("Bui", None)], "both found it, one without a count"),
        ([says("Ana", None), says("Bui", 0)], "nobody says in how many cups"),
        ([says("Ana", 5), says("Bui", 0, note="earthy")], "of another note"),
        ([says("Ana", 5), says("Bui", 0, cupping=1)], "at another table"),
        ([says("Bui", 0)], "nobody finds it"),
    ],
)
def test_tasters_who_may_both_be_right_do_not_quarrel(base, rows, why):
    assert told(base, rows) == [], why


@pytest.mark.parametrize(("for_it", "against"), [(PLAIN, 1 / PLAIN), (20, 0.01)])
def test_findings_plainly_for_and_against_one_source_are_set_side_by_side(base, for_it, against):
    # By the limit of a factor of four either way; what is weaker is no conflict.
    assert told(base, ratios=combined(("wet", for_it), ("dry", against)), sources=[source()]) == [
        'For "damp", "wet" speaks for and "dry" against.'
    ]


def test_findings_less_than_plain_are_no_conflict(base):
    ratios = combined(("wet", PLAIN / 1.01), ("dry", 1.01 / PLAIN))
    assert told(base, ratios=ratios, sources=[source(probability=0.9)]) == []


def test_a_finding_counts_by_its_best_figure_and_not_by_the_ends_of_its_range(base):
    # The range of each runs from half to double its best figure.
    weak_for = combined(("wet", PLAIN / 1.01), ("dry", 0.01))
    assert not any("speaks for" in text for text in told(base, ratios=weak_for, sources=[source()]))
    weak_against = combined(("wet", 20), ("dry", 1.01 / PLAIN))
    assert told(base, ratios=weak_against, sources=[source()]) == []


def test_the_first_of_several_findings_on_each_side_is_named(base):
    four = combined(("wet", 20), ("hot", 9), ("dry", 0.01), ("cold", 0.1))
    assert told(base, ratios=four, sources=[source()]) == ['For "damp", "wet" speaks for and "dry" against.']
    two = combined(("dry", 0.01), ("cold", 0.1))
    (text,) = told(base, ratios=two, sources=[source(probability=0.9)])
    assert 'although "dry" speaks against' in text


def test_a_silent_finding_does_not_quarrel(base):
    ratios = combined(("wet", 20), ("dry", 0.01), silent=("dry",))
    assert told(base, ratios=ratios, sources=[source()]) == []


def test_a_likely_source_with_a_plain_finding_against_it_has_the_cups_against_the_papers(base):
    several = base.settings.verdicts.several
    ratios = combined(("dry", 0.1))
    text = 'The cups point to "damp" although "dry" speaks against it.'
    assert told(base, ratios=ratios, sources=[source(probability=several)]) == [text]
    assert told(base, ratios=ratios, sources=[source(probability=several - 0.01)]) == []
    assert told(base, ratios=combined(("wet", 10)), sources=[source(probability=0.9)]) == []


def test_only_the_first_three_sources_are_looked_at(base):
    ratios = combined(("wet", 20), ("dry", 0.01))
    others = [source(f"other {place}") for place in range(3)]
    assert told(base, ratios=ratios, sources=[*others[:2], source()])
    assert told(base, ratios=ratios, sources=[*others, source()]) == []


def test_a_contradiction_is_told_once_however_many_faults_it_bears_on(base):
    pair = (finding("wet"), finding("dry"))
    other = (finding("hot"), finding("cold"))
    ratios = combined(contradicted=(pair,)) | combined(contradicted=(pair, other), fault="mould")
    assert told(base, ratios=ratios) == [
        '"wet" and "dry" say the opposite with the same weight; neither counts.',
        '"hot" and "cold" say the opposite with the same weight; neither counts.',
    ]


def test_a_bad_fit_and_what_was_too_much_to_weigh_are_told(base):
    assert told(base, fits=False) == ["The findings hardly fit the knowledge base."]
    (text,) = told(base, notes=["musty", "earthy"])
    musty, earthy = base.descriptors["musty"].label, base.descriptors["earthy"].label
    assert text == f"Too many notes at once; the faintest were not weighed: {musty}, {earthy}."
    (text,) = told(base, words=["moho", "oily"])
    assert text == "Too many words of several meanings at once; these were not weighed: 'moho', 'oily'."


def test_every_conflict_says_what_to_do_about_it(base):
    heard = Heard((says("Ana", 5), says("Bui", 0)), (), False, ())
    weighed = SimpleNamespace(present_left_out=("musty",), words_left_out=("moho",))
    found = conflicts(base, heard, combined(("dry", 0.1)), (source(),), False, weighed)
    assert len(found) == 5
    assert all(one.remedy for one in found)
