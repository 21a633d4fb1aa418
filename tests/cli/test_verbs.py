"""Every verb through the real command: a good run, a bad run, and what leaves the program."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from dataclasses import replace

import pytest
from rich.console import Console

from tracer.lots.attached import example_path
from tracer.lots.read import read_lot
from tracer.render.questions import questions_screen
from tracer.tracing import trace

GOOD = "lot: T-1\ncuppings: [{cups: 5, tasters: [{taster: a, language: en, notes: [{note: mouldy, cups: 3}]}]}]\n"


def run(*words: str, **more):
    env = {**os.environ, "COLUMNS": "120", "NO_COLOR": "1", **more.pop("env", {})}
    return subprocess.run(
        [sys.executable, "-m", "tracer", *words], capture_output=True, text=True, env=env, timeout=60, **more
    )


def test_bare_tracer_lists_the_verbs():
    done = run()
    for verb in ("sheet", "check", "trace", "why", "ask", "history", "show"):
        assert verb in done.stdout + done.stderr


@pytest.mark.parametrize("verb", ["sheet", "check", "trace", "why", "ask", "history", "show"])
def test_every_verb_has_help(verb):
    done = run(verb, "--help")
    assert done.returncode == 0
    assert "Usage" in done.stdout


def test_trace_answers_in_its_first_lines():
    done = run("trace", "--example", "container_damp")
    assert done.returncode == 0
    head = "\n".join(
        line for line in done.stdout.splitlines() if line.split(" ")[0] in ("What", "Where", "How", "Next")
    )
    assert "Mouldy" in head
    assert "Transport" in head
    assert "one source supported" in head
    assert "HOLD THE LOT" in done.stdout


def test_json_has_what_the_design_promises():
    done = run("trace", "--example", "sporadic_potato", "--json")
    report = json.loads(done.stdout)
    for key in (
        "lot",
        "verdict",
        "sources",
        "stages",
        "compounds",
        "none_of_these",
        "conflicts",
        "cautions",
        "asks",
        "knowledge",
        "unmatched_words",
    ):
        assert key in report
    source = report["sources"][0]
    for key in (
        "fault",
        "label",
        "stage",
        "probability",
        "low",
        "high",
        "present",
        "prior",
        "chain",
        "because",
    ):
        assert key in source
    assert source["low"] <= source["probability"] <= source["high"]
    assert {"id", "kind", "ask_of", "stage", "text", "gain_bits", "cost", "answers"} <= set(report["asks"][0])
    assert report["knowledge"]["sha256"]


def test_why_explains_the_first_source_and_a_named_one():
    first = run("why", "--example", "jute_oil")
    assert "Weight of evidence" in first.stdout
    named = run("why", "--example", "jute_oil", "fuel_fumes_drying")
    assert "fuel_fumes_drying" in named.stdout


def test_why_of_an_unknown_fault_suggests_one():
    done = run("why", "--example", "jute_oil", "jute_bag")
    assert done.returncode == 1
    assert "Did you mean 'jute_bags'?" in done.stderr


def test_ask_says_what_each_answer_would_change():
    done = run("ask", "--example", "quarrelling_tasters")
    assert "bits" in done.stdout
    assert '- if "' in done.stdout


@pytest.mark.parametrize(
    "term", ["musty", "moho de café", "tca", "87-40-1", "jute_bags", "transport", "terroso"]
)
def test_show_browses_any_term(term):
    done = run("show", term)
    assert done.returncode == (1 if term == "moho de café" else 0)


def test_show_writes_a_picture(tmp_path):
    target = tmp_path / "chain.svg"
    assert run("show", "potato_taste", "--svg", str(target)).returncode == 0
    assert target.read_text().startswith("<svg")
    bad = run("show", "potato_taste", "--svg", str(tmp_path / "no" / "chain.svg"))
    assert bad.returncode == 1
    assert "cannot be written" in bad.stderr


def test_the_printed_sheet_can_be_traced(tmp_path):
    path = tmp_path / "lot.yaml"
    path.write_text(run("sheet").stdout)
    done = run("trace", str(path))
    assert done.returncode == 0
    assert "no off-note was reported" in done.stdout


def test_a_bad_sheet_leaves_with_code_1_and_no_traceback(tmp_path):
    path = tmp_path / "lot.yaml"
    path.write_text("lot: A\nprocess: wet\ngreen: {moisture_now: 112 %}\n")
    for verb in ("trace", "check"):
        done = run(verb, str(path))
        assert done.returncode == 1
        assert f"{path}:2:" in done.stderr
        assert f"{path}:3:" in done.stderr
        assert "Traceback" not in done.stderr


def test_wrong_usage_leaves_with_code_2():
    assert run("trace").returncode == 2
    assert run("trcae").returncode == 2


def test_markup_and_escapes_in_names_stay_text(tmp_path):
    path = tmp_path / "lot.yaml"
    path.write_text(GOOD.replace("T-1", "'[bold red]T[/] \u202e'"))
    done = run("trace", str(path))
    assert done.returncode == 0
    assert "[bold red]T[/]" in done.stdout
    assert "\u202e" not in done.stdout


def test_a_pipe_closed_early_is_no_error(tmp_path):
    command = f"{sys.executable} -m tracer trace --example jute_oil | head -1"
    done = subprocess.run(command, shell=True, capture_output=True, text=True, timeout=60)
    assert "Traceback" not in done.stderr


def test_the_shipped_knowledge_is_sound():
    done = run("check")
    assert done.returncode == 0, done.stderr
    assert " 0 errors" in done.stdout


def test_a_house_overlay_changes_the_answer_and_is_named(tmp_path):
    folder = tmp_path / "house" / "faults"
    folder.mkdir(parents=True)
    (folder / "drying.yaml").write_text(
        "- change: slow_drying_mould\n  prior: {count: 60/100, basis: casebook}\n  by: head of quality\n  on: 2026-10-01\n  why: own closed cases\n"
    )
    sheet = tmp_path / "lot.yaml"
    sheet.write_text(GOOD)
    plain = json.loads(run("trace", str(sheet), "--json").stdout)
    house = json.loads(run("trace", str(sheet), "--json", "--house", str(tmp_path / "house")).stdout)
    assert house["knowledge"]["houses"]
    assert house["sources"][0]["fault"] == "slow_drying_mould"
    before = next(s for s in plain["sources"] if s["fault"] == "slow_drying_mould")
    assert house["sources"][0]["probability"] > before["probability"]


def test_a_house_entry_without_its_prefix_is_refused(tmp_path):
    folder = tmp_path / "faults"
    folder.mkdir()
    (folder / "x.yaml").write_text("- id: mine\n  label: x\n")
    done = run("check", "--house", str(tmp_path))
    assert done.returncode == 1
    assert "no house prefix" in done.stderr


def test_an_answer_given_moves_the_ranking(tmp_path):
    sheet = tmp_path / "lot.yaml"
    sheet.write_text(GOOD)
    before = json.loads(run("trace", str(sheet), "--json").stdout)
    sheet.write_text(GOOD + "answers: {test_bag_map: top_walls}\n")
    after = json.loads(run("trace", str(sheet), "--json").stdout)

    def transport(report):
        return next(s["probability"] for s in report["stages"] if s["stage"] == "transport")

    assert transport(after) > transport(before)
    assert all(line["id"] != "test_bag_map" for line in after["asks"])


@pytest.mark.parametrize(
    "words",
    [
        ["trace", "--example", "jute_oil"],
        ["why", "--example", "jute_oil"],
        ["ask", "--example", "jute_oil"],
        ["show", "musty"],
        ["sheet"],
        ["check"],
    ],
)
def test_every_verb_prints_json(words):
    done = run(*words, "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout) is not None


def test_a_thousand_notes_are_weighed_or_said_to_be_left_out(tmp_path):
    notes = ", ".join(
        f"{{note: {word}, cups: 1}}"
        for word in [
            "musty",
            "earthy",
            "smoky",
            "dusty",
            "phenolic",
            "corky",
            "fishy",
            "plastic",
            "leather",
            "ashy",
            "papery",
            "rancid",
            "metallic",
            "rotten egg",
        ]
        * 72
    )
    sheet = tmp_path / "lot.yaml"
    sheet.write_text(
        f"lot: A\ncuppings: [{{cups: 5, tasters: [{{taster: a, language: en, notes: [{notes}]}}]}}]\n"
    )
    done = run("trace", str(sheet))
    assert done.returncode == 0, done.stderr
    assert "Too many notes at once" in done.stdout


def test_history_shows_days_values_findings_and_the_window_in_the_log(tmp_path):
    picture = tmp_path / "logs.svg"
    done = run("history", "--example", "log_sea_passage", "--svg", str(picture))
    assert done.returncode == 0
    assert "hours with wall or roof below the dew point: 97" in done.stdout
    assert "for wetted by container sweat" in done.stdout
    assert "passage_winter.csv rows" in done.stdout
    assert "!" in done.stdout
    drawn = picture.read_text(encoding="utf-8")
    assert drawn.startswith("<svg")
    assert "wall or roof below the dew point" in drawn
    from xml.etree import ElementTree

    assert ElementTree.fromstring(drawn).tag.endswith("svg")


def test_history_of_a_sheet_without_history_says_that_this_is_no_finding(tmp_path):
    (tmp_path / "lot.yaml").write_text("lot: T-2\ncuppings: []\n", encoding="utf-8")
    done = run("history", str(tmp_path / "lot.yaml"))
    assert done.returncode == 0
    assert "not a clean history" in done.stdout


def test_history_json_carries_every_value_with_its_window():
    done = run("history", "--example", "log_hot_dryer", "--json")
    found = json.loads(done.stdout)
    hot = next(one for one in found["measured"] if one["record"] == "overheated_hours")
    assert hot["value"] == 6.75
    assert hot["windows"][0]["first"] == "2026-02-12 11:05"
    assert found["charts"][0]["series"][0]["name"] == "temperature"


def test_looking_at_a_logger_file_proposes_lines_for_the_sheet(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("Fecha;T;HR\n01/02/2026 10:00;20,5;61,0\n01/02/2026 11:00;20,6;61,5\n", encoding="utf-8")
    done = run("history", "--look", str(path))
    assert done.returncode == 0
    assert 'columns: {time: "Fecha", temperature: "T", humidity: "HR"}' in done.stdout
    assert "decimal: comma" in done.stdout
    assert "Decide: the dates read as day_first and as month_first" in done.stdout
    assert "Decide: is the temperature in C or in F?" in done.stdout


@pytest.mark.parametrize(
    "words", [("--look", "missing.csv"), ("missing.yaml",), ("--example", "container_damp", "--svg", "x.svg")]
)
def test_history_answers_bad_input_with_a_mend_and_no_traceback(words, tmp_path):
    done = run("history", *words, cwd=tmp_path)
    assert done.returncode == 1
    assert "error:" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "x.svg").exists()


def test_questions_that_tell_next_to_nothing_are_counted_and_not_listed(base):
    lot, _ = read_lot(example_path("quarrelling_tasters"), base)
    report = trace(lot, base)
    first, second, *rest = report.asks
    dull = replace(report, asks=(first, replace(second, gain_bits=0.0049), *rest))
    console = Console(width=2000)
    with console.capture() as capture:
        console.print(questions_screen(dull))
    told = capture.get()
    assert first.text in told
    assert second.text not in told
    assert "and 1 more that would tell next to nothing" in told
    assert "Nothing to ask" in run("ask", "--example", "container_damp").stdout


def test_with_everything_the_screen_still_says_each_thing_once():
    short = run("trace", "--example", "container_damp").stdout
    full = run("trace", "--example", "container_damp", "--everything").stdout
    assert full.startswith(short)
    below = full[len(short) :]
    assert "Mould may mean ochratoxin A" in short
    assert "Mould may mean ochratoxin A" not in below
    assert "have them tested for ochratoxin A" not in below
    assert below.count("A dry bean gains water only from") == 1
    assert below.count("2,4,6-trichloroanisole -> Musty") == 1
    assert below.count("dry at loading, wetter on arrival") == 2


def test_why_of_a_source_by_itself_says_all_of_it():
    shown = run("why", "--example", "container_damp").stdout
    for told in ("source 0.99 (", "Mould may mean ochratoxin A", "have them tested for ochratoxin A"):
        assert told in re.sub(r"\s+", " ", shown)
