"""The marks of a record, and the model of cases, worked by hand on four invented cases."""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest

from tests.history.build import BASE, PLACE, lot
from tracer.findings.fact import Fact
from tracer.lots.lot import Comparison, Contact, LaboratoryResult, Normal, Pattern, RecordValue, Said
from tracer.precedents.features import features, words
from tracer.precedents.model import fit, stages_of
from tracer.precedents.read import as_lot, for_marks
from tracer.precedents.shipped import model_of, readings

LAW = SimpleNamespace(temper=0.3, words=1.5, cap=2.0)


def case(name, stage, group="g", gives_away=False):
    return SimpleNamespace(id=name, group=group, gives_away=gives_away, truth=SimpleNamespace(stage=stage))


STAGES = ("drying", "origin_storage", "destination_storage")
CASES = (case("a", "drying"), case("b", "drying"), case("c", "storage"), case("d", "none"))
MARKS = {
    "a": {"note:musty", "row:rain", "word:wet", "only:a"},
    "b": {"note:musty", "row:rain", "word:wet", "word:rain"},
    "c": {"note:musty", "row:store", "word:rain"},
    "d": {"row:store", "row:rain"},
}


def place(weights):
    return {mark: at for mark, (at, _) in weights.columns.items()}


def table(weights):
    """Weight of each mark, shape (stages, marks)."""
    columns = [told for _, told in sorted(weights.columns.values())]
    return np.array(columns).reshape(-1, weights.stages).T


def marks_of_case(model, at):
    return {mark for mark, places in model.holding.items() if at in places}


@pytest.fixture(scope="module")
def model():
    return fit(CASES, MARKS, STAGES, 0.5)


def test_a_case_of_some_store_speaks_for_either_and_one_of_no_stage_for_none():
    assert stages_of(CASES[0], STAGES) == ["drying"]
    assert stages_of(CASES[2], STAGES) == ["origin_storage", "destination_storage"]
    assert stages_of(CASES[3], STAGES) == []


def test_weights_are_those_of_the_formula(model):
    # Marks in order musty, rain, store. Seen: drying 2, 2, 0; each store 0.5, 0, 0.5 of case c.
    assert place(model.understood) == {"note:musty": 0, "row:rain": 1, "row:store": 2}
    other = np.array([[1.5, 0.5, 1.5], [3.0, 2.5, 1.0], [3.0, 2.5, 1.0]])
    assert table(model.understood) == pytest.approx(-np.log(other / other.sum(axis=1, keepdims=True)))
    # Words rain, wet. Seen: drying 1, 2; each store 0.5, 0.
    assert place(model.words) == {"word:rain": 0, "word:wet": 1}
    other = np.array([[1.5, 0.5], [2.0, 2.5], [2.0, 2.5]])
    assert table(model.words) == pytest.approx(-np.log(other / other.sum(axis=1, keepdims=True)))


def test_a_mark_of_one_case_alone_is_left_out_and_one_that_gives_itself_away_is_not_learnt(model):
    assert "only:a" not in place(model.understood)
    assert marks_of_case(model, 0) == {"note:musty", "row:rain"}
    assert model.cases == ("a", "b", "c", "d")
    told = fit((*CASES, case("e", "drying", gives_away=True)), {**MARKS, "e": {"note:musty"}}, STAGES, 0.5)
    assert table(told.understood) == pytest.approx(table(model.understood))
    assert told.cases[-1] == "e"


def test_a_case_without_marks_is_kept_and_no_words_at_all_weigh_nothing():
    bare = fit(CASES, {"a": {"note:musty"}, "b": {"note:musty"}}, STAGES, 0.5)
    assert marks_of_case(bare, 2) == set()
    assert table(bare.words).shape == (3, 0)
    assert bare.words.scores(["word:wet"])[1] == 0


def test_how_rare_a_mark_is(model):
    assert model.rare == pytest.approx(
        {"note:musty": np.log(5 / 3), "row:rain": np.log(5 / 3), "row:store": np.log(5 / 2)}
    )


def test_the_lean_is_that_of_the_formula_on_the_shares_given(model):
    marks = ["note:musty", "row:rain", "word:wet", "word:rain", "word:unknown"]
    own = table(model.understood)[:, [0, 1]].sum(axis=1)
    plain = table(model.words).sum(axis=1)
    z = 0.3 * own + 1.5 * plain / np.sqrt(2)
    for shares in (None, np.array([0.5, 0.3, 0.2])):
        weights = np.full(3, 1 / 3) if shares is None else shares
        wanted = np.exp(z) / (np.exp(z) @ weights)
        found = model.leaning(marks, LAW, shares)
        assert list(found) == list(STAGES)
        assert list(found.values()) == pytest.approx(wanted)
    narrow = model.leaning(marks, SimpleNamespace(temper=0.3, words=1.5, cap=0.1))
    assert max(narrow.values()) == pytest.approx(np.exp(0.1))
    assert min(narrow.values()) == pytest.approx(np.exp(-0.1))


def test_the_nearest_case_shares_the_rarest_marks(model):
    near, far = np.log(5 / 3) ** 2, np.log(5 / 2) ** 2
    found = model.alike(["note:musty", "row:store", "word:wet"], 9)
    assert [one.case for one in found] == ["c", "d", "a", "b"]
    cosines = [
        1.0,
        far / np.sqrt((near + far) * (near + far)),
        near / np.sqrt((near + far) * 2 * near),
        near / np.sqrt((near + far) * 2 * near),
    ]
    assert [one.likeness for one in found] == pytest.approx(cosines)
    assert found[0].shared == ("row:store", "note:musty")
    assert [one.case for one in model.alike(["note:musty", "row:store"], 2)] == ["c", "d"]
    assert len(model.alike(["note:musty", "row:store"], 9, found[1].likeness)) == 2
    assert model.alike(["nothing"], 9) == ()
    assert model.alike(["note:musty", "row:rain"], 1)[0].shared == ("note:musty", "row:rain")


def test_cases_of_a_group_are_left_out_and_marks_may_be_given(tmp_path):
    base = SimpleNamespace(
        precedents={one.id: one for one in (*CASES[:2], case("e", "drying", "other"))},
        stages=dict.fromkeys(STAGES),
        settings=SimpleNamespace(precedents=SimpleNamespace(smoothing=0.5)),
        houses=(),
    )
    assert model_of(base, ("g",), {}).cases == ("e",)
    assert model_of(base, (), MARKS).cases == ("a", "b", "e")
    assert marks_of_case(model_of(base, (), MARKS), 0) == {"note:musty", "row:rain"}


def test_a_house_adds_its_readings_and_one_that_cannot_be_read_is_left_out(tmp_path):
    for name, text in (("good", '{"own_case": ["note:musty"]}'), ("bad", "{")):
        (tmp_path / name / "precedents").mkdir(parents=True)
        (tmp_path / name / "precedents" / "readings.json").write_text(text, encoding="utf-8")
    found = readings(
        SimpleNamespace(houses=(str(tmp_path / "bad"), str(tmp_path / "good"), str(tmp_path / "none")))
    )
    assert found["own_case"] == {"note:musty"}
    assert model_of(BASE).cases == tuple(BASE.precedents)
    assert len(marks_of_case(model_of(BASE), 0)) > 0
    assert len(found) > 300


# The marks of a lot.


def heard(**fields):
    return SimpleNamespace(
        **{**{name: () for name in ("observations", "elsewhere", "asked", "asked_elsewhere")}, **fields}
    )


def gathered(made, text_only=(), facts=(), findings=(), **ears):
    return SimpleNamespace(lot=made, heard=heard(**ears), facts=facts, findings=findings, text_only=text_only)


def marks(one, contradicted=()):
    return features(BASE, one, contradicted)


def plain(one, contradicted=()):
    return {mark for mark in marks(one, contradicted) if not mark.startswith("word:")}


def found_words(one, contradicted=()):
    return {mark.removeprefix("word:") for mark in marks(one, contradicted) if mark.startswith("word:")}


BARE = dataclasses.replace(lot(), cuppings=())


def test_notes_are_marked_as_found_absent_or_perhaps():
    def said(name, found):
        return SimpleNamespace(descriptor=name, found=found)

    asked = SimpleNamespace(weights=(("baggy_jute", 0.6), ("innocent", 0.4)))
    one = gathered(
        BARE,
        observations=(said("musty", 2), said("earthy", 0)),
        elsewhere=(said("smoky", None),),
        asked=(asked,),
    )
    assert plain(one) == {"note:musty", "absent:earthy", "note:smoky", "maybe:baggy_jute"}
    assert plain(gathered(BARE, asked_elsewhere=(asked,))) == {"maybe:baggy_jute"}


def test_a_row_is_marked_by_its_name_and_by_its_value_unless_that_is_a_number():
    facts = (Fact("covered", "no", "yes_no", "x"), Fact("tank_hours", 30, "number", "x"))
    assert plain(gathered(BARE, facts=facts)) == {"row:covered", "row:covered=no", "row:tank_hours"}


def test_findings_that_contradict_each_other_and_their_rows_count_for_nothing():
    row, other = Fact("covered", "no", "yes_no", "x"), Fact("surface", "soil", "text", "x")
    rule = SimpleNamespace(rule="rained_on", facts=(row,))
    kept = SimpleNamespace(rule="on_soil", facts=(other,))
    said = (
        RecordValue("covered", "no", "not covered", PLACE),
        RecordValue("surface", "soil", "bare soil", PLACE),
    )
    one = gathered(dataclasses.replace(BARE, records=said), facts=(row, other), findings=(rule, kept))
    assert plain(one) == {
        "row:covered",
        "row:covered=no",
        "row:surface",
        "row:surface=soil",
        "rule:rained_on",
        "rule:on_soil",
    }
    assert plain(one, [rule]) == {"row:surface", "row:surface=soil", "rule:on_soil"}
    assert "not" in found_words(one)
    assert "not" not in found_words(one, [rule])
    assert "bare" in found_words(one, [rule])


def test_patterns_comparisons_contacts_laboratory_and_answers_are_marks():
    made = dataclasses.replace(
        BARE,
        pattern=(Pattern("bags", "one", None, PLACE),),
        comparisons=(Comparison("earlier_sample", "clean", None, None, None, PLACE),),
        contact=(
            Contact("onion", "old onions", None, None, None, None, None, PLACE),
            Contact(None, "a goat", None, None, None, None, None, PLACE),
        ),
        laboratory=(LaboratoryResult("geosmin", None, None, None, None, "raised", PLACE),),
        normal=(Normal("drying", PLACE),),
    )
    assert plain(gathered(made)) == {
        "pattern:bags=one",
        "compared:earlier_sample=clean",
        "contact:onion",
        "contact:a goat",
        "laboratory:geosmin",
    }
    assert found_words(gathered(made)) == {"old", "onion", "goat", "earlier", "sampl", "clean", "bag", "one"}


def test_the_words_of_an_answer_are_those_of_the_row_it_says():
    name, answer, row = next(
        (one.id, answer, row) for one in BASE.enquiries.values() for answer, row in one.row.items() if row
    )
    made = dataclasses.replace(BARE, answers=((name, answer),))
    assert f"answer:{name}={answer}" in marks(gathered(made))
    record, value = next(iter(row.items()))
    assert words(f"{BASE.records[record].label} {value}", "en") <= marks(gathered(made))


def test_words_are_taken_of_notes_of_what_is_confirmed_or_read_only_as_text_and_of_rows():
    def told(text, confirmed=(), language="en"):
        return Said("x", None, language, text, confirmed, (), PLACE)

    def read(text):
        return SimpleNamespace(language="en", text=text)

    open_, sure = told("open"), told("sure", ("said_x",))
    german = told("Tische", ("said_x",), "de")
    row = RecordValue("covered", "no", "said row", PLACE, None, (), True)
    made = dataclasses.replace(BARE, said=(open_, sure, german), records=(row,))
    one = gathered(made, text_only=((open_, read("alone")), (sure, read("twice"))))
    assert found_words(one) == {"sure", "tisch", "alon"}


def test_words_are_cut_to_the_stem_of_their_language_or_of_english():
    assert words("bitterness", "en") == {"word:bitter"}
    assert words("bitterness", "vi") == {"word:bitterness"}
    table = lot().cuppings[0]
    for language, stem in ((None, "bitter"), ("vi", "bitterness")):
        note = dataclasses.replace(table.tastings[0].notes[0], text="bitterness")
        tasting = dataclasses.replace(table.tastings[0], language=language, notes=(note,))
        made = dataclasses.replace(BARE, cuppings=(dataclasses.replace(table, tastings=(tasting,)),))
        assert found_words(gathered(made)) == {stem}
        said = Said("x", None, language, "bitterness", ("said_x",), (), PLACE)
        assert found_words(gathered(dataclasses.replace(BARE, said=(said,)))) == {stem}


# The record of a case as a lot.


@pytest.fixture(scope="module")
def ear():
    class Reader:
        def message(self, text):
            self.text = text
            return ()

    return SimpleNamespace(reader=Reader())


def record(**fields):
    given = {"notes": (), "species": None, "process": None, "origin": None, "sentences": ()}
    return SimpleNamespace(
        id="case_x", language=fields.pop("language", "en"), record=SimpleNamespace(**{**given, **fields})
    )


def test_the_record_of_a_case_becomes_a_lot_with_its_notes(ear):
    made = as_lot(record(notes=("musty", "old"), species="arabica", process="washed", origin="X"), BASE, ear)
    assert (made.lot, made.species, made.process, made.origin) == ("case_x", "arabica", "washed", "X")
    [cupping] = made.cuppings
    [tasting] = cupping.tastings
    assert (tasting.taster, tasting.language, [note.text for note in tasting.notes]) == (
        "the record",
        "en",
        ["musty", "old"],
    )
    assert as_lot(record(), BASE, ear).cuppings == ()
    foreign = as_lot(record(notes=("x",), language="tlh"), BASE, ear)
    assert foreign.cuppings[0].tastings[0].language is None


def test_words_for_species_or_process_that_no_sheet_knows_are_left_out(ear):
    made = as_lot(
        record(notes=("musty",), species="some plant", process="dried somehow", origin="X"), BASE, ear
    )
    assert (made.species, made.process) == (None, None)
    assert len(made.cuppings) == 1


def test_each_sentence_of_a_record_ends_in_a_full_stop(ear):
    as_lot(record(sentences=("It rained", "It was wet. ", "雨だった。")), BASE, ear)
    assert ear.reader.text == "It rained.\nIt was wet. \n雨だった。"


def test_rows_of_records_count_from_a_lower_probability_on():
    assert (
        for_marks(BASE).settings.reading.sure == BASE.settings.reading.of_cases < BASE.settings.reading.sure
    )
