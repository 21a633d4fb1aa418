"""Letters, the printable page, and many lots in one command."""

from __future__ import annotations

import csv
import itertools
import json
import re
from html.parser import HTMLParser

import pytest

from tests.command import run
from tests.workbook import workbook
from tracer.batch.archive import read_piece
from tracer.batch.many import brief
from tracer.cli.archive import CHUNK
from tracer.knowledge.load import load_or_fail
from tracer.knowledge.shipped import scenarios_folder
from tracer.knowledge.yamlfile import parse_yaml
from tracer.tracing import prepare, trace

BASE = load_or_fail()
READY = prepare(BASE)
LANGUAGES = ("en", "es", "pt", "fr")


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_letter_states_facts_and_asks_and_accuses_nobody(language):
    done = run(
        "letter",
        "--example",
        "container_damp",
        "--by",
        "2026-03-20",
        "--language",
        language,
        "--sender",
        "Q. Lead",
    )
    assert done.returncode == 0, done.stderr
    text = done.stdout
    assert "SVK-31" in text
    assert "2026-03-20" in text
    assert re.search(r"\n1\. .+", text)
    assert "5 " in text
    for word in ("fault", "fraud", "contaminated", "your", "culpa", "fraude", "faute", "%,", "0.9", "probab"):
        assert word not in text.lower().replace("your help", "").replace("thank you", "").replace(
            "could you", ""
        )
    assert not re.search(r"container sweat|condensation", text)
    assert "stand in English" not in done.stderr


def test_every_question_to_somebody_outside_has_words_in_each_language_of_the_letters():
    outside = [
        e
        for e in BASE.enquiries.values()
        if e.kind == "question" and e.ask_of in ("exporter", "carrier", "warehouse", "importer")
    ]
    assert len(outside) > 30
    for enquiry in outside:
        assert {"es", "pt", "fr"} <= set(enquiry.in_words), enquiry.id


def test_a_letter_to_an_exporter_is_not_written_about_our_own_room(tmp_path):
    done = (
        run("letter", "--example", "chlorinated_water", "--by", "2026-03-20")
        if (scenarios_folder() / "chlorinated_water.yaml").exists()
        else None
    )
    if done is not None:
        assert done.returncode == 1
        assert "our own" in done.stderr
    done = run("letter", "--example", "container_damp", "--by", "2026-03-20", "--stage", "cupping_lab")
    assert done.returncode == 1
    assert "our own" in done.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "needs a day to answer by"),
        ((), "Needed: --by DAY, such as --by 2026-03-20"),
        ((), "Possible: --to exporter, importer,"),
        ((), "--kind information, query, reminder, thanks;"),
        (("--by", "soon"), "is not a day"),
        (("--by", "2026-03-20", "--language", "xx"), "there is no query letter in 'xx'"),
        (("--by", "2026-03-20", "--stage", "dryng"), "Did you mean 'drying'?"),
    ],
)
def test_bad_wishes_for_a_letter_are_answered(words, told):
    done = run("letter", "--example", "container_damp", *words)
    assert done.returncode == 1
    assert told in done.stderr


def test_the_earliest_claim_day_is_warned_of_and_stands_in_the_letter(tmp_path):
    text = (scenarios_folder() / "container_damp.yaml").read_text(encoding="utf-8")
    clocks = (
        "clocks:\n  - {what: quality claim, clause: our form article 3, days: 21, from: 2026-03-06}\n"
        "  - {what: notice to the carrier, clause: bill of lading, days: 3, from: 2026-03-06}\ncontract: C-1\n"
    )
    (tmp_path / "lot.yaml").write_text(text + clocks, encoding="utf-8")
    shown = run("trace", str(tmp_path / "lot.yaml")).stdout
    assert "First claim day  notice to the carrier by 2026-03-09 (bill of lading)" in shown
    done = run("letter", str(tmp_path / "lot.yaml"), "--by", "2026-03-20")
    assert "after the first claim day, 2026-03-09" in done.stderr
    assert "reserve our rights" in done.stdout
    assert "C-1" in done.stdout


HOSTILE = "<script>alert(1)</script> *b* [x](y)"
LOT = (
    "lot: '{0}'\norigin: '{0}'\ncuppings: [{{on: 2026-03-09, sample: arrival, drawn_by: '{0}', cups: 5, tasters: [{{taster: '{0}', "
    "notes: [{{note: musty, cups: 3}}, '{0}']}}]}}]\nsaid: [{{by: '{0}', text: '{0} it rained on the parchment'}}]\n"
)


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags: list[str] = []
        self.handlers: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.handlers += [name for name, _ in attrs if name.startswith("on") or name in ("src", "href")]


def test_nothing_from_a_sheet_can_run_in_the_page_or_the_letter(tmp_path):
    (tmp_path / "lot.yaml").write_text(LOT.format(HOSTILE), encoding="utf-8")
    done = run("report", str(tmp_path / "lot.yaml"), "--html", str(tmp_path / "r.html"))
    assert done.returncode == 0, done.stderr
    page = Tags()
    page.feed((tmp_path / "r.html").read_text(encoding="utf-8"))
    assert "script" not in page.tags
    assert page.handlers == []
    letter = run("letter", str(tmp_path / "lot.yaml"), "--by", "2026-03-20", "--markdown").stdout
    assert "<script>" not in letter
    assert "[x](y)" not in letter


def test_the_page_is_whole_in_itself_and_answers_first(tmp_path):
    done = run("report", "--example", "log_sea_passage", "--html", str(tmp_path / "r.html"))
    assert done.returncode == 0
    text = (tmp_path / "r.html").read_text(encoding="utf-8")
    assert "http://" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in text
    order = [
        text.index(part)
        for part in (
            "HOLD THE LOT",
            "How sure",
            "Probable sources",
            "Why:",
            "Ask or test next",
            "The lot in time",
            "For a claim",
            "How it was computed",
        )
    ]
    assert order == sorted(order)
    assert BASE.sha256 in text
    assert text.count("<svg xmlns") == 2


def sheets() -> list[dict]:
    paths = sorted((scenarios_folder() / "golden").glob("*.yaml"))
    return [parse_yaml(path.read_text(encoding="utf-8"), "x").data for path in paths]


def test_many_lots_get_the_numbers_that_each_gets_alone():
    lots = []
    for number, data in enumerate(sheets()[::4]):
        lot, issues = read_piece(("a.jsonl", number, json.dumps(data, default=str)), BASE)
        assert lot is not None, issues
        lots.append(lot)
    for lot, one in zip(lots, brief(lots, BASE, READY), strict=True):
        alone = trace(lot, BASE, READY)
        assert one.verdict == alone.verdict
        by_fault = {line.fault: line.probability for line in alone.sources}
        for source in one.sources:
            if source.id in by_fault:
                assert source.probability == pytest.approx(by_fault[source.id], abs=1e-9)
        assert one.none_of_these == pytest.approx(alone.none_of_these, abs=1e-9)


def test_a_folder_json_lines_and_csv_are_traced_and_a_bad_lot_does_not_stop_the_rest(tmp_path):
    lines = [json.dumps(data, default=str) for data in sheets()[:5]]
    lines[2] = (
        '{"lot": "BAD", "cuppings": [{"cups": 5, "tasters": [{"taster": "a", "notes": [{"note": "musty", "cups": 9}]}]}]}'
    )
    lines.insert(3, "this is no JSON")
    (tmp_path / "lots.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    done = run("trace", str(tmp_path / "lots.jsonl"), "--json")
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert done.returncode == 1
    assert [row["lot"] is None for row in rows] == [False, False, True, True, False, False]
    assert "lots.jsonl:3:1: error" in done.stderr
    assert "lots.jsonl:4:1: error: the line is no JSON" in done.stderr
    (tmp_path / "lots.csv").write_text(
        "lot,process,sample,cups,notes,not_found,moisture_on_arrival\n=1+1,washed,arrival,5,musty in 3 of 5 cups; no ferment,smoky,13.1 %\nB,natural,arrival,5,clean,,\n",
        encoding="utf-8",
    )
    out = run("trace", str(tmp_path / "lots.csv"), "--out", str(tmp_path / "out.csv"))
    assert out.returncode == 0, out.stderr
    table = list(csv.DictReader((tmp_path / "out.csv").open(encoding="utf-8")))
    assert table[0]["lot"] == "'=1+1"
    assert table[0]["notes"] == "Musty"
    assert table[1]["verdict"] == "no_defect_supported"
    bad = run("trace", str(tmp_path / "missing.csv"))
    assert bad.returncode == 1
    (tmp_path / "odd.csv").write_text("lot,procces\nA,washed\n", encoding="utf-8")
    odd = run("trace", str(tmp_path / "odd.csv"))
    assert odd.returncode == 1
    assert "Did you mean 'process'?" in odd.stderr
    (tmp_path / "empty").mkdir()
    assert "no lot sheet in this folder" in run("trace", str(tmp_path / "empty")).stderr
    folder = run("trace", str(scenarios_folder() / "golden"), "--json", "--jobs", "1")
    assert folder.returncode == 0
    assert len(folder.stdout.splitlines()) == len(sheets())


def test_workers_give_the_same_lines_in_the_same_order(tmp_path):
    found = ["musty", "slight potato", "phenolic", "sour and earthy"]
    lines = [
        json.dumps({"lot": f"L-{number}", "cuppings": [{"tasters": [{"taster": "a", "notes": [note]}]}]})
        for number, note in zip(range(CHUNK + 40), itertools.cycle(found))
    ]
    (tmp_path / "lots.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    one = run("trace", str(tmp_path / "lots.jsonl"), "--json", "--jobs", "1").stdout
    two = run("trace", str(tmp_path / "lots.jsonl"), "--json", "--jobs", "2").stdout
    assert one == two


def test_the_printed_table_for_many_lots_is_read_as_it_stands_also_as_a_workbook(tmp_path, base):
    printed = run("sheet", "--table", "--stage", "drying")
    assert printed.returncode == 0, printed.stderr
    (tmp_path / "lots.csv").write_text(printed.stdout, encoding="utf-8")
    rows = list(csv.reader(printed.stdout.splitlines()))
    (tmp_path / "lots.xlsx").write_bytes(workbook([list(row) for row in rows]))
    told = [run("trace", name, "--json", cwd=tmp_path) for name in ("lots.csv", "lots.xlsx")]
    assert [one.returncode for one in told] == [0, 0], told[1].stderr
    found = [[json.loads(line) for line in one.stdout.splitlines()] for one in told]
    assert [row["lot"] for row in found[0]] == ["NRW-07", "NRW-08"]
    assert found[0] == found[1]
    drying = {r.id for r in base.records.values() if r.section == "history" and r.stage == "drying"}
    assert set(rows[0]) & drying
    for column in rows[0][:13]:
        assert f"| `{column}` |" in run("sheet", "--fields").stdout


def test_a_letter_on_words_that_are_still_open_asks_for_them_first(tmp_path):
    path = tmp_path / "lot.yaml"
    path.write_text(
        "lot: A\ncuppings:\n- sample: arrival\n  tasters:\n  - taster: T\n    cups: 5\n    notes:\n"
        "    - {note: acid, cups: 3}\n",
        encoding="utf-8",
    )
    done = run("letter", str(path), "--by", "2099-01-01")
    assert done.returncode == 1
    assert "still open" in done.stderr
    assert "no off-note was reported" not in done.stderr
