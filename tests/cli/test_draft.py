"""`tracer draft`: from a message in plain sentences to a sheet, by the real command."""

from __future__ import annotations

import json

import pytest
import yaml

from tests.command import run

MAIL = """Dear all,
The parchment was rained on twice and nobody covered it.
Tank time 36 h, and they say the diesel dryer leaked smoke.
Loaded on 12 March.
Kind regards
"""


@pytest.fixture
def mail(tmp_path):
    file = tmp_path / "mail.txt"
    file.write_text(MAIL, encoding="utf-8")
    return file


def sheet_of(printed: str) -> dict:
    return yaml.safe_load(printed)


def test_a_message_becomes_a_sheet_on_which_nothing_counts_yet(mail, tmp_path):
    done = run("draft", str(mail))
    assert done.returncode == 0, done.stderr
    sheet = sheet_of(done.stdout)
    assert [one["text"] for one in sheet["said"]][1].startswith("The parchment was rained on")
    assert not any(one["confirmed"] for one in sheet["said"])
    assert "[said_rain_on_coffee]" in done.stdout
    (tmp_path / "lot.yaml").write_text(done.stdout, encoding="utf-8")
    report = json.loads(run("trace", str(tmp_path / "lot.yaml"), "--json").stdout)
    assert report["verdict"] in ("insufficient_evidence", "no_defect_supported")


def test_a_mark_confirms_its_proposal_and_nothing_else(mail):
    first = json.loads(run("draft", str(mail), "--json").stdout)
    mark = next(p["mark"] for one in first for p in one["proposals"] if p["id"] == "said_rain_on_coffee")
    sheet = sheet_of(run("draft", str(mail), "--confirm", mark).stdout)
    assert [name for one in sheet["said"] for name in one["confirmed"]] == ["said_rain_on_coffee"]
    assert sheet["drafted"]["taken"] == "one_by_one"


def test_what_was_confirmed_counts_as_a_row_of_the_sheet(mail, tmp_path):
    out = tmp_path / "lot.yaml"
    assert run("draft", str(mail), "--take-first", "--on", "2026-03-20", "--out", str(out)).returncode == 0
    history = run("history", str(out)).stdout
    assert "rain_on_coffee: yes" in history
    assert "tank_hours: 36" in history
    assert "2026-03-12" in history


def test_taking_every_first_proposal_marks_the_sheet_as_unread(mail):
    done = run("draft", str(mail), "--take-first")
    assert sheet_of(done.stdout)["drafted"]["taken"] == "first_unread"
    assert "unread" in done.stderr


def test_standard_input_is_read_and_the_sheet_may_go_to_a_file(tmp_path):
    out = tmp_path / "new.yaml"
    done = run("draft", "-", "--lot", "KAL-7", "--by", "the exporter", "--out", str(out), stdin=MAIL)
    assert done.returncode == 0
    assert done.stdout == ""
    sheet = sheet_of(out.read_text(encoding="utf-8"))
    assert (sheet["lot"], sheet["said"][0]["by"]) == ("KAL-7", "the exporter")


def test_hearsay_is_marked(mail):
    found = json.loads(run("draft", str(mail), "--json").stdout)
    assert [one["hearsay"] for one in found if "they say" in one["text"]] == [True]
    assert "; hearsay" in run("draft", str(mail)).stdout


@pytest.mark.parametrize(
    ("language", "text", "wanted"),
    [
        ("en", "It rained on the parchment while it was drying.", "said_rain_on_coffee"),
        ("es", "Llovió sobre el pergamino en el patio.", "said_rain_on_coffee"),
        ("pt", "Choveu no café no terreiro.", "said_rain_on_coffee"),
        ("fr", "Il a plu sur le parche pendant le séchage.", "said_rain_on_coffee"),
        ("de", "Der Pergamentkaffee wurde beim Trocknen vom Regen nass.", "said_rain_on_coffee"),
        ("it", "Ha piovuto sul pergamino durante l'essiccazione.", "said_rain_on_coffee"),
        ("id", "Kehujanan waktu dijemur di para-para.", "said_rain_on_coffee"),
        ("vi", "Cà phê thóc bị mưa ướt khi đang phơi.", "said_rain_on_coffee"),
        ("ja", "乾燥中にパーチメントが雨に濡れた。", "said_rain_on_coffee"),
        ("am", "ቡናው እየደረቀ ዝናብ መታው።", "said_rain_on_coffee"),
    ],
)
def test_rain_on_the_coffee_is_proposed_in_every_language(language, text, wanted):
    found = json.loads(run("draft", "-", "--json", stdin=text).stdout)
    assert found[0]["language"] == language
    assert wanted in [p["id"] for p in found[0]["proposals"]]


def test_wrong_marks_days_and_languages_are_told_with_what_to_do(mail):
    for words, told in (
        (("--confirm", "99z"), "there is no proposal '99z'"),
        (("--on", "20 March"), "is no day"),
        (("--language", "xx"), "is no language known here"),
    ):
        done = run("draft", str(mail), *words)
        assert done.returncode == 1
        assert told in done.stderr
        assert "Traceback" not in done.stderr


def test_every_wrong_mark_is_told_at_once(mail):
    done = run("draft", str(mail), "--confirm", "98a,99z")
    assert "98a" in done.stderr
    assert "99z" in done.stderr


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"", "no sentence"), (b"  \n\n ", "no sentence"), (b"\x89PNG\x00\x00\x00", "no plain text")],
)
def test_a_file_that_is_no_message_is_told_so(tmp_path, content, told):
    file = tmp_path / "x.txt"
    file.write_bytes(content)
    done = run("draft", str(file))
    assert done.returncode == 1
    assert told in done.stderr


def test_a_missing_file_is_told(tmp_path):
    done = run("draft", str(tmp_path / "none.txt"))
    assert done.returncode == 1
    assert "cannot be read" in done.stderr


def test_other_encodings_and_signs_without_width_are_read(tmp_path):
    for number, encoding in enumerate(("cp1252", "utf-16", "utf-8-sig")):
        file = tmp_path / f"{number}.txt"
        file.write_bytes("Llovió sobre el pergamino en el patio.".encode(encoding))
        assert "said_rain_on_coffee" in run("draft", str(file)).stdout, encoding
    hidden = "It \u202erai\u200bned\u202c on the par\u00adchment.\x07"
    done = run("draft", "-", stdin=hidden)
    assert "said_rain_on_coffee" in done.stdout
    assert not set("\u202e\u200b\x07") & set(done.stdout)


def test_text_that_looks_like_yaml_stays_text():
    done = run("draft", "-", stdin="lot: EVIL\nsaid: [x]\n- {note: petrol}: &a *a !!python/object\n'\"\n")
    sheet = sheet_of(done.stdout)
    assert sheet["lot"] == "NEW-LOT"
    assert any("EVIL" in one["text"] for one in sheet["said"])


def test_a_text_past_all_measure_is_refused_without_being_read(tmp_path):
    big = tmp_path / "big.txt"
    big.write_bytes(b"x" * 21_000_000)
    done = run("draft", str(big))
    assert done.returncode == 1
    assert "larger than" in done.stderr


@pytest.mark.slow
def test_a_megabyte_without_a_stop_is_read(tmp_path):
    file = tmp_path / "long.txt"
    file.write_text("x" * 1_000_000, encoding="utf-8")
    done = run("draft", str(file), "--out", str(tmp_path / "o.yaml"))
    assert done.returncode == 0, done.stderr
