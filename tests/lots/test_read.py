"""Lot sheets: a good one, and every way to get one wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracer.knowledge.load import load_or_fail
from tracer.lots.read import parse_lot, read_lot
from tracer.lots.sheet import blank_sheet
from tracer.lots.table import parse_table
from tracer.quantity import QuantityError, read_quantity

BASE = load_or_fail()


def read(text: str):
    return parse_lot(text, "lot.yaml", BASE)


def problems(text: str) -> str:
    lot, issues = read(text)
    assert lot is None
    return "\n".join(map(str, issues))


def test_the_blank_sheet_reads_as_an_empty_lot():
    lot, issues = read(blank_sheet(BASE.stages, BASE.records))
    assert issues == []
    assert lot is not None
    assert lot.cuppings == ()


def test_every_record_can_be_filled_in_from_the_blank_sheet():
    lines = blank_sheet(BASE.stages, BASE.records)
    assert all(
        f"# {r.id}:" in lines
        for r in BASE.records.values()
        if r.section != "lot" and not (r.between or r.difference or r.logged)
    )


@pytest.mark.parametrize(
    ("sheet", "where", "message", "remedy"),
    [
        (
            "lot: A\nhistory: {drying: {layr: 4 cm}}",
            "lot.yaml:2:",
            "no record 'layr'",
            "Did you mean 'layer'?",
        ),
        (
            "lot: A\nhistory: {drying: {hours_to_pulping: 4 h}}",
            "lot.yaml:2:",
            "does not belong under drying",
            "history: processing",
        ),
        (
            "lot: A\nhistory: {rain_on_coffee: yes}",
            "lot.yaml:2:11",
            "'rain_on_coffee' does not belong under history",
            "Move it under history: drying.",
        ),
        (
            "lot: A\nhistory: {rain_on_beds: yes}",
            "lot.yaml:2:11",
            "history has no field 'rain_on_beds'",
            "'rain_on_coffee' under history: drying",
        ),
        (
            "lot: A\nhistory: {moisture_now: 12 %}",
            "lot.yaml:2:11",
            "'moisture_now' does not belong under history",
            "Move it under green.",
        ),
        (
            "lot: A\ntank_hours: 40 h",
            "lot.yaml:2:1",
            "'tank_hours' does not stand by itself at the top of the sheet",
            "Move it under history: processing.",
        ),
        (
            "lot: A\ndrying: {layer: 4 cm}",
            "lot.yaml:2:1",
            "'drying' does not stand by itself",
            "Move it under history.",
        ),
        (
            "lot: A\ngreen: {drying: {layer: 4 cm}}",
            "lot.yaml:2:",
            "'drying' does not belong",
            "under history.",
        ),
        ("lot: A\nhistory: {green: {}}", "lot.yaml:2:", "'green' does not belong", "It stands by itself"),
        ("lot: A\nhistory: {xyzzy: 1}", "lot.yaml:2:", "no field 'xyzzy'", "stand the stages"),
        ("lot: A\ngreen: {moisture_now: 112 %}", "lot.yaml:2:", "cannot be", "Was it 11.2?"),
        ("lot: A\ngreen: {moisture_now: 11 furlongs}", "lot.yaml:2:", "not a unit", "Use"),
        (
            "lot: A\nbench: {roast: [stopped_early, too_hot_or_dark]}",
            "lot.yaml:2:",
            "one value was expected here",
            "Write the one that tells most: to_protocol, stopped_early,",
        ),
        ("lot: A\nlot: B", "lot.yaml:2:1", "stands here twice", "Keep one"),
        ("lot: A\ncupping: []", "lot.yaml:2:1", "no field 'cupping'", "Did you mean 'cuppings'?"),
        (
            "lot: A\ncuppings: [{cups: 5, tasters: [{taster: x, notes: [{note: musty, cups: 7}]}]}]",
            "lot.yaml:2:",
            "7 cups of 5",
            "Check the counts",
        ),
        (
            "lot: A\ncuppings: [{tasters: [{taster: x, notes: [musty], not_found: [musty]}]}]",
            "lot.yaml:2:",
            "as found at",
            "Keep one",
        ),
        (
            "lot: A\nhistory: {transport: {loaded: 2026-03-09, discharged: 2026-02-01}}",
            "lot.yaml:2:",
            "is later than",
            "Check the two days",
        ),
        ("lot: A\nprocess: wet", "lot.yaml:2:", "not one of the choices", ""),
        (
            "lot: A\nlaboratory: [{compound: tcaa, value: 3}]",
            "lot.yaml:2:",
            "no compound",
            "Did you mean 'tca'?",
        ),
        ("lot: A\nanswers: {ask_water: maybe}", "lot.yaml:2:", "not one of the choices", "Choose"),
        ("lot: [1, 2]", "lot.yaml:1:", "plain text was expected", "one line"),
        ("- a\n- b", "lot.yaml:1:1", "must be fields", "tracer sheet"),
        ("lot: &x A\ncrop: [*x, *x]", "lot.yaml", "", ""),
        ('lot: "A\\e[31m"', "lot.yaml:1:", "control characters", "plain text"),
        ("lot: !!python/object:os.system x", "lot.yaml:1:", "tag", "plain values"),
        ("", "lot.yaml:1:1", "empty", "tracer sheet"),
    ],
)
def test_a_wrong_sheet_is_answered_with_place_and_mend(sheet, where, message, remedy):
    lot, issues = read(sheet)
    told = "\n".join(map(str, issues))
    if message:
        assert lot is None
    assert where in told
    assert message in told
    assert remedy in told


def test_all_problems_are_told_at_once():
    told = problems("lot: A\nspecies: [x]\nprocess: wet\ngreen: {moisture_now: 200 %, blck: 3}")
    assert told.count("error:") == 4


def test_a_nest_of_aliases_is_refused_quickly():
    bomb = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
        f"{chr(98 + i)}: &{chr(98 + i)} [{','.join(['*' + chr(97 + i)] * 9)}]\n" for i in range(8)
    )
    assert "aliases" in problems(bomb)


def test_a_sheet_of_ten_megabytes_is_refused_without_being_read(tmp_path):
    path = tmp_path / "big.yaml"
    path.write_text("lot: A\n" + "# filler\n" * 1_200_000)
    lot, issues = read_lot(path, BASE)
    assert lot is None
    assert "larger than" in str(issues[0])


@pytest.mark.parametrize("what", ["folder", "missing", "binary"])
def test_a_file_that_is_no_sheet_is_told_so(tmp_path, what):
    path = tmp_path / "x.yaml"
    if what == "folder":
        path.mkdir()
    if what == "binary":
        path.write_bytes(b"lot: \xff\xfe")
    lot, issues = read_lot(path, BASE)
    assert lot is None
    assert issues


def test_two_hundred_levels_are_refused():
    assert "nested too deep" in problems("[" * 200 + "]" * 200)


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_gives_a_lot_or_issues(text):
    lot, issues = read(text)
    assert lot is not None or issues


def test_quantities_are_brought_to_the_records_unit():
    assert read_quantity("2 d", "h") == 48
    assert read_quantity("11,8 %", "%") == 11.8
    assert read_quantity("50 F", "C") == pytest.approx(10)
    with pytest.raises(QuantityError):
        read_quantity("nine", "h")


def test_a_table_is_read_with_other_delimiters_and_headings():
    raw = "Catador;Nota;Tazas;de;idioma\nA;terroso;2;5;es\nB;moho;0;5;es\n".encode("utf-16")
    tastings, issues = parse_table(raw, "cups.csv")
    assert issues == []
    assert tastings[0].notes[0].cups == 2
    assert tastings[1].not_found[0].text == "moho"


def test_every_bad_row_of_a_table_is_told_with_its_number():
    _tastings, issues = parse_table(b"taster,note,cups,of\nA,musty,7,5\n,earthy,1,5\nB,x,two,5\n", "cups.csv")
    assert [issue.place.line for issue in issues] == [2, 3, 4]


def test_a_table_beside_the_sheet_is_read_through_it(tmp_path: Path):
    (tmp_path / "cups.csv").write_text("taster,note,cups,of\nA,musty,2,5\n")
    sheet = tmp_path / "lot.yaml"
    sheet.write_text("lot: A\ncuppings: [{table: cups.csv}]\n")
    lot, issues = read_lot(sheet, BASE)
    assert lot is not None, issues
    assert lot.cuppings[0].tastings[0].notes[0].cups == 2


def test_a_table_outside_the_folder_is_refused(tmp_path: Path):
    sheet = tmp_path / "lot.yaml"
    sheet.write_text("lot: A\ncuppings: [{table: ../../etc/passwd}]\n")
    lot, _issues = read_lot(sheet, BASE)
    assert lot is None


def test_every_error_of_a_sheet_is_told_at_once_whatever_else_is_wrong():
    told = problems(
        "lot: A\ncolour: red\nprocess: wished\ncuppings: [{sample: arival, cups: 5, tasters: [{taster: a, mood: bad, "
        "notes: [{note: musty, cups: 7}]}]}]\npattern: {bags: sume}\ncontact: [{with: onions, stage: nowhere}]\n"
        "history: {drying: {layer: 900 m, foo: 1}}\n"
    )
    for wanted in ("colour", "wished", "arival", "mood", "7 cups of 5", "sume", "nowhere", "900 m", "foo"):
        assert wanted in told
