"""Whatever a file holds, every loader gives data or problems with their mend: never an exception, never a hang."""

from __future__ import annotations

import io
import json
import os
import re
import tracemalloc
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tracer.batch.archive import pieces, read_piece
from tracer.issues import InputError, Place, has_errors
from tracer.knowledge.load import load, load_or_fail
from tracer.knowledge.shipped import knowledge_folder
from tracer.lots.attached import example_path, examples
from tracer.lots.logs.columns import propose
from tracer.lots.logs.grid import read_grid
from tracer.lots.read import lot_of_data, parse_lot, read_lot
from tracer.lots.sheet import blank_sheet
from tracer.panel.files import read_answers, read_key
from tracer.spreadsheets.limits import TableError
from tracer.spreadsheets.rows import table_rows
from tracer.tracing import prepare, trace
from tracer.words.reading import read_words

MANY = int(os.environ.get("TRACER_FUZZ", "200"))
"""Examples a test; more on demand."""
ANY = settings(max_examples=MANY, deadline=None, suppress_health_check=list(HealthCheck))
BASE = load_or_fail()
READY = prepare(BASE)  # not fixtures: a failing example would print all of the knowledge
FEW = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
SHEETS = [example_path(name).read_text(encoding="utf-8") for name in examples()]
odd = st.text(st.characters(codec="utf-8")) | st.sampled_from(
    ["", "\u202e", "\x00", "=1+1", "[red]x[/]", "9" * 400, "1e999", "nan", "-0", "٣", "Ⅻ", "2026-02-30"]
)
leaves = st.none() | st.booleans() | st.integers() | st.floats() | odd | st.dates().map(str)
fields = st.sampled_from(["lot", "cuppings", "tasters", "taster", "notes", "note", "cups", "of", "means", "intensity", "history", "drying", "transport", "logs", "file", "where", "columns", "readings", "on", "moisture", "beds", "green", "grading", "counts", "weight", "laboratory", "compound", "value", "unit", "result", "answers", "said", "text", "clocks", "days", "from", "custody", "made_of", "bench", "control", "table"])  # fmt: skip
trees = st.recursive(
    leaves,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(fields | odd, inner, max_size=5),
    max_leaves=25,
)


@ANY
@given(st.dictionaries(fields | odd, trees, max_size=6))
def test_any_data_as_a_lot_gives_a_lot_or_problems_and_a_lot_can_be_traced(data):
    base, ready = BASE, READY
    lot, issues = lot_of_data(data, Place("x"), base)
    assert (lot is not None) or has_errors(issues)
    if lot is not None:
        trace(lot, base, ready)


@ANY
@given(st.sampled_from(SHEETS), st.data())
def test_a_good_sheet_with_a_stretch_torn_out_or_put_in_gives_a_lot_or_problems(sheet, data):
    start = data.draw(st.integers(0, len(sheet)))
    stop = data.draw(st.integers(start, min(len(sheet), start + 200)))
    lot, issues = parse_lot(sheet[:start] + data.draw(odd) + sheet[stop:], "lot.yaml", BASE)
    assert (lot is not None) or has_errors(issues)
    for issue in issues:
        assert issue.place.line >= 1
        assert issue.remedy
        assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f]", issue.message + issue.remedy)


@FEW
@given(st.data())
def test_any_bytes_as_a_logger_file_give_a_grid_or_a_reason(tmp_path_factory, data):
    good = b"Date;T C;RH %\n01/02/2026 10:00;21,5;66\n01/02/2026 11:00;22,0;65\n"
    cut = data.draw(st.integers(0, len(good)))
    raw = good[:cut] + data.draw(st.binary(max_size=200)) + good[cut:]
    path = tmp_path_factory.mktemp("log") / data.draw(st.sampled_from(["a.csv", "a.xlsx", "a"]))
    path.write_bytes(
        data.draw(st.sampled_from([raw, b"PK\x03\x04" + raw, raw.decode("latin-1").encode("utf-16")]))
    )
    try:
        grid = read_grid(path)
    except TableError as error:
        assert error.remedy  # noqa: PT017
    else:
        propose(grid.headings, grid.frame)


@ANY
@given(st.binary(max_size=300) | odd.map(str.encode))
def test_any_bytes_as_a_table_give_rows_or_problems(raw):
    for start in (b"", b"taster,note\n", b"\xff\xfe", b"PK\x03\x04"):
        rows, issues = table_rows(start + raw, "cups.csv")
        assert rows or issues or not raw.strip() or not any(row for _, row in rows)


@FEW
@given(st.binary(max_size=300), st.sampled_from([".csv", ".yaml", ".xlsx"]))
def test_any_bytes_as_a_key_or_answers_give_problems(tmp_path_factory, raw, ending):
    path = tmp_path_factory.mktemp("panel") / f"a{ending}"
    path.write_bytes(raw)
    for read in (read_key, read_answers):
        found, issues = read(path)
        assert found or issues


@ANY
@given(st.lists(odd, max_size=8).map(" ".join))
def test_any_words_give_readings_and_lose_none(text):
    read_words(text, READY.vocabulary, ("es",))


@FEW
@given(st.data())
def test_a_torn_knowledge_file_gives_problems_with_their_place(tmp_path_factory, data):
    import shutil

    folder = tmp_path_factory.mktemp("k") / "knowledge"
    large = {"bench.yaml", "pattern.yaml", "green.yaml", *(f"{stage}.yaml" for stage in BASE.stages)}
    shutil.copytree(
        knowledge_folder(),
        folder,
        ignore=lambda where, names: [
            name
            for name in names
            if (where.endswith("phrases") and name in large)
            or (where.endswith("words") and name != "am.yaml")
            or (where.endswith("precedents") and name != "found.yaml")
        ],
    )  # the long lists of the same form stay away, for speed
    file = data.draw(st.sampled_from(sorted(folder.rglob("*.yaml"))))
    text = file.read_text(encoding="utf-8")
    start = data.draw(st.integers(0, len(text)))
    stop = data.draw(st.integers(start, min(len(text), start + 80)))
    file.write_text(text[:start] + data.draw(odd) + text[stop:], encoding="utf-8")
    base, issues = load(folder)
    assert base is not None or has_errors(issues)


@FEW
@given(st.lists(odd, max_size=6).map("\n".join), st.sampled_from([".csv", ".jsonl"]))
def test_any_text_as_an_archive_gives_lots_or_problems(tmp_path_factory, text, ending):
    base = BASE
    path = tmp_path_factory.mktemp("archive") / f"lots{ending}"
    path.write_text(("lot,notes,cups\n" if ending == ".csv" else "") + text, encoding="utf-8", newline="")
    try:
        for piece in pieces(path, base):
            lot, issues = read_piece(piece, base)
            assert lot is not None or issues
    except InputError as error:
        assert error.issues  # noqa: PT017


@pytest.mark.parametrize("depth", [41, 200, 100_000])
@pytest.mark.parametrize("opening", ["[", "{a: ", "- "])
def test_a_deep_nest_is_refused_quickly(base, opening, depth):
    lot, issues = parse_lot("lot: " + opening * depth, "lot.yaml", base)
    assert lot is None
    assert issues


def test_deep_json_is_refused(base):
    assert read_piece(("x", 1, '{"lot":' + "[" * 100_000), base)[1]
    lot, issues = read_piece(("x", 1, json.dumps({"lot": "A", "cuppings": [[[[[[[]]]]]]]})), base)
    assert lot is None
    assert issues


@pytest.mark.parametrize(
    "inside", ["xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "[Content_Types].xml"]
)
def test_a_workbook_bomb_costs_neither_time_nor_memory(tmp_path, inside):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(inside, b"0" * 250_000_000)
    path = tmp_path / "log.xlsx"
    path.write_bytes(made.getvalue())
    tracemalloc.start()
    with pytest.raises(TableError, match="unpacks"):
        read_grid(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 20_000_000


def test_an_xml_bomb_in_a_workbook_is_not_unfolded():
    openpyxl = pytest.importorskip("openpyxl")
    book = io.BytesIO()
    openpyxl.Workbook().save(book)
    entities = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    bomb = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "ha">{entities}]><worksheet><sheetData><row><c t="inlineStr"><is><t>&a9;</t></is></c></row></sheetData></worksheet>'
    made = io.BytesIO()
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            new.writestr(name, bomb if name.endswith("sheet1.xml") else old.read(name))
    rows, issues = table_rows(made.getvalue(), "cups.xlsx")
    assert issues
    assert not rows


@pytest.mark.parametrize(
    ("written", "descriptor"),
    [
        ("ｍｕｓｔｙ", "musty"),
        ("MUSTY", "musty"),
        ("mu\u0301sty", "musty"),
        ("mus\u200bty", "musty"),
        ("mu\u00adsty", "musty"),
        ("muѕty", None),
    ],
)
def test_look_alikes_are_folded_where_unicode_says_so_and_asked_back_where_it_does_not(
    ready, written, descriptor
):
    (reading,) = read_words(written, ready.vocabulary)
    if descriptor:
        assert reading.descriptor == descriptor
    else:
        assert reading.outcome in ("unknown", "ambiguous")  # asked, never taken as written


def test_a_lot_of_a_thousand_notes_by_forty_tasters_is_traced_in_time(base, ready):

    names = [entry.words["en"][0] for entry in base.descriptors.values() if entry.words.get("en")]
    tasters = [
        {
            "taster": f"t{t}",
            "notes": [{"note": names[(t * 25 + n) % len(names)], "cups": 1 + n % 5} for n in range(25)],
        }
        for t in range(40)
    ]
    lot, issues = lot_of_data({"lot": "A", "cuppings": [{"cups": 5, "tasters": tasters}]}, Place("x"), base)
    assert lot is not None, issues
    report = trace(lot, base, ready)
    assert report.sources


def test_the_blank_sheet_never_breaks_however_it_is_filled_with_odd_text(base):
    sheet = blank_sheet(base.stages, base.records)
    for text in ("\u202e", "[bold]", "{{x}}", "%s%n", "$(reboot)", "`id`", "../../etc/passwd"):
        lot, issues = parse_lot(sheet.replace("NEW-LOT", f"'{text}'"), "lot.yaml", base)
        assert lot is not None, issues


@pytest.mark.parametrize(
    "moment", ["2026-03-29 02:30", "2026-10-25 02:30", "0001-01-01", "9999-12-31", "2024-02-29"]
)
def test_days_at_the_edge_of_the_calendar_and_of_summer_time_are_read_or_told(base, ready, moment, tmp_path):
    sheet = f"lot: A\nhistory:\n  drying:\n    timezone: Europe/Berlin\n    readings: [{{on: {moment}, moisture: 12 %, method: meter}}]\ncuppings: [{{on: 2026-03-09, cups: 5, tasters: [{{taster: a, notes: [musty]}}]}}]\n"
    (tmp_path / "lot.yaml").write_text(sheet)
    lot, issues = read_lot(tmp_path / "lot.yaml", base)
    assert lot is not None or has_errors(issues)
    if lot is not None:
        trace(lot, base, ready)
