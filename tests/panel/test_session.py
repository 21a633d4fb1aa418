"""One session through the real command: set, answers in any language, score, keep, standing, drill, and into the diagnosis."""

from __future__ import annotations

import csv
import json
import random

import pytest

from tests.command import run
from tracer.knowledge.load import load_or_fail
from tracer.panel.drill import case_cards

NOTES = ("potato@3", "phenolic@3!", "sour vinegary", "musty")


def make(tmp_path, *more: str):
    words = [word for note in NOTES for word in ("--note", note)]
    words += [word for taster in ("Ana", "Bùi") for word in ("--taster", taster)]
    done = run("panel", "set", *words, "--out", str(tmp_path / "set"), "--seed", "5", "--blanks", "2", *more)
    assert done.returncode == 0, done.stderr
    return tmp_path / "set"


def fill(folder, words: dict[str, str]):
    key = list(csv.DictReader((folder / "key.csv").open(encoding="utf-8")))
    with (folder / "answers.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["taster", "code", "notes", "intensity", "remark"])
        for row in key:
            writer.writerow([row["taster"], row["code"], words.get(row["notes"], "clean"), "", ""])
    return key


GOOD = {"potato_pea": "papa cruda", "phenolic": "phénolique", "sour_vinegary": "vinegar", "musty": "musty"}


def test_a_session_from_set_to_standing(tmp_path):
    folder = make(tmp_path)
    sheets = (folder / "sheets.html").read_text(encoding="utf-8")
    answers = (folder / "answers.csv").read_text(encoding="utf-8")
    for secret in ("musty", "phenolic", "blank"):
        assert secret not in answers.lower()
        assert secret not in sheets.lower().split("<ul>")[0]
    key = fill(folder, GOOD)
    done = run(
        "panel",
        "score",
        str(folder / "key.csv"),
        str(folder / "answers.csv"),
        "--keep",
        "--on",
        "2026-03-09",
        "--json",
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    for row in found["counts"]:
        assert row["misses"] == row["false_alarms"] == 0
    assert sum(row["hits"] for row in found["counts"]) == sum(bool(row["notes"]) for row in key)
    assert found["repeats_alike"]["Ana"] == [1, 1]
    status = run("panel", "status", "--on", "2026-08-01", "--svg", str(tmp_path / "t.svg"))
    assert "OVERDUE" in status.stdout
    assert "1 session kept" in status.stdout
    assert (tmp_path / "t.svg").read_text(encoding="utf-8").startswith("<svg")


def test_answers_may_come_as_a_workbook_or_yaml(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    folder = make(tmp_path)
    fill(folder, GOOD)
    rows = list(csv.reader((folder / "answers.csv").open(encoding="utf-8")))
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(folder / "answers.xlsx")
    lines = [f"- {{taster: {r[0]}, code: '{r[1]}', notes: {r[2]}}}" for r in rows[1:]]
    (folder / "answers.yaml").write_text("\n".join(lines), encoding="utf-8")
    scores = [
        run("panel", "score", str(folder / "key.csv"), str(folder / f"answers.{kind}"), "--json").stdout
        for kind in ("csv", "xlsx", "yaml")
    ]
    assert scores[0] == scores[1] == scores[2]


def test_every_mistake_in_the_answers_is_told_and_nothing_is_kept(tmp_path):
    folder = make(tmp_path)
    fill(folder, {**GOOD, "musty": "moho", "sour_vinegary": "blorp"})
    text = (folder / "answers.csv").read_text(
        encoding="utf-8"
    ) + "Ana,999,musty,,\nNobody,123,musty,,\nAna,,musty,,\n"
    (folder / "answers.csv").write_text(text, encoding="utf-8")
    done = run("panel", "score", str(folder / "key.csv"), str(folder / "answers.csv"), "--keep")
    assert done.returncode == 1
    assert "has no code" in done.stderr
    text = text.replace("Ana,,musty,,\n", "")
    (folder / "answers.csv").write_text(text, encoding="utf-8")
    done = run("panel", "score", str(folder / "key.csv"), str(folder / "answers.csv"), "--keep")
    assert done.returncode == 1
    assert "Ana has no cup 999" in done.stderr
    assert "Nobody has no cup 123" in done.stderr
    assert "'moho' means several things" in done.stderr
    assert "'blorp' is no word of the vocabulary" in done.stderr
    assert "Traceback" not in done.stderr
    assert "No session is kept yet" in run("panel", "status").stdout


def test_a_key_is_never_overwritten(tmp_path):
    make(tmp_path)
    again = run("panel", "set", "--note", "musty", "--taster", "A", "--out", str(tmp_path / "set"))
    assert again.returncode == 1
    assert "is there already" in again.stderr


def test_measured_tasters_move_the_answer_and_the_report_says_how_far(tmp_path):
    lot = _measured(tmp_path)
    report = json.loads(run("trace", str(lot), "--json").stdout)
    panel = report["panel"]
    assert panel["measured"][0]["taster"] == "Ana"
    assert panel["measured"][0]["age_days"] == 4
    assert panel["probability"] < panel["average"] / 2  # she names musty whatever is served
    shown = run("trace", str(lot)).stdout
    assert "with an average panel" in shown
    other = lot.with_name("other.yaml")
    other.write_text(lot.read_text(encoding="utf-8").replace("ana", "Zoe"), encoding="utf-8")
    assert json.loads(run("trace", str(other), "--json").stdout)["panel"] is None


def test_many_lots_are_traced_with_the_measured_tasters_too_and_it_is_told(tmp_path):
    lot = _measured(tmp_path)
    one = json.loads(run("trace", str(lot), "--json").stdout)
    for jobs in ("1", "2"):
        many = run("trace", str(lot.parent), "--json", "--jobs", jobs)
        (row,) = [json.loads(line) for line in many.stdout.splitlines()]
        assert row["none_of_these"] == pytest.approx(one["none_of_these"], abs=1e-5)
        assert row["sources"][0]["probability"] == pytest.approx(one["sources"][0]["probability"], abs=1e-5)
        assert "has measured of them: Ana, Bùi" in many.stderr
    together = json.loads(run("trace", str(lot.parent), "--json", "--together").stdout)
    first = together["lots"][0]["alone"]["sources"][0]
    assert first["probability"] == pytest.approx(one["sources"][0]["probability"], abs=1e-5)


def _measured(tmp_path):
    """A sheet of Ana's, who in three kept sessions named musty whatever was served."""
    folder = make(tmp_path, "--repeats", "4")
    fill(folder, {**GOOD, "potato_pea": "musty", "sour_vinegary": "musty", "": "musty"})
    key, answers = str(folder / "key.csv"), str(folder / "answers.csv")
    for day in ("2026-01-05", "2026-02-05", "2026-03-05"):
        done = run("panel", "score", key, answers, "--keep", "--on", day, "--another")
        assert done.returncode == 0, done.stderr
    lot = "lot: P-1\ncuppings: [{on: 2026-03-09, cups: 5, tasters: [{taster: ana, notes: [{note: musty, cups: 3}]}]}]\n"
    (tmp_path / "lots").mkdir()
    sheet = tmp_path / "lots" / "lot.yaml"
    sheet.write_text(lot, encoding="utf-8")
    return sheet


def test_a_drill_asks_keeps_and_brings_due_cards_back(tmp_path):
    first = run("panel", "drill", "--person", "Ana", "--cards", "4", stdin="1\n2\nx\n3\n1\n")
    assert first.returncode == 0, first.stderr
    assert "of 4 right; kept" in first.stdout
    assert "A number from 1 to 4" in first.stdout
    stopped = run("panel", "drill", "--person", "Ana", "--cards", "4", stdin="q\n")
    assert "Nothing was answered" in stopped.stdout


def test_published_cases_are_drilled_without_their_answer_and_told_with_their_source():
    words = ("panel", "drill", "--person", "Bui", "--kind", "case", "--cards", "3")
    done = run(*words, stdin="1\n1\n1\n")
    assert done.returncode == 0, done.stderr
    assert "A published case." in done.stdout
    assert "of 3 right; kept" in done.stdout
    generator = random.Random(1)
    for card in case_cards(load_or_fail(), generator):
        assert card.answer in card.choices
        assert len(card.answer) <= 12 or card.answer.lower() not in card.question.lower()


def test_cards_and_their_refusals():
    done = run("panel", "card", "potato")
    assert done.returncode == 0
    assert "BEFORE YOU BEGIN" in done.stdout
    assert "Spit" in done.stdout
    assert "6 ng/L = 6,000 pg/L" in done.stdout
    assert "smell only" in done.stdout
    refused = run("panel", "card", "musty", "--compound", "tca")
    assert refused.returncode == 1
    assert "smell only" in refused.stderr
    unit = run("panel", "card", "potato", "--threshold", "2 ppt")
    assert unit.returncode == 1
    assert "parts per thousand" in unit.stderr
    none = run("panel", "card", "petroleum_fuel")
    assert none.returncode == 0
    assert "No reference is prepared" in none.stdout


def test_discrimination_thresholds_and_pooling(tmp_path):
    done = run("panel", "test", "triangle", "--trials", "12", "--right", "9")
    assert "a difference is shown" in done.stdout
    assert "8 right at 0.05" in done.stdout
    assert "16 answers" in run("panel", "test", "three_afc", "--share", "0.5", "--power", "0.8").stdout
    assert run("panel", "test", "triangle", "--trials", "5", "--right", "9").returncode == 1
    assert run("panel", "test", "quadrangle", "--trials", "5", "--right", "3").returncode == 1
    (tmp_path / "t.csv").write_text("taster,1,2,4,8\nAna,0,0,1,1\nBui,0,1,1,1\n", encoding="utf-8")
    told = run("panel", "threshold", str(tmp_path / "t.csv")).stdout
    assert "Ana: 2.828" in told
    assert "group: 2" in told
    (tmp_path / "bad.csv").write_text("taster,4,2\nAna,0,maybe\n", encoding="utf-8")
    bad = run("panel", "threshold", str(tmp_path / "bad.csv"))
    assert bad.returncode == 1
    assert "must rise" in bad.stderr
    rows = "".join(f"L{i},{t},yes\n" for i in range(5) for t in ("A", "B"))
    (tmp_path / "p.csv").write_text("lot,taster,found\n" + rows, encoding="utf-8")
    assert "Not estimated: 5 lots" in run("panel", "pooled", str(tmp_path / "p.csv")).stdout


@pytest.mark.parametrize("name", ["=cmd|x", "<script>alert(1)</script>", "\x1b[31mred"])
def test_names_cannot_run_in_a_sheet_a_page_or_a_terminal(tmp_path, name):
    done = run(
        "panel", "set", "--note", "musty", "--taster", name, "--out", str(tmp_path / "s"), "--name", name
    )
    assert done.returncode == 0, done.stderr
    assert "\x1b[31m" not in done.stdout
    key = (tmp_path / "s" / "key.csv").read_text(encoding="utf-8")
    assert not any(line.startswith("=") for line in key.splitlines())
    assert "<script>" not in (tmp_path / "s" / "sheets.html").read_text(encoding="utf-8")
