"""What can hurt somebody, through the real command: a stop note in any sample, any front; nothing harmless a fault."""

from __future__ import annotations

import json

import pytest

from tests.command import run

PETROL = """
lot: PET-1
species: arabica
process: washed
exporter: Hill Station
clocks: [{what: quality claim, clause: own form, days: 21, from: 2026-03-06}]
cuppings:
  - {on: 2026-01-10, sample: pre_shipment, cups: 10, tasters: [{taster: one, notes: [{note: petrol, cups: 10}]}]}
  - {on: 2026-03-09, sample: arrival, cups: 10, tasters: [{taster: one, notes: [clean]}]}
"""


def sheet(tmp_path, text, name="lot.yaml"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def one_note(note, language="en", sample="arrival"):
    return (
        f"lot: A\nspecies: arabica\nprocess: washed\ncuppings: [{{sample: {sample}, cups: 5, tasters: "
        f"[{{taster: one, language: {language}, notes: [{json.dumps(note, ensure_ascii=False)}]}}]}}]\n"
    )


def traced(path):
    done = run("trace", str(path), "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def levels(report):
    return {caution["level"] for caution in report["cautions"]}


def test_petrol_in_an_earlier_sample_stops_although_the_arrival_is_clean(tmp_path):
    report = traced(sheet(tmp_path, PETROL))
    assert "stop" in levels(report)
    assert "STOP TASTING" in run("trace", str(tmp_path / "lot.yaml")).stdout


def test_petrol_in_the_control_or_a_neighbour_of_the_table_stops(tmp_path):
    for beside in ("control: {notes: [petrol]}", "beside: [{name: B, notes: [petrol]}]"):
        text = f"lot: A\ncuppings: [{{cups: 5, {beside}, tasters: [{{taster: one, notes: [clean]}}]}}]\n"
        assert "stop" in levels(traced(sheet(tmp_path, text)))


def test_stop_hold_exporter_and_claim_day_stand_in_the_output_of_many_lots(tmp_path):
    (tmp_path / "lots").mkdir()
    sheet(tmp_path / "lots", PETROL)
    lines = [
        json.loads(line)
        for line in run("trace", str(tmp_path / "lots"), "--json").stdout.splitlines()
        if line
    ]
    assert lines[0]["stop"] == ["Petroleum / fuel"]
    assert lines[0]["exporter"] == "Hill Station"
    assert lines[0]["claim_day"] == "2026-03-27"
    run("trace", str(tmp_path / "lots"), "--out", str(tmp_path / "out.csv"))
    assert "Petroleum / fuel" in (tmp_path / "out.csv").read_text()


def test_the_printed_report_has_the_stop(tmp_path):
    page = tmp_path / "page.html"
    assert run("report", str(sheet(tmp_path, PETROL)), "--html", str(page)).returncode == 0
    assert "do not go on tasting" in page.read_text()


def test_the_sender_of_a_letter_is_warned(tmp_path):
    text = PETROL.replace("notes: [clean]", "notes: [{note: musty, cups: 8}]")
    done = run("letter", str(sheet(tmp_path, text)), "--stage", "transport", "--by", "2026-03-20")
    assert done.returncode == 0, done.stderr
    assert "STOP TASTING" in done.stderr


@pytest.mark.parametrize("note", ["petrol", "strong kerosene", "nail varnish remover", "fly spray"])
def test_next_never_makes_anybody_smell_or_taste_what_a_stop_forbids(tmp_path, base, note):
    report = traced(sheet(tmp_path, one_note(note)))
    assert report["asks"], "there is still something safe to ask"
    assert not [ask["id"] for ask in report["asks"] if base.enquiries[ask["id"]].by_senses]


@pytest.mark.parametrize("state", ["not_found", "not found", "absent", "no"])
def test_the_states_of_a_cupping_table_are_those_of_the_sheet(tmp_path, state):
    (tmp_path / "cups.csv").write_text(f"taster,note,cups,of,state\nA1,petrol,,5,{state}\n")
    report = traced(sheet(tmp_path, "lot: A\ncuppings: [{table: cups.csv}]\n"))
    assert "stop" not in levels(report)


def test_a_state_nobody_knows_is_an_error_and_never_found(tmp_path):
    (tmp_path / "cups.csv").write_text("taster,note,cups,of,state\nA1,petrol,2,5,nonsense\n")
    done = run("check", str(sheet(tmp_path, "lot: A\ncuppings: [{table: cups.csv}]\n")))
    assert done.returncode == 1
    assert "cups.csv:2:" in done.stderr
    assert "'nonsense' is no state" in done.stderr


@pytest.mark.parametrize("note", ["petrol", "insecticide", "solvent"])
def test_a_note_that_is_never_prepared_is_refused_for_a_blind_set(tmp_path, note):
    done = run("panel", "set", "--note", note, "--taster", "A", "--out", str(tmp_path / "set"))
    assert done.returncode == 1
    assert "is not served" in done.stderr
    assert not (tmp_path / "set").exists()


def test_a_note_that_may_only_be_smelled_makes_a_set_for_the_nose_alone(tmp_path):
    words = ("panel", "set", "--note", "earthy", "--taster", "A", "--out", str(tmp_path / "set"))
    refused = run(*words)
    assert refused.returncode == 1
    assert "--smell-only" in refused.stderr
    assert run(*words, "--smell-only").returncode == 0
    assert "SMELL ONLY" in (tmp_path / "set" / "sheets.html").read_text()


PRAISE = [
    ("en", "cola, buttery, baking spice, raw sugar, red wine"),
    ("de", "Farbe gut, zweite Schale sauber"),
    ("es", "buen cuerpo"),
    ("en", "lack of off-notes"),
]


@pytest.mark.parametrize(("language", "note"), PRAISE)
def test_praise_and_everyday_words_never_stop_and_make_no_fault(tmp_path, language, note):
    report = traced(sheet(tmp_path, one_note(note, language)))
    assert "stop" not in levels(report)
    assert not report["notes"]


def test_the_everyday_vietnamese_word_for_pesticide_stops(tmp_path):
    for note in ("mùi thuốc sâu", "mui thuoc sau"):
        assert "stop" in levels(traced(sheet(tmp_path, one_note(note, "vi"))))


def test_but_ends_a_denial(tmp_path):
    report = traced(sheet(tmp_path, one_note("no petrol but mould")))
    assert [note["descriptor"] for note in report["notes"]] == ["mouldy"]
    assert "stop" not in levels(report)


def test_little_fruit_is_a_lack_and_no_over_ripeness(tmp_path):
    report = traced(sheet(tmp_path, one_note("little fruit, low acidity, no sweetness")))
    found = {note["descriptor"] for note in report["notes"]}
    assert found == {"lack_of_aroma", "lack_of_acidity", "lack_of_sweetness"}


def test_a_stop_word_of_another_language_stops_until_it_is_settled(tmp_path):
    report = traced(sheet(tmp_path, one_note("Nagellackentferner", "es")))
    assert report["unmatched_words"]
    assert "stop" in levels(report)


def test_an_innocent_reading_can_be_chosen(tmp_path):
    text = one_note("winey").replace('["winey"]', "[{note: winey, means: innocent}]")
    report = traced(sheet(tmp_path, text))
    assert not report["notes"]
    assert not report["unmatched_words"]


def test_three_tasters_with_four_hundred_cups_each_are_no_trouble(tmp_path):
    tasters = ", ".join(
        f"{{taster: t{i}, cups: 400, notes: [{{note: musty, cups: {150 + i}}}, {{note: earthy, cups: 399}}]}}"
        for i in range(3)
    )
    report = traced(sheet(tmp_path, f"lot: A\ncuppings: [{{cups: 400, tasters: [{tasters}]}}]\n"))
    assert report["sources"]
