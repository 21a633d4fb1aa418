"""What is kept of a session: what was answered, once, and nothing that was not understood or not written."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from tests.command import run

NOTES = ("potato@3", "sour vinegary", "musty", "phenolic@3")


@pytest.fixture
def folder(tmp_path) -> Path:
    words = [word for note in NOTES for word in ("--note", note)]
    done = run(
        "panel",
        "set",
        *words,
        "--taster",
        "Ana",
        "--taster",
        "Bùi",
        "--out",
        str(tmp_path / "set"),
        "--seed",
        "5",
    )
    assert done.returncode == 0, done.stderr
    return tmp_path / "set"


def key_of(folder: Path) -> list[dict[str, str]]:
    return list(csv.DictReader((folder / "key.csv").open(encoding="utf-8")))


def answer(folder: Path, said, name: str = "answers.csv", taster=lambda name: name) -> None:
    with (folder / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["taster", "code", "notes", "intensity", "remark"])
        for place, row in enumerate(key_of(folder)):
            writer.writerow([taster(row["taster"]), row["code"], said(place, row), "", ""])


def scored(folder: Path, *more: str, answers: str = "answers.csv"):
    return run("panel", "score", str(folder / "key.csv"), str(folder / answers), *more)


def right(_: int, row: dict[str, str]) -> str:
    return row["notes"].replace("_", " ").replace("potato pea", "raw potato") or "clean"


def test_an_untouched_sheet_scores_nothing_and_keeps_nothing(folder):
    done = scored(folder, "--keep")
    assert done.returncode == 1
    assert "no cup of the key has an answer" in done.stderr
    assert json.loads(run("panel", "status", "--json").stdout) == []


def test_cups_that_were_not_answered_are_no_misses(folder):
    answer(folder, lambda place, row: right(place, row) if place % 2 else " ")
    done = scored(folder, "--json")
    assert done.returncode == 0, done.stderr
    counts = json.loads(done.stdout)["counts"]
    assert sum(row["hits"] for row in counts)
    assert sum(row["misses"] for row in counts) == 0
    assert "have no answer and are not counted" in done.stderr


def test_a_word_that_is_not_understood_is_set_aside_and_the_session_is_kept(folder):
    answer(folder, lambda place, row: "blorp" if row["notes"] == "musty" else right(place, row))
    done = scored(folder, "--keep", "--json")
    assert done.returncode == 0, done.stderr
    assert "'blorp' is no word of the vocabulary; it is set aside" in done.stderr
    counts = json.loads(done.stdout)["counts"]
    assert sum(row["misses"] for row in counts) == 0
    assert "kept as session 1" in done.stderr


def test_a_word_that_is_not_understood_is_never_told_as_a_cup_without_answer_or_as_clean(folder):
    answer(folder, lambda place, row: "flurbish" if row["notes"] == "musty" else right(place, row))
    done = scored(folder)
    assert done.returncode == 0, done.stderr
    assert "'flurbish' is no word of the vocabulary; it is set aside" in done.stderr
    assert "Ask the taster what was meant, and write that." in done.stderr
    assert "have no answer" not in done.stderr
    assert "clean" not in done.stderr


def test_a_kept_session_is_called_as_the_folder_of_its_key(folder):
    answer(folder, right)
    assert scored(folder, "--keep").returncode == 0
    assert "  set  " in run("panel", "status", "--sessions").stdout


def made_set(out: Path, *more: str) -> tuple[str, str]:
    words = ("--note", "musty", "--note", "potato@3", "--taster", "Ana", "--taster", "Bui")
    done = run("panel", "set", *words, "--out", str(out), *more)
    assert done.returncode == 0, done.stderr
    return (out / "key.csv").read_text(encoding="utf-8"), done.stdout


def test_two_sets_made_alike_are_different_and_the_seed_that_is_told_makes_one_again(tmp_path):
    first, told = made_set(tmp_path / "a")
    second, _ = made_set(tmp_path / "b")
    assert first != second
    seed = re.search(r"--seed (\d+)", told)
    assert seed
    again, _ = made_set(tmp_path / "c", "--seed", seed[1])
    assert again == first
    assert "<title>a" in (tmp_path / "a" / "sheets.html").read_text(encoding="utf-8")


def test_a_session_is_kept_once_and_a_second_time_only_as_another_or_a_correction(folder):
    answer(folder, right)
    assert scored(folder, "--keep").returncode == 0
    again = scored(folder, "--keep", "--on", "2030-01-01")
    assert again.returncode == 1
    assert "kept already, as session 1" in again.stderr
    assert scored(folder, "--keep", "--replaces", "1").returncode == 0
    assert scored(folder, "--keep").returncode == 1
    assert scored(folder, "--keep", "--another").returncode == 0
    assert len(json.loads(run("panel", "status", "--json").stdout)[0]["visits"]) == 2


def test_names_are_one_name_however_they_are_written(folder):
    answer(folder, right, taster=lambda name: {"Ana": " ANA ", "Bùi": "bui"}[name])
    done = scored(folder, "--keep", "--json")
    assert done.returncode == 0, done.stderr
    assert list(json.loads(done.stdout)["confusions"]) == ["Ana", "Bùi"]
    twins = run(
        "panel", "set", "--note", "musty", "--taster", "Bùi", "--taster", "BUI", "--out", str(folder / "x")
    )
    assert twins.returncode == 1
    assert "different names" in twins.stderr


def test_a_removed_session_counts_no_more_and_stays_in_the_book(folder):
    answer(folder, right)
    scored(folder, "--keep")
    refused = run("panel", "remove", "1", "--by", "QA", "--why", " ")
    assert refused.returncode == 1
    assert "without a reason" in refused.stderr
    assert run("panel", "remove", "7", "--by", "QA", "--why", "x").returncode == 1
    assert run("panel", "remove", "1", "--by", "QA", "--why", "the kettle was dirty").returncode == 0
    assert json.loads(run("panel", "status", "--json").stdout) == []
    listed = run("panel", "status", "--sessions").stdout
    assert "(replaced)" in listed
    assert "takes out session 1" in listed
    assert run("panel", "remove", "1", "--by", "QA", "--why", "again").returncode == 1
    back = run("panel", "remove", "2", "--by", "QA", "--why", "it was the other kettle")
    assert back.stdout == "session 1 counts again (entry 3).\n"
    assert json.loads(run("panel", "status", "--json").stdout) != []
    listed = run("panel", "status", "--sessions").stdout
    assert "(replaced)" not in listed
    assert "(undone)" in listed
    assert "undoes entry 2" in listed
    assert run("panel", "remove", "1", "--by", "QA", "--why", "it was dirty after all").returncode == 0
    assert scored(folder, "--keep").returncode == 0
