"""The five verdicts on plain ranked lists. Limits here: one source from 0.60, a stage alone from 0.70, several from 0.40, the bench from 0.50, nothing from 0.70."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from tracer.explain.by_note import NoteSource
from tracer.knowledge.settings import Verdicts
from tracer.report.verdict import all_normal, parted, verdict

LIMITS = Verdicts.model_construct(
    supported=0.6, stage=0.7, several=0.4, bench=0.5, nothing=0.7, bench_stages=("roasting", "cupping_lab")
)


@dataclass(frozen=True)
class Ranked:
    label: str
    stage: str
    probability: float
    low: float = 0.1
    high: float = 0.9
    unlisted: float = 0.0


def sources(*probabilities):
    return [
        Ranked(f"source {place}", "drying", chance, chance - 0.1, chance + 0.05)
        for place, chance in enumerate(probabilities, 1)
    ]


def stages(drying=0.5, roasting=0.02, cupping_lab=0.01):
    told = {"drying": drying, "cupping_lab": cupping_lab, "roasting": roasting}
    ranked = sorted(told.items(), key=lambda one: -one[1])
    return [Ranked(name.replace("_", " ").title(), name, chance) for name, chance in ranked]


def told(sources, stages=stages(), none=0.1, notes=True, vague=False, words=False, normal=False):
    return verdict(sources, stages, none, LIMITS, notes, vague, words, normal)


@pytest.mark.parametrize(
    ("best", "second", "name", "why"),
    [
        (0.60, 0.10, "source_supported", "the limit itself is enough"),
        (0.59, 0.10, "insufficient_evidence", "just below it is not"),
        (0.95, 0.39, "source_supported", "a second below 0.40 does not stand beside the first"),
        (0.95, 0.40, "several_sources", "a second of 0.40 does"),
        (0.45, 0.40, "several_sources", "two may stand together though neither is supported alone"),
        (0.45, 0.10, "insufficient_evidence", "one that reaches 0.40 alone is not several"),
    ],
)
def test_the_limits_part_one_source_several_and_none(best, second, name, why):
    assert told(sources(best, second))[0] == name, why


def test_one_source_is_told_with_its_own_probability_and_range():
    assert told(sources(0.8, 0.1))[1] == (
        "one source supported, 0.80 (between 0.70 and 0.85); a ranking is not proof"
    )


def test_at_most_three_of_several_sources_are_named_the_likeliest_first():
    text = told(sources(0.9, 0.8, 0.7, 0.6))[1]
    assert text.endswith("source 1 and source 2 and source 3")


def test_vague_notes_alone_support_no_source_and_no_stage_however_probable():
    # "harsh" or "off" fits most faults: a ranking on such words would only give back the priors.
    name, text = told(sources(0.95, 0.1), stages(drying=0.95), vague=True)
    assert name == "insufficient_evidence"
    assert text == "not enough to name a source: the best has 0.95 (between 0.85 and 1.00); ask first"


@pytest.mark.parametrize(("drying", "name"), [(0.7, "several_sources"), (0.69, "insufficient_evidence")])
def test_a_stage_may_be_supported_though_no_fault_in_it_is(drying, name):
    found, text = told(sources(0.35, 0.3), stages(drying=drying))
    assert found == name
    assert (text == "the stage is supported (Drying 0.70), but not which fault in it") == (drying == 0.7)


@pytest.mark.parametrize(
    ("told_stages", "name", "why"),
    [
        (stages(drying=0.1, roasting=0.5), "bench_suspected", "it leads and reaches the limit"),
        (stages(drying=0.1, roasting=0.49), "source_supported", "it leads below the limit"),
        (stages(drying=0.9, roasting=0.6), "source_supported", "another stage leads"),
        (stages(drying=0.1, roasting=0.2, cupping_lab=0.55), "bench_suspected", "any bench stage may"),
    ],
)
def test_the_bench_is_suspected_where_it_leads_and_reaches_its_limit(told_stages, name, why):
    assert told(sources(0.8, 0.1), told_stages)[0] == name, why


def test_the_probability_of_the_bench_is_its_own_where_an_unlisted_cause_puts_it_first():
    # Stages are in order with causes not listed among them; those are no fault of the bench.
    ranked = [Ranked("Roasting", "roasting", 0.6, unlisted=0.3), Ranked("Drying", "drying", 0.55)]
    assert told(sources(0.35, 0.2), ranked)[0] == "insufficient_evidence"


def test_the_likelier_of_two_benches_is_named():
    for chances, label in (((0.6, 0.3), "roasting"), ((0.3, 0.6), "cupping lab")):
        text = told(sources(0.8), stages(0.1, *chances))[1]
        assert text.startswith(f"suspect our own {label} first (0.60): re-cup with a control")


@pytest.mark.parametrize(
    ("none", "normal", "name"),
    [
        (0.7, False, "insufficient_evidence"),
        (0.7, True, "no_defect_supported"),
        (0.69, True, "source_supported"),
        (0.69, False, "source_supported"),
    ],
)
def test_where_none_of_the_sources_explains_it_a_normal_note_is_no_defect_and_another_is_open(
    none, normal, name
):
    found, text = told(sources(0.9, 0.1), none=none, normal=normal)
    assert found == name
    assert ("compare with the agreed sample" in text) == (none == 0.7 and normal)
    assert ("to say that anything is wrong (0.70" in text) == (none == 0.7 and not normal)


def test_where_a_cause_nobody_listed_is_needed_it_is_said_and_where_little_was_found_that():
    needed = [
        Ranked("Drying", "drying", 0.5, unlisted=0.5),
        Ranked("Roasting", "roasting", 0.1, unlisted=0.1),
    ]
    assert "no fault known here explains what was found well" in told(sources(0.1), needed, none=0.8)[1]
    little = [Ranked("Drying", "drying", 0.2, unlisted=0.2), Ranked("Roasting", "roasting", 0.1)]
    assert "too little was found to say that anything is wrong" in told(sources(0.1), little, none=0.8)[1]


@pytest.mark.parametrize(
    ("found", "stopping", "right"),
    [(["winey"], [], True), (["winey", "musty"], [], False), (["winey"], ["winey"], False), ([], [], False)],
)
def test_notes_are_normal_where_all_are_and_none_stops_tasting(found, stopping, right):
    assert all_normal(found, ["winey", "fruity"], stopping) is right


def test_none_of_these_comes_before_the_bench():
    # Where nothing listed explains the note, the bench does not either.
    assert told(sources(0.9), stages(0.1, 0.8), none=0.7)[0] == "insufficient_evidence"


def test_without_a_note_there_is_nothing_to_trace_and_an_open_word_is_not_nothing():
    name, text = verdict([], [], 1.0, LIMITS, False, False, False, False)
    assert (name, "clears no safety question" in text) == ("no_defect_supported", True)
    name, text = verdict([], [], 1.0, LIMITS, False, False, True, False)
    assert name == "insufficient_evidence"
    assert text == "cannot say: no word given so far could be matched without asking the taster"


def smoke(stage="Drying", chance=0.9):
    return NoteSource("smoky", "Smoky", stage, chance, "smoke", "Smoke of a dryer", 0.8)


def must(stage="Transport", chance=0.7):
    return NoteSource("musty", "Musty", stage, chance, "damp", "Damp container", 0.6)


def test_notes_of_different_stages_are_told_one_after_the_other():
    assert parted([smoke(), must()]) == (
        "Smoky: Drying 0.90 (Smoke of a dryer 0.80); Musty: Transport 0.70 (Damp container 0.60)"
    )


@pytest.mark.parametrize(
    ("apart", "why"),
    [
        ([], "no note"),
        ([smoke()], "one note"),
        ([smoke(), must(stage="Drying")], "both of one stage"),
        ([smoke(chance=0.1), must(chance=0.19)], "both are too unsure of their stages"),
    ],
)
def test_notes_that_are_not_parted_are_not_told(apart, why):
    assert parted(apart) == "", why


def test_a_note_is_told_by_itself_from_a_stage_probability_of_a_fifth():
    assert "Musty: Transport 0.20" in parted([smoke(), must(chance=0.2)])
    third = NoteSource("earthy", "Earthy", "Harvest", 0.1, "soil", "Soil", 0.1)
    assert parted([smoke(), must(), third]).endswith("; Earthy: no source named")
