"""`tracer trace FOLDER` as its user runs it: one table, and all lots kept or none."""

from __future__ import annotations

import dataclasses
import json
import shutil
from pathlib import Path

import pytest

from tests.command import run
from tracer.batch.many import COLUMNS, Brief, Ranked
from tracer.lots.attached import example_path

ROOT = Path(__file__).resolve().parents[2]

LOT = """lot: {name}
exporter: {exporter}
clocks: [{{what: quality claim, clause: article 4, days: 21, from: 2026-04-01}}]
cuppings: [{{on: 2026-04-02, sample: arrival, cups: 5, tasters: [{{taster: ana, notes: [{note}], not_found: [smoky]}}]}}]
"""


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "lots"
    made.mkdir()
    for name, note in (
        ("A-1", ""),
        ("B-2", "{note: raw potato, cups: 2}"),
        ("C-3", "{note: mouldy, cups: 5}"),
        ("D-4", "petrol"),
    ):
        text = LOT.format(name=name, exporter=f"Exporter {name[0]}", note=note)
        (made / f"{name}.yaml").write_text(text, encoding="utf-8")
    return made


def test_the_table_has_lots_to_stop_first_then_those_to_hold_and_counts_the_sound_ones(folder):
    done = run("trace", str(folder), "--jobs", "1")
    assert done.returncode == 0, done.stderr
    out = done.stdout
    assert out.index("STOP  D-4") < out.index("HOLD  C-3") < out.index("B-2")
    assert "Exporter C" in out
    assert "2026-04-22" in out
    assert "nobody tastes or smells it further" in out
    assert "A-1" not in out
    assert "4 lots; 1 to stop; " in out
    assert "1 with nothing to trace" in out


def test_as_json_each_lot_is_a_line_with_what_to_do_next(folder):
    rows = [
        json.loads(line) for line in run("trace", str(folder), "--json", "--jobs", "1").stdout.splitlines()
    ]
    assert [row["lot"] for row in rows] == ["A-1", "B-2", "C-3", "D-4"]
    assert rows[0]["next"] == ""
    assert rows[3]["next"].startswith("nobody tastes")


def test_all_lots_are_kept_and_the_same_sheets_not_twice(folder, tmp_path):
    book = ("--casebook", str(tmp_path / "book.sqlite"))
    first = run("trace", str(folder), "--keep", "--by", "QA", "--jobs", "1", *book)
    assert first.returncode == 0, first.stderr
    assert "lot B-2: kept as case 2" in first.stderr
    assert "4 lots kept" in first.stderr
    assert "STOP  D-4" in first.stdout
    again = run("trace", str(folder), "--keep", "--by", "QA", "--jobs", "1", *book)
    assert "lot B-2: the same sheet is kept already as case 2" in again.stderr
    assert "0 lots kept" in again.stderr
    assert [one["lot"] for one in json.loads(run("cases", "--json", *book).stdout)] == [
        "A-1",
        "B-2",
        "C-3",
        "D-4",
    ]


def test_where_one_sheet_cannot_be_read_none_is_kept_and_it_says_why(folder, tmp_path):
    (folder / "bad.yaml").write_text("lot: B\nproces: washed\n", encoding="utf-8")
    book = ("--casebook", str(tmp_path / "book.sqlite"))
    done = run("trace", str(folder), "--keep", "--by", "QA", "--jobs", "1", *book)
    assert done.returncode == 1
    assert "bad.yaml:2:1: error" in done.stderr
    assert "none of the lots is kept: 1 of 5 cannot be read" in done.stderr
    assert "Traceback" not in done.stderr
    assert json.loads(run("cases", "--json", *book).stdout) == []


def test_lots_of_a_table_are_kept_as_sheets_that_can_be_traced_again(tmp_path):
    (tmp_path / "lots.csv").write_text(
        "lot,process,sample,cups,notes,moisture_on_arrival\nT-1,washed,arrival,5,musty in 3 of 5 cups,13.1 %\n",
        encoding="utf-8",
    )
    (tmp_path / "lots.jsonl").write_text(
        json.dumps(
            {
                "lot": "T-2",
                "cuppings": [
                    {"on": "2026-04-02", "cups": 5, "tasters": [{"taster": "x", "notes": ["musty"]}]}
                ],
            }
        ),
        encoding="utf-8",
    )
    for name in ("lots.csv", "lots.jsonl"):
        assert run("trace", str(tmp_path / name), "--keep", "--by", "QA", "--jobs", "1").returncode == 0
    for case in ("1", "2"):
        kept, again = (
            json.loads(run("cases", *verb, case, "--json").stdout) for verb in (("show",), ("again",))
        )
        assert kept["sources"][0]["fault"] == again["sources"][0]["fault"]
        assert kept["sources"][0]["probability"] == pytest.approx(
            again["sources"][0]["probability"], abs=1e-6
        )


@pytest.mark.parametrize(
    "words",
    [("--keep", "--json"), ("--keep", "--together"), ("--everything",), ("--replaces", "1"), ("--by", "QA")],
)
def test_what_does_not_go_together_is_told(folder, words):
    done = run("trace", str(folder), *words)
    assert done.returncode == 2
    assert words[0] in done.stderr


def test_the_table_names_no_source_that_the_trace_of_the_lot_does_not_support(tmp_path):
    weak = LOT.format(name="W-1", exporter="Exporter W", note="{note: harsh, cups: 1}")
    (tmp_path / "weak.yaml").write_text(weak, encoding="utf-8")
    shutil.copy(example_path("container_damp"), tmp_path / "sure.yaml")
    rows = [
        json.loads(line) for line in run("trace", str(tmp_path), "--json", "--jobs", "1").stdout.splitlines()
    ]
    found = {row["lot"]: row for row in rows}
    assert found["W-1"]["verdict"] == "insufficient_evidence"
    table = run("trace", str(tmp_path), "--jobs", "1").stdout
    (weak,) = (line for line in table.splitlines() if "W-1" in line)
    assert "none supported" in weak
    assert found["W-1"]["sources"][0]["label"] not in weak
    assert found["SVK-31"]["verdict"] == "source_supported"
    assert found["SVK-31"]["sources"][0]["label"] in " ".join(table.split())


def test_a_folder_of_sheets_is_checked_as_sheets_and_a_knowledge_folder_as_knowledge(folder):
    done = run("check", str(folder))
    assert done.returncode == 0, done.stderr
    assert "4 lot sheets, 0 with errors" in done.stdout
    (folder / "bad.yaml").write_text("lot: B\nproces: washed\n", encoding="utf-8")
    done = run("check", str(folder))
    assert done.returncode == 1
    assert "bad.yaml:2:1: error" in done.stderr
    assert "no kind of knowledge" not in done.stderr
    assert "5 lot sheets, 1 with errors" in done.stdout
    knowledge = run("check", "knowledge", cwd=ROOT)
    assert knowledge.returncode == 0
    assert "lot sheets" not in knowledge.stdout


def test_every_column_that_comes_out_is_told_in_the_documents():
    told = (ROOT / "tracer" / "cli" / "README.md").read_text(encoding="utf-8")
    table = told.split("What comes out of")[1].split("**The season.**")[0]
    assert [name for name in COLUMNS if f"`{name}`" not in table] == []
    fields = {field.name for kind in (Brief, Ranked) for field in dataclasses.fields(kind)} - {"low", "high"}
    assert [name for name in fields if f"`{name}`" not in table] == []


def test_a_casebook_that_is_named_and_not_there_is_told_for_many_lots_too(folder, tmp_path):
    done = run("trace", str(folder), "--json", "--jobs", "1", "--casebook", str(tmp_path / "none.sqlite"))
    assert done.returncode == 1
    assert "there is no casebook here" in done.stderr
    assert done.stdout == ""
