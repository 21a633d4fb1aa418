"""A lot is kept once, a changed sheet is never kept in silence, and a correction takes over what was answered."""

from __future__ import annotations

import json

import pytest

from tests.command import run

LOT = """lot: RIV-7
exporter: Exporter R
cuppings: [{on: 2026-04-02, sample: arrival, cups: 5, tasters: [{taster: ana, notes: [{note: musty, cups: 3}]}]}]
"""
KEEP = ("--keep", "--by", "QA")


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "lot.yaml"
    path.write_text(LOT, encoding="utf-8")
    return path


def kept():
    return json.loads(run("cases", "--json").stdout)


def test_nobody_keeps_a_lot_without_a_name(sheet):
    done = run("trace", str(sheet), "--keep")
    assert done.returncode == 1
    assert "somebody must stand for it" in done.stderr
    assert kept() == []


def test_the_same_sheet_is_kept_once_and_told_which_case_it_is(sheet):
    assert "kept as case 1" in run("trace", str(sheet), *KEEP).stderr
    again = run("trace", str(sheet), *KEEP)
    assert again.returncode == 0
    assert "lot RIV-7: the same sheet is kept already as case 1" in again.stderr
    assert "the same sheet is kept already as case 1" in run("trace", str(sheet), *KEEP, "--another").stderr
    assert len(kept()) == 1


def test_a_changed_sheet_of_a_kept_lot_is_told_how_to_replace_and_how_to_stand_beside(sheet):
    run("trace", str(sheet), *KEEP)
    sheet.write_text(LOT.replace("cups: 3", "cups: 4"), encoding="utf-8")
    told = run("trace", str(sheet), *KEEP)
    assert told.returncode == 1
    assert "lot RIV-7 is kept already with another sheet, as case 1" in told.stderr
    assert "--replaces 1" in told.stderr
    assert "--another" in told.stderr
    assert len(kept()) == 1
    assert run("trace", str(sheet), *KEEP, "--replaces", "1").returncode == 0
    assert [one["replaced"] for one in kept()] == [True, False]
    sheet.write_text(LOT.replace("arrival", "pre_shipment"), encoding="utf-8")
    assert run("trace", str(sheet), *KEEP, "--another").returncode == 0
    assert [one["replaced"] for one in kept()] == [True, False, False]


def test_a_sheet_that_was_replaced_may_come_back_as_a_correction(sheet):
    run("trace", str(sheet), *KEEP)
    sheet.write_text(LOT.replace("cups: 3", "cups: 4"), encoding="utf-8")
    run("trace", str(sheet), *KEEP, "--replaces", "1")
    sheet.write_text(LOT, encoding="utf-8")
    assert "--replaces 2" in run("trace", str(sheet), *KEEP).stderr
    assert "kept as case 3" in run("trace", str(sheet), *KEEP, "--replaces", "2").stderr


def test_a_file_beside_the_sheet_that_changed_makes_it_another_sheet(tmp_path):
    (tmp_path / "table.csv").write_text("taster,note\nana,musty\n", encoding="utf-8")
    sheet = tmp_path / "lot.yaml"
    sheet.write_text("lot: T\ncuppings: [{cups: 5, table: table.csv}]\n", encoding="utf-8")
    assert run("trace", str(sheet), *KEEP).returncode == 0
    assert "kept already as case 1" in run("trace", str(sheet), *KEEP).stderr
    (tmp_path / "table.csv").write_text("taster,note\nana,rancid\n", encoding="utf-8")
    assert "with another sheet, as case 1" in run("trace", str(sheet), *KEEP).stderr


def test_a_correction_takes_over_the_answers_received_and_says_so(sheet):
    run("trace", str(sheet), *KEEP)
    for answer in ("test_smell_green=smoke", "test_smell_green=must", "test_preshipment=both"):
        assert run("answer", "1", answer, "--by", "buyer").returncode == 0
    sheet.write_text(LOT + "crop: 2025/26\n", encoding="utf-8")
    done = run("trace", str(sheet), *KEEP, "--replaces", "1")
    assert "answers carried over from case 1: test_smell_green = must; test_preshipment = both" in done.stderr
    shown = run("cases", "show", "2").stdout
    assert "test_preshipment = both" in shown
    assert "(of case 1)" in shown
    assert "smoke" not in shown
    old, new = kept()
    assert (new["source"], new["probability"]) == (old["source"], pytest.approx(old["probability"], abs=0.05))


@pytest.mark.parametrize("words", [("--replaces", "1"), ("--another",)])
def test_what_goes_with_keeping_alone_is_not_taken_in_silence(sheet, words):
    done = run("trace", str(sheet), *words)
    assert done.returncode == 2
    assert "go with --keep" in done.stderr


def test_of_a_folder_a_changed_sheet_is_passed_over_with_a_word_and_the_others_are_kept(tmp_path):
    folder = tmp_path / "lots"
    folder.mkdir()
    for name in ("A", "B"):
        (folder / f"{name}.yaml").write_text(LOT.replace("RIV-7", name), encoding="utf-8")
    words = ("trace", str(folder), *KEEP, "--jobs", "1")
    assert run(*words).returncode == 0
    (folder / "A.yaml").write_text(LOT.replace("RIV-7", "A").replace("cups: 3", "cups: 4"), encoding="utf-8")
    (folder / "C.yaml").write_text(LOT.replace("RIV-7", "C"), encoding="utf-8")
    done = run(*words)
    assert done.returncode == 1
    assert "A.yaml" in done.stderr
    assert "lot A is kept already with another sheet, as case 1" in done.stderr
    assert "lot B: the same sheet is kept already as case 2" in done.stderr
    assert "lot C: kept as case 3" in done.stderr
    assert run(*words, "--another").returncode == 0
    assert [one["lot"] for one in kept()] == ["A", "B", "C", "A"]
    assert "0 lots kept" in run(*words).stderr


def test_two_sheets_of_one_lot_in_a_folder_are_both_kept_and_neither_twice(tmp_path):
    folder = tmp_path / "lots"
    folder.mkdir()
    (folder / "a.yaml").write_text(LOT, encoding="utf-8")
    (folder / "b.yaml").write_text(LOT.replace("musty", "rubbery"), encoding="utf-8")
    words = ("trace", str(folder), *KEEP, "--jobs", "1")
    assert "2 lots kept" in run(*words).stderr
    assert "0 lots kept" in run(*words).stderr
    assert len(kept()) == 2
