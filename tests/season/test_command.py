"""`tracer season` as a buyer runs it: over a folder and over the casebook, on the screen and as files."""

from __future__ import annotations

import csv
import datetime
import json
import re
import shutil
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.command import run
from tests.house_rules import samples
from tests.season.simulate import shown
from tracer.season.lots import Sample, SeasonLot
from tracer.season.row import merged

SHEET = """lot: {lot}
species: arabica
process: washed
origin: {origin}
exporter: {exporter}
custody: {{dry_milling: {mill}, transport: {box}}}
history:
  dry_milling: {{hulled: 2026-02-0{day}}}
  transport: {{moisture_at_loading: 11.2 %, moisture_on_arrival: {moisture} %}}
clocks: [{{what: quality claim, clause: article 4, days: 21, from: 2026-04-{day}0}}]
cuppings:
  - {{on: 2026-03-01, sample: pre_shipment, cups: 5, score: 84.5, tasters: [{{taster: ana, notes: [], not_found: [musty, mouldy]}}]}}
  - on: 2026-04-1{day}
    sample: arrival
    bench: small room
    cups: 5
    score: {score}
    tasters: [{{taster: ana, notes: {notes}, not_found: [smoky]}}]
"""
WET = dict(
    box="box KTR 11", notes="[{note: mouldy, cups: 5}, {note: musty, cups: 4}]", score=78, moisture=13.4
)
UNSURE = dict(box="box KTR 12", notes="[{note: musty, cups: 1}]", score=83, moisture=11.3)
SOUND = dict(box="box KTR 12", notes="[]", score=84, moisture=11.3)


def write(folder, lots: int = 8) -> None:
    for number in range(lots):
        text = SHEET.format(
            lot=f"N-{number}",
            origin="Highland" if number % 2 else "Lakeside",
            exporter="Cold Spring" if number % 3 else "Far Ridge",
            mill=f"Mill {number % 3}",
            day=1 + number % 2,
            **(WET if number < 4 else UNSURE if number == 7 else SOUND),
        )
        (folder / f"N-{number}.yaml").write_text(text, encoding="utf-8")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("season")
    write(made)
    return made


@pytest.fixture(scope="module")
def book(folder, tmp_path_factory):
    path = tmp_path_factory.mktemp("kept") / "book.sqlite"
    done = run("trace", str(folder), "--keep", "--by", "QA", "--casebook", str(path), "--jobs", "1")
    assert done.returncode == 0, done.stderr
    return path


@pytest.fixture(scope="module")
def data(book):
    return json.loads(run("season", "--casebook", str(book), "--on", "2026-04-25", "--json").stdout)


def test_the_folder_and_the_casebook_it_was_kept_in_tell_the_same_season(tmp_path):
    write(tmp_path, 2)
    book = ("--casebook", str(tmp_path / "book.sqlite"))
    straight = json.loads(run("season", str(tmp_path), "--on", "2026-04-25", "--json", "--jobs", "1").stdout)
    assert run("trace", str(tmp_path), "--keep", "--by", "QA", *book, "--jobs", "1").returncode == 0
    kept = json.loads(run("season", *book, "--on", "2026-04-25", "--json").stdout)
    one, other = (
        {**told, "lots": [{**lot, "where": ""} for lot in told["lots"]]} for told in (straight, kept)
    )
    assert one == other


def test_lots_are_counted_by_each_thing_with_an_interval(data):
    counts = {(one["by"], one["value"]): one for one in data["counts"]}
    assert {by for by, _ in counts} == {"exporter", "mill", "origin", "stage", "source", "month"}
    spring = counts["exporter", "Cold Spring"]
    assert (spring["lots"], spring["cupped"], spring["troubled"]) == (5, 5, 3)
    assert spring["low"] < 3 / 5 < spring["high"]
    assert sum(one["troubled"] for (by, _), one in counts.items() if by == "stage") == data["troubled"] == 5


def test_a_lot_before_shipment_and_on_arrival_stands_side_by_side_with_whom_to_ask(data, base):
    side = next(one for one in data["sides"] if one["lot"] == "N-1")
    assert (side["score_before"], side["score_after"]) == (84.5, 78)
    assert (side["moisture_before"], side["moisture_after"]) == (11.2, 13.4)
    assert {note["after"] for note in side["notes"]} == {"5 of 5 cups", "4 of 5 cups"}
    assert side["between"] == ["transport"]
    assert side["ask"] == [base.stages["transport"].ask_of]
    clean = next(one for one in data["sides"] if one["lot"] == "N-5")
    assert clean["notes"] == clean["between"] == clean["ask"] == []


def test_claim_days_come_earliest_first_and_one_that_has_passed_is_told_only_of_a_troubled_lot(data, book):
    assert [one["day"] for one in data["claims"]] == ["2026-05-01"] * 4 + ["2026-05-11"] * 4
    assert data["claims"][0]["left"] == 6
    later = json.loads(run("season", "--casebook", str(book), "--on", "2026-05-05", "--json").stdout)[
        "claims"
    ]
    assert [one["lot"] for one in later if one["left"] < 0] == ["N-0", "N-2"]


def test_an_answer_received_is_no_longer_open_and_a_closed_case_counts_as_confirmed(book, tmp_path):
    shutil.copy(book, tmp_path / "book.sqlite")
    book = ("--casebook", str(tmp_path / "book.sqlite"))
    before = json.loads(run("season", *book, "--json").stdout)
    question, lot = next(
        (asked["id"], asked["lots"][0]) for party in before["parties"] for asked in party["questions"]
    )
    number = next(one["where"].split()[-1] for one in before["lots"] if one["lot"] == lot)
    from tracer.knowledge.cache import load_cached

    answer = next(iter(load_cached().enquiries[question].answers))
    assert run("answer", number, f"{question}={answer}", "--by", "QA", *book).returncode == 0
    asked = json.loads(run("season", *book, "--json").stdout)["parties"]
    assert not any(lot in q["lots"] for party in asked for q in party["questions"] if q["id"] == question)
    assert run("close", number, "--fault", "none", "--how", "experiment", "--by", "QA", *book).returncode == 0
    after = json.loads(run("season", *book, "--json").stdout)
    assert after["troubled"] == before["troubled"] - 1
    assert not any(lot in q["lots"] for party in after["parties"] for q in party["questions"])


def test_the_screen_has_alarms_first_then_claim_days_chance_counts_questions_and_samples(book):
    out = run("season", "--casebook", str(book), "--on", "2026-04-25", "--by", "mill").stdout
    order = (
        "8 lots",
        "HOLD THE LOT",
        "Claim days",
        "More than chance",
        "Counts",
        "Open questions",
        "Before shipment",
    )
    places = [out.index(one) for one in order]
    assert places == sorted(places)
    assert "Mill 2" in out


def test_the_page_is_whole_in_itself_and_its_plots_are_sound_pictures(book, tmp_path):
    page = tmp_path / "season.html"
    done = run("season", "--casebook", str(book), "--html", str(page))
    assert done.returncode == 0, done.stderr
    text = page.read_text(encoding="utf-8")
    assert not re.search(r"<script|(?:src|href)=|@import|url\(", text)
    plots = re.findall(r"<svg xmlns.*?</svg>", text, re.DOTALL)
    assert len(plots) == 6
    for plot in plots:
        drawn = ElementTree.fromstring(plot)
        assert drawn.get("aria-label")
    rows = re.findall(r"<circle", plots[0])
    assert len(rows) == 2  # exporters


def test_a_row_a_lot_goes_into_a_table_that_runs_nothing(folder, tmp_path):
    (tmp_path / "in").mkdir()
    write(tmp_path / "in", 2)
    text = (tmp_path / "in" / "N-0.yaml").read_text(encoding="utf-8")
    (tmp_path / "in" / "N-0.yaml").write_text(text.replace("Far Ridge", '"=1+1"'), encoding="utf-8")
    done = run("season", str(tmp_path / "in"), "--csv", str(tmp_path / "s.csv"), "--jobs", "1")
    assert done.returncode == 0, done.stderr
    rows = list(csv.DictReader((tmp_path / "s.csv").open(encoding="utf-8")))
    assert [row["lot"] for row in rows] == ["N-0", "N-1"]
    assert rows[0]["exporter"] == "'=1+1"
    assert rows[0]["custody"] == "dry_milling: Mill 0; transport: box KTR 11"
    assert rows[0]["claim_day"] == "2026-05-01"


def test_only_the_days_asked_for_are_counted(book):
    words = ("season", "--casebook", str(book), "--json")
    assert len(json.loads(run(*words, "--since", "2026-04-12").stdout)["lots"]) == 4
    assert len(json.loads(run(*words, "--until", "2026-04-11").stdout)["lots"]) == 4
    assert len(json.loads(run(*words, "--since", "2026-05-01").stdout)["lots"]) == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--by", "exporters"), "Did you mean 'exporter'?"),
        (("--on", "tomorrow"), "year-month-day"),
        (("--since", "2026-13-01"), "--since"),
        (("--casebook", "missing.sqlite"), "there is no casebook here"),
        (("missing.yaml",), "there is no such file or folder"),
        (("one.yaml",), "a season is made of many lots"),
    ],
)
def test_bad_input_is_answered_with_a_mend(words, told, tmp_path):
    (tmp_path / "one.yaml").write_text("lot: A", encoding="utf-8")
    done = run("season", *words, cwd=tmp_path)
    assert done.returncode == 1
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_a_bad_sheet_is_told_and_the_others_are_counted(tmp_path):
    write(tmp_path, 2)
    (tmp_path / "bad.yaml").write_text("lot: B\nproces: washed\n", encoding="utf-8")
    done = run("season", str(tmp_path), "--jobs", "1")
    assert done.returncode == 1
    assert "bad.yaml:2:1: error" in done.stderr
    assert "2 lots" in done.stdout


def test_an_empty_casebook_says_how_to_fill_it():
    done = run("season")
    assert done.returncode == 0
    assert "tracer trace FOLDER --keep" in done.stdout


@pytest.mark.parametrize(("language", "told"), [("es", "Más que el azar"), ("pt", "Mais que acaso")])
def test_the_season_is_told_in_the_language_of_the_reader(book, language, told):
    out = run("season", "--casebook", str(book), "--language", language).stdout
    assert told in out
    assert "More than chance" not in out


def test_markup_in_a_name_is_shown_as_text_on_the_screen_and_on_the_page(tmp_path):
    write(tmp_path, 2)
    text = (tmp_path / "N-0.yaml").read_text(encoding="utf-8")
    hostile = '"<script>[bold red]{x}</script>"'
    (tmp_path / "N-0.yaml").write_text(
        text.replace("Far Ridge", hostile).replace("Mill 0", hostile), encoding="utf-8"
    )
    page = tmp_path / "s.html"
    assert run("season", str(tmp_path), "--html", str(page), "--jobs", "1").returncode == 0
    assert "<script" not in page.read_text(encoding="utf-8")
    assert "[bold red]{x}" in run("season", str(tmp_path), "--jobs", "1").stdout


def test_the_season_of_the_reference_is_told_as_it_stands_there(base):
    text = (Path(__file__).parents[2] / "tracer" / "cli" / "README.md").read_text(encoding="utf-8")
    block = next(one for one in samples.blocks(text) if "1. Transport: container 11" in one)
    assert samples.missing(block, shown(3, base)) is None


def test_a_lot_known_from_a_message_alone_counts_as_cupped(tmp_path):
    mail = tmp_path / "mail.txt"
    mail.write_text("All five cups taste of old cellar, musty and mouldy.\n", encoding="utf-8")
    sheet = tmp_path / "lots" / "said.yaml"
    sheet.parent.mkdir()
    sheet.write_text(run("draft", str(mail), "--take-first").stdout, encoding="utf-8")
    done = run("season", str(sheet.parent), "--jobs", "1")
    assert done.returncode == 0, done.stderr
    assert "1 lot; with an off-note 1 of 1 cupped" in done.stdout


def test_two_sheets_of_one_lot_count_together_and_the_off_note_of_either_is_not_lost(tmp_path):
    folder = tmp_path / "lots"
    folder.mkdir()
    sheet = "lot: VEL-3\ncuppings: [{{on: 2026-04-0{day}, sample: arrival, cups: 5, tasters: [{{taster: ana, notes: [{note}]}}]}}]\n"
    (folder / "a.yaml").write_text(sheet.format(day=2, note="{note: mouldy, cups: 5}"), encoding="utf-8")
    (folder / "b.yaml").write_text(sheet.format(day=3, note=""), encoding="utf-8")
    book = ("--casebook", str(tmp_path / "book.sqlite"))
    assert run("trace", str(folder), "--keep", "--by", "QA", "--jobs", "1", *book).returncode == 0
    for words in (("season", str(folder), "--jobs", "1"), ("season", *book)):
        found = json.loads(run(*words, "--json").stdout)
        assert (found["cupped"], found["troubled"]) == (1, 1)
        (lot,) = found["lots"]
        assert lot["sheets"] == 2
        assert lot["cupped"] == "2026-04-03"
        assert lot["hold"]
        told = " ".join(run(*words).stdout.split())
        assert "Several sheets of one lot count together, and it shows the off-notes of all: VEL-3 (" in told
    html = tmp_path / "season.html"
    run("season", *book, "--html", str(html))
    assert "VEL-3 (case 1; case 2)" in html.read_text(encoding="utf-8")


def test_the_notes_of_two_sheets_of_one_sample_are_added_but_the_very_same_sample_counts_once():
    def row(where, found, absent=(), **more):
        sample = Sample("arrival", datetime.date(2026, 4, 2), found, absent, None)
        return SeasonLot("L", where, samples=(sample,), **more)

    one, other = row("a", (("musty", 2, 5),), ("smoky",)), row("b", (("musty", 1, 5), ("smoky", 1, 5)))
    (both,) = merged([one, other])
    assert both.samples[0].found == (("musty", 3, 10), ("smoky", 1, 5))
    assert both.samples[0].absent == ()
    (same,) = merged([one, row("b", (("musty", 2, 5),), ("smoky",))])
    assert same.samples == one.samples


def test_the_earliest_claim_day_of_several_sheets_is_the_one_told():
    early, late = datetime.date(2026, 4, 2), datetime.date(2026, 5, 2)
    (lot,) = merged(
        [SeasonLot("L", "a", claim_day=early, claim="quality"), SeasonLot("L", "b", claim_day=late)]
    )
    assert (lot.claim_day, lot.claim) == (early, "quality")
