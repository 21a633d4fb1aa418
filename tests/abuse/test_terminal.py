"""The real command in hostile surroundings: escapes in every field, no home, no locale, no width, no reader, no patience."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
import time

import pytest

from tests.command import run
from tracer.lots.attached import example_path

HOSTILE = (
    "\\x1b[31m\\x1b]0;title\\x07\\x9b2J[bold red]markup[/bold red][link=http://x]y[/link]\\u202egnp\\u2066"
)
"""As written between double quotes in YAML: terminal escapes, markup, and signs that turn text round."""


def sheet_of(text):
    quoted = f'"{text}"'
    return f"""
lot: {quoted}
species: {quoted}
origin: {quoted}
crop: {quoted}
exporter: {quoted}
contract: {quoted}
declared: [{quoted}]
clocks: [{{what: {quoted}, clause: {quoted}, days: 3, from: 2026-01-01}}]
custody: {{harvest: [{quoted}]}}
made_of: [{quoted}]
cuppings:
  - on: 2026-03-09
    drawn_by: {quoted}
    cups: 5
    tasters:
      - taster: {quoted}
        notes: [musty, {quoted}, {{note: {quoted}, means: mouldy, when: {quoted}}}]
        not_found: [smoky]
    control: {{cups: 5, notes: [{quoted}]}}
said: [{{by: {quoted}, text: {quoted}}}]
laboratory: [{{compound: tca, value: 4, unit: {quoted}, matrix: green, method: {quoted}, result: raised}}]
"""


def clean(text):
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b\u202a-\u202e\u2066-\u2069]", text), repr(
        text[:400]
    )
    return text


@pytest.mark.parametrize(
    "text",
    ["[bold red]markup[/bold red][link=http://x]y[/link][/]", "\\u202egnp\\u2066\\u200b", "[/red]", "{x} %s"],
)
@pytest.mark.parametrize(
    "verb",
    [
        ["trace"],
        ["trace", "--everything"],
        ["why"],
        ["ask"],
        ["history"],
        ["check"],
        ["letter", "--by", "2026-12-20"],
    ],
)
def test_no_text_of_a_sheet_drives_a_terminal(tmp_path, verb, text):
    path = tmp_path / "lot.yaml"
    path.write_text(sheet_of(text), encoding="utf-8")
    done = run(verb[0], str(path), *verb[1:])
    assert "Traceback" not in done.stderr
    assert done.returncode == 0, done.stderr
    clean(done.stdout)
    clean(done.stderr)
    if verb == ["trace"] and "markup" in text:
        assert "[bold red]markup" in done.stdout.replace("\n", "")


@pytest.mark.parametrize("field", ["lot", "origin", "exporter"])
def test_control_characters_are_refused_and_not_echoed(tmp_path, field):
    path = tmp_path / "lot.yaml"
    path.write_text(f'lot: A\n{field if field != "lot" else "crop"}: "{HOSTILE}"\n')
    done = run("trace", str(path))
    assert done.returncode == 1
    assert "control characters" in done.stderr
    clean(done.stdout + done.stderr)


@pytest.mark.parametrize(
    "words",
    [
        ["show", "\x1b[31mx"],
        ["why", "--example", "container_damp", "\x1b[31mx"],
        ["panel", "card", "\x1b]0;x\x07"],
        ["trace", "--example", "\x1b[31m"],
        ["trace", "\x1b[31m.yaml"],
        ["cases", "--lot", "\x1b[31m"],
        ["answer", "1", "\x1b[31m=\x1b[2J", "--by", "x"],
        ["close", "1", "--by", "x", "--how", "\x1b[31m", "--fault", "\x1b[31m"],
    ],
)
def test_no_argument_is_echoed_raw(words):
    done = run(*words)
    assert "Traceback" not in done.stderr
    clean(done.stdout + done.stderr)


def test_a_kept_case_with_hostile_text_is_listed_shown_and_exported_clean(tmp_path):
    path = tmp_path / "lot.yaml"
    path.write_text(sheet_of("[bold red]m[/]\\u202e"), encoding="utf-8")
    book = {"TRACER_CASEBOOK": str(tmp_path / "book.sqlite")}
    assert run("trace", str(path), "--keep", "--by", "[red]\u202e", **book).returncode == 0
    for words in (["cases"], ["cases", "show", "1"], ["cases", "again", "1"]):
        done = run(*words, **book)
        assert done.returncode == 0, done.stderr
        clean(done.stdout)
        assert "[bold red]m" in done.stdout.replace("\n", "")


def test_a_home_that_cannot_be_written_is_no_hindrance_to_a_trace(tmp_path):
    home = tmp_path / "home"
    home.mkdir()
    home.chmod(0o500)
    file = tmp_path / "file"
    file.write_text("")
    surroundings = {
        "HOME": str(home),
        "XDG_CACHE_HOME": str(file / "no"),
        "XDG_DATA_HOME": str(file / "no"),
        "TRACER_CACHE_DIR": str(file / "no"),
        "TRACER_CASEBOOK": str(file / "no" / "b.sqlite"),
    }
    done = run("trace", "--example", "container_damp", **surroundings)
    assert done.returncode == 0, done.stderr
    kept = run("trace", "--example", "container_damp", "--keep", "--by", "QA", **surroundings)
    assert kept.returncode == 1
    assert "Traceback" not in kept.stderr
    assert "casebook" in kept.stderr


@pytest.mark.parametrize(
    "surroundings",
    [
        {"LANG": "C", "LC_ALL": "C"},
        {"LANG": "", "LC_ALL": "xx_XX.nothing"},
        {"PYTHONIOENCODING": "ascii"},
        {"PYTHONUTF8": "0", "LC_ALL": "POSIX"},
    ],
)
def test_a_missing_locale_is_no_hindrance(surroundings):
    done = run("trace", "--example", "container_damp", **surroundings)
    assert done.returncode == 0
    assert "container sweat" in done.stdout


@pytest.mark.parametrize("width", ["1", "20", "1000", "-5", "x"])
def test_any_width_of_the_terminal_will_do(width):
    for verb in ("trace", "ask", "why", "history") if width == "1" else ("trace",):
        done = run(verb, "--example", "container_damp", COLUMNS=width)
        assert done.returncode == 0, done.stderr
        assert "Traceback" not in done.stderr


def test_without_colour_nothing_is_coloured_and_with_it_meaning_does_not_rest_on_it():
    plain = run("trace", "--example", "container_damp", NO_COLOR="1")
    assert "\x1b" not in plain.stdout
    forced = run("trace", "--example", "container_damp", FORCE_COLOR="1", NO_COLOR="", TERM="xterm-256color")
    assert re.sub(r"\x1b\[[0-9;]*m", "", forced.stdout).split() == plain.stdout.split()
    assert "HOLD THE LOT" in plain.stdout


@pytest.mark.parametrize(
    "words", [["trace", "--example", "container_damp"], ["show", "musty"], ["sheet"], ["check"]]
)
def test_a_reader_that_goes_away_is_no_error(words):
    first = subprocess.Popen(
        [sys.executable, "-m", "tracer", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    first.stdout.close()
    _, told = first.communicate(timeout=60)
    assert b"Traceback" not in told
    assert b"Exception ignored" not in told


def hear_interrupts():
    """A shell starts what runs in the background deaf to interrupts; a person at a terminal does not."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def test_ctrl_c_in_mid_work_leaves_no_traceback_and_no_half_file(tmp_path):
    from tests.bench.bench_many import archive

    archive(tmp_path / "lots.jsonl", 20_000)
    out = tmp_path / "out.jsonl"
    words = [
        sys.executable,
        "-m",
        "tracer",
        "trace",
        str(tmp_path / "lots.jsonl"),
        "--out",
        str(out),
        "--jobs",
        "1",
    ]
    process = subprocess.Popen(
        words,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ},
        preexec_fn=hear_interrupts,
    )
    time.sleep(4)
    for _ in range(
        3
    ):  # an interrupt that falls into a clean-up of the interpreter is lost: press again, as anybody would
        process.send_signal(signal.SIGINT)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(timeout=20)
            break
    _, told = process.communicate(timeout=30)
    assert "Traceback" not in told
    assert process.returncode == 130
    assert not out.exists()
    assert not list(tmp_path.glob("*.part"))


def test_a_clock_before_the_epoch_and_one_far_ahead_do_no_harm(tmp_path):
    for zone in ("Pacific/Kiritimati", "Pacific/Niue", "Nothing/Here", ""):
        done = run("trace", "--example", "log_sea_passage", TZ=zone)
        assert done.returncode == 0
    one, other = (
        run("history", "--example", "log_sea_passage", "--json", TZ=zone).stdout
        for zone in ("Pacific/Kiritimati", "America/Lima")
    )
    assert one == other


def test_an_example_path_cannot_leave_its_folder():
    for name in ("../../README", "/etc/passwd", "..", "", "golden/../../x"):
        with pytest.raises(Exception, match="no example"):
            example_path(name)
