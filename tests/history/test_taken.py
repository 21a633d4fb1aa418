"""What a confirmed sentence puts on the sheet, and where: each kind of proposal by itself, and what the sheet says already stays."""

from __future__ import annotations

import dataclasses
import datetime
from types import SimpleNamespace

import pytest

from tests.history.build import BASE, PLACE, lot
from tracer.amounts import Amount
from tracer.history.said import Spoken, proposed, spoken, taken, value_of
from tracer.lots.lot import RecordValue, Said
from tracer.sentences.proposal import NoteSaid, Proposal, Read, Statement

DAY = datetime.date(2026, 3, 1)
SAID = Said("the mill", DAY, "en", "the whole message", ("x",), ("no",), PLACE)
READ = Read("its sentence", 1, "en", (), False)


def proposal(kind="record", target="covered", value="no", name="x", **fields):
    return dataclasses.replace(Proposal(name, kind, target, value, 5.0, True, (1,)), **fields)


def one(*args, said=SAID, rivals=(), rank=1, **fields):
    return Spoken(said, READ, proposal(*args, **fields), rank, rivals)


def sheet(*found, made=None):
    made = lot() if made is None else made
    said = tuple({id(each.said): each.said for each in found}.values())
    return taken(dataclasses.replace(made, said=said), found, BASE)


def test_a_proposal_is_open_confirmed_declined_or_passed_over():
    assert one().state == "confirmed"
    assert one(name="no").state == "declined"
    assert one(name="y").state == "open"
    assert one(name="y", rivals=("y", "x")).state == "passed_over"
    assert one(name="y", rivals=("y", "z")).state == "open"


def test_every_meaning_of_a_statement_is_kept_with_its_rank_and_rivals():
    first, second = proposal(name="a"), proposal(name="b")
    asked = []

    def message(text, language, on):
        asked.append((text, language, on))
        return [dataclasses.replace(READ, statements=(Statement((first, second)),)), READ]

    made = dataclasses.replace(
        lot(), said=(SAID, dataclasses.replace(SAID, on=None)), drafted_on=datetime.date(2026, 4, 4)
    )
    found, unread = spoken(made, SimpleNamespace(message=message))
    assert [(each.proposal.id, each.rank, each.rivals) for each in found[:2]] == [
        ("a", 1, ("a", "b")),
        ("b", 2, ("a", "b")),
    ]
    assert [each.text for _, each in unread] == ["its sentence"] * 2
    assert [on for *_, on in asked] == [DAY, datetime.date(2026, 4, 4)]


def test_a_proposal_is_shown_with_who_said_it_when_and_what_became_of_it():
    [shown] = proposed([one(rank=2, hearsay=True)])
    assert (shown.phrase, shown.record, shown.value, shown.sentence, shown.by) == (
        "x",
        "covered",
        "no",
        "its sentence",
        "the mill",
    )
    assert (shown.on, shown.state, shown.place, shown.kind, shown.rank, shown.hearsay) == (
        "2026-03-01",
        "confirmed",
        str(PLACE),
        "record",
        2,
        True,
    )
    [shown] = proposed([one(said=dataclasses.replace(SAID, on=None))])
    assert shown.on is None


def test_the_value_is_the_figure_the_range_in_words_or_the_word():
    assert value_of(proposal(amount=Amount(1.23456, 1.23456, "h"), unit="h")) == 1.235
    assert value_of(proposal(amount=Amount(10.0, 14.0, "h"), unit="h")) == "10 to 14 h"
    assert value_of(proposal(amount=Amount(None, None, word="few"), unit="h")) == "few" or value_of(
        proposal(amount=Amount(None, None, word="few"), unit="h")
    ).startswith("a few")
    assert value_of(proposal(value="no")) == "no"
    assert value_of(proposal(value=None)) == "yes"


# What each kind becomes.


def test_a_row_is_added_where_the_sheet_has_none():
    [row] = sheet(one(right=0.9)).records
    assert (row.record, row.value, row.said, row.right, row.amount, row.place) == (
        "covered",
        "no",
        True,
        0.9,
        None,
        PLACE,
    )
    assert row.written == "said by the mill, 2026-03-01: 'its sentence'"
    [row] = sheet(one(said=dataclasses.replace(SAID, on=None))).records
    assert row.written == "said by the mill: 'its sentence'"


def test_what_the_sheet_says_already_stays_be_it_a_figure_or_a_range():
    for kept in (
        RecordValue("covered", "yes", "", PLACE),
        RecordValue("covered", None, "", PLACE, Amount(1.0, 2.0)),
    ):
        made = dataclasses.replace(lot(), records=(kept,))
        assert sheet(one(), made=made).records == (kept,)
    unknown = RecordValue("covered", None, "", PLACE)
    found = sheet(one(), made=dataclasses.replace(lot(), records=(unknown,))).records
    assert [row.value for row in found] == [None, "no"]


def test_a_figure_a_range_and_a_day_are_rows_of_their_kind():
    def row(**fields):
        return sheet(one(target="tank_hours", **fields)).records[0]

    exact = row(amount=Amount(30.0, 30.0, "h"))
    assert (exact.value, exact.amount) == (30.0, None)
    ranged = row(amount=Amount(10.0, 14.0, "h"))
    assert (ranged.value, ranged.amount) == (12.0, Amount(10.0, 14.0, "h"))
    assert row(day=DAY, amount=Amount(3.0, 3.0)).value == DAY


def test_of_two_sentences_on_one_row_the_weightier_counts():
    light, heavy = one(score=2.0, value="yes"), one(score=7.0, said=dataclasses.replace(SAID, by="the farm"))
    for order in ((light, heavy), (heavy, light)):
        [row] = sheet(*order).records
        assert row.value == "no"


def test_only_what_is_confirmed_is_taken_and_each_once():
    made = lot()
    same = dataclasses.replace(made, said=(dataclasses.replace(SAID, confirmed=()),))
    assert taken(same, [one(name="y", said=same.said[0])], BASE) is same
    assert len(sheet(one("pattern", "bags", "one"), one("pattern", "bags", "one")).pattern) == 1


def test_a_phrase_confirmed_by_hand_counts_although_the_words_are_read_otherwise():
    phrase = next(
        each for each in BASE.phrases.values() if each.record is not None and each.value is not None
    )
    said = dataclasses.replace(SAID, confirmed=(phrase.id,))
    [row] = taken(dataclasses.replace(lot(), said=(said,)), [], BASE).records
    assert (row.record, row.value, row.said, row.amount) == (phrase.record, phrase.value, True, None)
    assert row.written == "said by the mill, 2026-03-01: 'the whole message'"
    without = next(each for each in BASE.phrases.values() if each.record is None)
    unknown = dataclasses.replace(SAID, confirmed=("said_nothing_known", without.id))
    assert taken(dataclasses.replace(lot(), said=(unknown,)), [], BASE).records == ()
    unvalued = next(each for each in BASE.phrases.values() if each.record is not None and each.value is None)
    open_ = dataclasses.replace(SAID, confirmed=(unvalued.id,))
    assert taken(dataclasses.replace(lot(), said=(open_,)), [], BASE).records == ()


def test_an_answer_counts_unless_the_sheet_has_one():
    assert sheet(one("answer", "ask_water", "reused")).answers == (("ask_water", "reused"),)
    made = dataclasses.replace(lot(), answers=(("ask_water", "fresh"),))
    assert sheet(one("answer", "ask_water", "reused"), made=made).answers == (("ask_water", "fresh"),)


def test_patterns_comparisons_and_stages_that_were_normal_are_added():
    found = sheet(one("pattern", "bags", "one"))
    [pattern] = found.pattern
    assert (pattern.level, pattern.share, pattern.of, pattern.place) == ("bags", "one", None, PLACE)
    [compared] = sheet(one("comparison", "earlier_sample", "clean")).comparisons
    assert (compared.with_, compared.shows, compared.by) == ("earlier_sample", "clean", "the mill")
    [normal] = sheet(one("normal", "drying", None)).normal
    assert (normal.stage, normal.place) == ("drying", PLACE)


def test_a_contact_is_named_by_its_material():
    name, material = next(iter(BASE.materials.items()))
    [met] = sheet(one("contact", name, "beside", stage="transport")).contact
    assert (met.material, met.words, met.stage, met.how, met.by) == (
        name,
        material.label,
        "transport",
        "beside",
        "the mill",
    )
    [met] = sheet(one("contact", "no_such_thing", "beside")).contact
    assert met.words == "no_such_thing"


def test_a_laboratory_value_is_a_figure_a_range_or_a_word():
    def result(**fields):
        return sheet(one("laboratory", "tca", fields.pop("value", None), **fields)).laboratory[0]

    exact = result(amount=Amount(6.0, 6.0), unit="ng/g")
    assert (exact.compound, exact.value, exact.unit, exact.result, exact.amount) == (
        "tca",
        6.0,
        "ng/g",
        None,
        None,
    )
    ranged = result(amount=Amount(6.0, 9.0), unit="ng/g")
    assert (ranged.value, ranged.amount) == (None, Amount(6.0, 9.0))
    word = result(value="raised")
    assert (word.value, word.amount, word.result) == (None, None, "raised")


def test_what_the_lot_is_counts_where_the_sheet_does_not_say():
    bare = dataclasses.replace(lot(), process=None, species=None, origin=None, declared=())
    found = sheet(one("lot", "process", "natural"), one("lot", "species", "robusta", name="no"), made=bare)
    assert (found.process, found.species) == ("natural", None)
    assert sheet(one("lot", "species", "robusta"), made=bare).species == "robusta"
    assert sheet(one("lot", "origin", "Hills"), made=bare).origin == "Hills"
    full = dataclasses.replace(bare, process="washed", species="arabica", origin="Vale")
    for target, kept in (("process", "washed"), ("species", "arabica"), ("origin", "Vale")):
        assert getattr(sheet(one("lot", target, "other"), made=full), target) == kept
    assert sheet(one("lot", "declared", "aged"), made=bare).declared == ("aged",)
    assert sheet(
        one("lot", "declared", "aged"), made=dataclasses.replace(bare, declared=("aged",))
    ).declared == ("aged",)
    assert sheet(one("note", "process", "present"), made=bare).declared == ()


# Off-notes.


def note(name="musty", value="present", said=SAID, id_="x", **fields):
    heard = NoteSaid("present", "slight", 2, 5, (1, 3), "mouldy cellar")
    return one("note", name, value, said=said, name=id_, note=dataclasses.replace(heard, **fields))


def test_a_confirmed_note_is_a_cupping_of_its_own():
    made = sheet(note())
    cupping = made.cuppings[-1]
    assert len(made.cuppings) == 2
    assert (cupping.on, cupping.sample, cupping.cups, cupping.place) == (DAY, "unknown", None, PLACE)
    [tasting] = cupping.tastings
    assert (tasting.taster, tasting.language, tasting.not_found, tasting.checked_all) == (
        "the mill",
        "en",
        (),
        False,
    )
    [found] = tasting.notes
    assert (found.text, found.cups, found.of, found.intensity, found.means, found.which) == (
        "mouldy cellar",
        2,
        5,
        "slight",
        "musty",
        (1, 3),
    )
    [plain] = sheet(note(intensity="unstated")).cuppings[-1].tastings[0].notes
    assert plain.intensity is None
    [bare] = sheet(one("note", "musty", "present")).cuppings[-1].tastings[0].notes
    assert (bare.text, bare.cups, bare.of, bare.intensity, bare.which) == ("musty", None, None, None, ())


def test_a_note_that_is_not_there_is_not_found_unless_the_same_person_found_it():
    both = dataclasses.replace(SAID, confirmed=("x", "y"))
    [tasting] = sheet(note(value="absent")).cuppings[-1].tastings
    assert (tasting.notes, [each.means for each in tasting.not_found]) == ((), ["musty"])
    [tasting] = sheet(note(said=both), note(value="absent", said=both, id_="y")).cuppings[-1].tastings
    assert ([each.means for each in tasting.notes], tasting.not_found) == (["musty"], ())
    [tasting] = sheet(note(said=both), note("earthy", "absent", said=both, id_="y")).cuppings[-1].tastings
    assert [each.means for each in tasting.not_found] == ["earthy"]


def test_one_table_stands_for_each_sample_and_person():
    both = dataclasses.replace(SAID, confirmed=("x", "y"))
    sample = one("sample", "pre_shipment", None, said=both, name="y")
    made = sheet(note(said=both), sample)
    assert [cupping.sample for cupping in made.cuppings[1:]] == ["pre_shipment"]
    other = dataclasses.replace(SAID, by="the farm", text="other")
    made = sheet(
        note(said=both),
        sample,
        note(said=other),
        note("earthy", said=dataclasses.replace(both, confirmed=("y",)), id_="y"),
    )
    assert [(cupping.sample, cupping.tastings[0].taster) for cupping in made.cuppings[1:]] == [
        ("pre_shipment", "the mill"),
        ("unknown", "the farm"),
        ("unknown", "the mill"),
    ]


@pytest.mark.parametrize("target", ["surface"])
def test_a_row_of_another_kind_changes_nothing_else(target):
    made = sheet(one(target=target, value="soil"))
    assert (made.answers, made.pattern, made.contact, made.laboratory, made.normal) == ((), (), (), (), ())
    assert len(made.cuppings) == 1
