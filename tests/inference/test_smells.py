"""Smells of the green, damage and compounds found are traced too; a smell and the note it foretells count once."""

from __future__ import annotations

import pytest

from tracer.batch.many import brief
from tracer.knowledge.scale import prior
from tracer.lots.read import parse_lot
from tracer.tracing import trace, weighed


@pytest.fixture(scope="module")
def report(base, ready):
    def traced(text, keep=None):
        lot, issues = parse_lot("lot: A\n" + text, "a.yaml", base)
        assert lot, issues
        return trace(lot, base, ready, keep=keep)

    return traced


def cups(*notes):
    return (
        "cuppings: [{sample: arrival, cups: 5, tasters: [{taster: a, notes: ["
        + ", ".join(f"{{note: {note}, cups: 4}}" for note in notes)
        + "]}]}]\n"
    )


def odds(report, fault):
    present = next(line.present for line in report.sources if line.fault == fault)
    return present / (1 - present)


def test_a_musty_green_without_a_word_from_the_cups_has_sources(report):
    told = report("green: {green_smells_musty: yes}\n")
    assert told.none_of_these < 0.3
    assert {line.fault for line in told.sources} >= {"slow_drying_mould", "container_condensation"}
    assert told.beside == ("the green smells musty or mouldy",)


def test_a_smell_and_the_note_it_foretells_count_less_than_twice(report, base):
    fault = "container_condensation"
    smell = "green: {green_smells_musty: yes}\n"
    texts = (cups("musty") + smell, cups() + smell, cups("musty"))
    both, smelled, cupped = (odds(report(text, fault), fault) for text in texts)
    before = prior(base.faults[fault], base.settings).best
    assert both / before < 0.8 * (smelled / before) * (cupped / before)


def test_smoke_that_is_not_in_the_green_came_with_the_roast(report):
    def stages(text):
        return {line.stage: line.probability for line in report(cups("smoky") + text).stages}

    unknown, clean, smoky = (
        stages(text)
        for text in ("", "green: {green_smells_smoky: no}\n", "green: {green_smells_smoky: yes}\n")
    )
    assert clean["roasting"] > unknown["roasting"] > smoky["roasting"]
    assert smoky["drying"] > unknown["drying"] > clean["drying"]
    assert smoky["drying"] > 0.7


def test_a_green_that_smells_of_nothing_wrong_speaks_against_every_listed_smell(report):
    unknown, clean = (
        {line.stage: line.probability for line in report(cups("smoky") + text).stages}
        for text in ("", "green: {green_smells_clean: yes}\n")
    )
    assert clean["roasting"] > unknown["roasting"]


@pytest.mark.parametrize(
    ("record", "because"), [("green_smells_fuel", "Petroleum"), ("green_smells_chemical", "perhaps")]
)
def test_a_smell_that_stops_tasting_stops_though_nobody_has_cupped(report, record, because):
    told = report(f"green: {{{record}: yes}}\n")
    assert [because in caution.because for caution in told.cautions if caution.level == "stop"] == [True]
    assert not any(line.id in ("test_smell_green", "test_preshipment") for line in told.asks)


def test_mouldy_beans_are_traced_where_nothing_was_smelled_or_tasted_and_only_there(report):
    alone = report("green: {mouldy_beans: 12}\n")
    assert alone.sources
    assert alone.beside == ("mouldy beans in the count",)
    assert report(cups("smoky") + "green: {mouldy_beans: 12}\n").beside == ()


def test_a_compound_that_the_laboratory_found_has_sources_without_a_cup_word(report):
    told = report(
        "laboratory: [{compound: 2,4-dichlorophenol, result: raised}]\n".replace(
            "2,4-dichlorophenol", "'2,4-dichlorophenol'"
        )
    )
    assert told.sources
    assert any("halogenated phenols" in one for one in told.beside)


def test_a_figure_of_the_green_says_nothing_of_the_bench(report):
    result = "laboratory: [{compound: '2,4-dichlorophenol', result: raised, matrix: %s}]\n"
    benches = [
        sum(
            line.probability
            for line in report(result % matrix).stages
            if line.stage in ("roasting", "cupping_lab")
        )
        for matrix in ("green", "roasted")
    ]
    assert benches[0] < 0.01 < benches[1]


@pytest.mark.parametrize(
    "said", ["green_smells_smoky: no", "green_smells_smoky: yes", "green_smells_clean: yes"]
)
def test_a_smell_that_counts_is_not_told_as_left_aside(report, said):
    told = report(cups("smoky") + f"green: {{{said}}}\n")
    assert not [one for one in told.not_weighed if one.kind == "record"]


@pytest.mark.slow
@pytest.mark.parametrize("matrix", ["green", "roasted", "brew"])
def test_a_laboratory_result_of_any_compound_can_be_weighed(base, ready, matrix):
    for name in base.compounds:
        text = f"lot: A\nlaboratory: [{{compound: {name}, result: raised, matrix: {matrix}}}]\n"
        lot, issues = parse_lot(text, "a.yaml", base)
        assert lot is not None, issues
        weighed(lot, base, ready, engine="plain")


def test_smoke_in_the_cup_and_must_in_the_green_are_told_apart(report):
    told = report(cups("smoky") + "green: {green_smells_musty: yes, green_smells_smoky: yes}\n")
    assert {one.note for one in told.by_note} == {"smoky", "green_smells_musty", "green_smells_smoky"}


@pytest.mark.parametrize(
    "text",
    [
        "green: {green_smells_musty: yes}\n",
        "green: {mouldy_beans: 12}\n",
        cups("smoky") + "green: {green_smells_smoky: no}\n",
        "laboratory: [{compound: '2,4-dichlorophenol', result: raised}]\n",
    ],
)
def test_many_lots_give_what_one_gives(base, ready, report, text):
    lot, _ = parse_lot("lot: A\n" + text, "a.yaml", base)
    one = report(text)
    first, again = brief([lot, lot], base, ready)
    for told in (first, again):
        assert told.none_of_these == pytest.approx(one.none_of_these, abs=1e-9)
        assert [line.probability for line in told.stages] == pytest.approx(
            [line.probability for line in one.stages[:3]], abs=1e-9
        )
        assert told.verdict == one.verdict
