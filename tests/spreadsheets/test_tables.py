"""Every table file is read by one reader: the same encodings, limits and errors for whoever asks."""

from __future__ import annotations

import io
import tracemalloc
import zipfile

import pytest

from tests.command import run
from tests.workbook import workbook
from tracer.lots.logs.columns import propose
from tracer.lots.logs.grid import read_grid
from tracer.spreadsheets.limits import TABLE, Limits
from tracer.spreadsheets.rows import table_rows
from tracer.spreadsheets.write import csv_line, plain_cell, safe_cell

NAMESPACE = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
HEAD = '<row r="1"><c r="A1" t="inlineStr"><is><t>taster</t></is></c><c r="B1" t="inlineStr"><is><t>note</t></is></c></row>'
ROW = '<row r="1048576"><c r="A1048576"><v>1</v></c></row>'


def written(sheet: str) -> bytes:
    """A workbook whose first sheet is this XML."""
    made = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook([]))) as old,
        zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            new.writestr(name, sheet if name.endswith("sheet1.xml") else old.read(name))
    return made.getvalue()


def sheet(rows: str, dimension: str = "") -> bytes:
    """A workbook with these rows below a heading."""
    return written(f"<worksheet {NAMESPACE}>{dimension}<sheetData>{HEAD}{rows}</sheetData></worksheet>")


def test_a_far_row_in_a_sheet_that_claims_to_be_huge_costs_what_the_row_costs():
    raw = sheet(ROW, '<dimension ref="A1:XFD1048576"/>')
    assert len(raw) < 6000
    tracemalloc.start()
    rows, issues = table_rows(raw, "far.xlsx")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert not issues
    assert rows == [(1, ["taster", "note"]), (1048576, ["1", ""])]
    assert peak < 10_000_000


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ('<row r="999999999999"><c r="A1"><v>1</v></c></row>', "more than 1,048,576 rows"),
        ("<row/>" * 1_048_577, "more than 1,048,576 rows"),
        ('<row r="2">' + "<c/>" * 600_000 + "</row>", "more than 500,000 cells"),
        ("".join(f'<row r="{n}"><c r="XFD{n}"><v>1</v></c></row>' for n in range(2, 60)), "more than 500,000 cells"),
        ("".join(f'<row r="{n}"><c r="A{n}"><v>1</v></c></row>' for n in range(2, 50_010)), "more than 50,000 rows"),
        ("<x/>" * 600_000, "more than 500,000 words and formats"),
    ],
)  # fmt: skip
def test_a_workbook_that_would_unfold_to_far_too_much_is_refused_with_its_mend(rows, told):
    tracemalloc.start()
    found, issues = table_rows(sheet(rows), "bomb.xlsx")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert not found
    assert told in issues[0].message
    assert "CSV" in issues[0].remedy
    assert peak < 60_000_000


def test_csv_has_the_same_limits():
    few = Limits(bytes=1000, unpacked=1000, rows=3, cells=8)
    assert not table_rows(b"a,b\n1,2\n3,4\n", "a.csv", few)[1]
    for raw in (b"a,b\n" * 4, b"a,b,c,d,e\n" * 2, b"a" * 1001):
        rows, issues = table_rows(raw, "a.csv", few)
        assert not rows
        assert issues[0].remedy


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_encodings_and_marks_do_not_matter(encoding, mark):
    text = mark.join(("taster", "note")) + "\r\n\r\n" + mark.join(("Ana", '"moho, cartón\nmojado"')) + "\r\n"
    rows, issues = table_rows(text.encode(encoding), "a.csv")
    assert not issues
    assert rows == [(1, ["taster", "note"]), (3, ["Ana", "moho, cartón\nmojado"])]


def test_words_in_an_encoding_that_would_have_to_be_guessed_are_refused():
    rows, issues = table_rows("taster,note\nAna,cartón\n".encode("cp1252"), "a.csv")
    assert not rows
    assert "UTF-8" in issues[0].remedy


def test_an_old_binary_workbook_is_named_as_what_it_is():
    assert (
        "binary workbook"
        in table_rows(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"x" * 600, "a.xls")[1][0].message
    )


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1", " =1", "＝1+1", "＋1", "－1", "＠x", "﹦1"]
)
def test_no_sign_that_starts_a_formula_starts_a_cell_in_any_width(text):
    assert safe_cell(text) == "'" + text
    assert plain_cell(safe_cell(text)) == text
    assert csv_line([text]).lstrip('"').startswith("'")


@pytest.mark.parametrize("text", ["musty", "'n' und", "", "２０２６", "a=b"])
def test_other_cells_are_written_as_they_are(text):
    assert safe_cell(text) == text
    assert plain_cell(text) == text


def test_a_grading_a_series_and_answers_may_each_be_a_workbook(tmp_path):
    series = workbook([["taster", 1, 2, 4], ["Ana", 0, 0, 1], ["Ben", 0, 1, None]])
    (tmp_path / "series.xlsx").write_bytes(series)
    told = run("panel", "threshold", "series.xlsx", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    assert "Ana" in told.stdout
    (tmp_path / "grading.xlsx").write_bytes(workbook([["defect", "beans"], ["full black", 3]]))
    (tmp_path / "lot.yaml").write_text(
        "lot: A\ncuppings:\n  - tasters:\n      - {taster: Ana, notes: [musty]}\n"
        "green:\n  grading: {weight: 300 g, table: grading.xlsx}\n"
    )
    assert run("trace", "lot.yaml", cwd=tmp_path).returncode == 0


@pytest.mark.parametrize("size", [TABLE.bytes + 1])
def test_a_file_that_is_too_large_is_refused_before_it_is_read(tmp_path, size):
    with (tmp_path / "answers.csv").open("wb") as file:
        file.truncate(size)
    (tmp_path / "key.csv").write_text("taster,place,code,sample\nAna,1,123,blank\n")
    told = run("panel", "score", "key.csv", "answers.csv", cwd=tmp_path)
    assert told.returncode == 1
    assert "larger than 5,000,000 bytes" in told.stderr


@pytest.mark.parametrize(
    ("headings", "cells", "time", "temperature", "humidity"),
    [
        ("Zeitstempel;Lufttemperatur [°C];Luftfeuchtigkeit [%]", "31.01.2026 10:00;21,5;66", 1, 1, 2),
        ("Datum;Uhrzeit;Temperatur °C;rel. Feuchte %", "31.01.2026;10:00;21,5;66", 2, 2, 3),
        ("Messzeit;Innentemperatur;Raumfeuchte;Taupunkt °C", "31.01.2026 10:00;21,5;66;12", 1, 1, 2),
        ("Data;Ora;Temperatura (°C);Umidità (%)", "31/01/2026;10:00;21,5;66", 2, 2, 3),
        ("Horodatage;Température °C;Humidité %HR", "31/01/2026 10:00;21,5;66", 1, 1, 2),
        ("Datum/tijd;Temperatuur °C;Luchtvochtigheid %;Dauwpunt", "31/01/2026 10:00;21,5;66;9", 1, 1, 2),
        ("Data i godzina;Temperatura [°C];Wilgotność [%]", "31.01.2026 10:00;21,5;66", 1, 1, 2),
        ("Дата;Время;Температура °C;Влажность %", "31.01.2026;10:00;21,5;66", 2, 2, 3),
        ("Tarih;Saat;Sıcaklık °C;Nem %", "31.01.2026;10:00;21,5;66", 2, 2, 3),
        ("Dato;Tid;Temperatur;Luftfugtighed", "31-01-2026;10:00;21,5;66", 2, 2, 3),
        ("Fecha;Hora;Temperatura_C;Humedad_relativa", "31/01/2026;10:00;21,5;66", 2, 2, 3),
        ("时间;温度;湿度", "2026/01/31 10:00;21.5;66", 1, 1, 2),
        ("일시;온도;습도", "2026/01/31 10:00;21.5;66", 1, 1, 2),
    ],
)
def test_columns_of_a_logger_are_proposed_in_the_language_of_its_headings(
    tmp_path, headings, cells, time, temperature, humidity
):
    (tmp_path / "log.csv").write_text(f"{headings}\n{cells}\n{cells}\n", encoding="utf-8")
    grid = read_grid(tmp_path / "log.csv")
    found, names = propose(grid.headings, grid.frame), headings.split(";")
    assert found.time == tuple(names[:time])
    assert found.channels == {"temperature": names[temperature], "humidity": names[humidity]}
