"""What was acknowledged is never lost, and what is wrong is said: killed writers, two at once, full disk, foreign files."""

from __future__ import annotations

import datetime
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tracer.casebook.file import MIGRATIONS, opened
from tracer.casebook.sessions import add_drill, add_session, drills, kept, sessions
from tracer.casebook.transfer import back_up
from tracer.cli.inputs import write_lines
from tracer.issues import InputError

DAY = datetime.date(2026, 3, 9)
ROWS = [("Ana", str(100 + i), "s", ("musty",), (), 3.0, False) for i in range(20)]
WRITER = """
import datetime, sys
from pathlib import Path
from tracer.casebook.sessions import add_session
path, name, times = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
rows = [("Ana", str(100 + i), "s", ("musty",), (), 3.0, False) for i in range(20)]
for number in range(times):
    identity = add_session(path, datetime.date(2026, 3, 9), f"{name}-{number}", "", rows, "k")
    print(identity, flush=True)
"""


def check_whole(path: Path) -> str | None:
    """What SQLite's own check finds wrong with the file, or None."""
    with opened(path) as connection:
        told = connection.execute("PRAGMA quick_check").fetchone()[0]
    return None if told == "ok" else str(told)


def writer(path: Path, name: str, times: int) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(times)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_a_kept_session_reads_back_as_it_was(tmp_path):
    path = tmp_path / "book.sqlite"
    number = add_session(path, DAY, "week", "lead", ROWS, "k")
    [one] = sessions(path)
    assert (one.id, one.name, one.cups, one.tasters) == (number, "week", 20, 1)
    assert {cup.given for cup in kept(path)} == {("musty",)}
    assert check_whole(path) is None


def test_a_book_that_is_not_there_reads_as_empty_and_is_not_made(tmp_path):
    path = tmp_path / "none.sqlite"
    assert sessions(path) == ()
    assert not path.exists()


def test_nothing_can_be_changed_or_taken_out(tmp_path):
    path = tmp_path / "book.sqlite"
    add_session(path, DAY, "week", "", ROWS, "k")
    for statement in (
        "UPDATE served SET named = '[]'",
        "DELETE FROM session",
        "UPDATE session SET at = '2020-01-01'",
    ):
        with pytest.raises(InputError, match="only added to"), opened(path, write=True) as book:
            book.execute(statement)
    assert len(kept(path)) == 20


def test_a_correction_is_a_new_session_and_the_old_one_is_still_there(tmp_path):
    path = tmp_path / "book.sqlite"
    first = add_session(path, DAY, "week", "", ROWS, "k")
    add_session(path, DAY, "week again", "", ROWS[:3], "k", replaces=first)
    assert [one.replaced for one in sessions(path)] == [True, False]
    assert len(kept(path)) == 3


def test_a_writer_killed_in_mid_write_loses_nothing_it_acknowledged(tmp_path):
    path = tmp_path / "book.sqlite"
    for round_ in range(3):
        process = writer(path, f"r{round_}", 10_000)
        acknowledged = [process.stdout.readline() for _ in range(5)]
        time.sleep(0.02 * round_)
        os.kill(process.pid, signal.SIGKILL)
        acknowledged += process.stdout.read().splitlines()
        process.wait()
        told = {int(line) for line in acknowledged if line.strip()}
        there = {one.id: one.cups for one in sessions(path)}
        assert told <= set(there)
        assert set(there.values()) == {20}  # no session is half written
        assert check_whole(path) is None


def test_two_at_once_both_keep_everything(tmp_path):
    path = tmp_path / "book.sqlite"
    both = [writer(path, name, 40) for name in ("one", "other")]
    for process in both:
        _, errors = process.communicate(timeout=120)
        assert process.returncode == 0, errors
    found = sessions(path)
    assert len(found) == 80
    assert {one.cups for one in found} == {20}


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on file size")
def test_a_full_disk_is_told_and_what_was_kept_stays_whole(tmp_path):
    path = tmp_path / "book.sqlite"
    add_session(path, DAY, "before", "", ROWS, "k")
    code = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
        "resource.setrlimit(resource.RLIMIT_FSIZE, (120_000, 120_000))\n" + WRITER
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path), "full", "2000"], capture_output=True, text=True, timeout=120
    )
    assert done.returncode != 0
    assert "disk is full" in done.stderr
    told = {int(line) for line in done.stdout.split()}
    there = {one.id: one.cups for one in sessions(path)}
    assert told <= set(there)
    assert set(there.values()) == {20}
    assert check_whole(path) is None


def test_another_programs_database_and_a_damaged_one_are_refused(tmp_path):
    foreign = tmp_path / "foreign.sqlite"
    with sqlite3.connect(foreign) as other:
        other.execute("CREATE TABLE notes (x)")
    with pytest.raises(InputError, match="another program"):
        add_session(foreign, DAY, "x", "", ROWS, "k")
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(b"SQLite format 3\x00" + os.urandom(4000))
    with pytest.raises(InputError, match=r"damaged|refused"):
        sessions(broken)
    text = tmp_path / "text.sqlite"
    text.write_text(
        "this is no database at all, but a long enough text to look like one" * 20, encoding="utf-8"
    )
    with pytest.raises(InputError, match="damaged or no casebook"):
        sessions(text)


def test_a_newer_schema_is_refused_and_an_older_one_brought_up(tmp_path):
    path = tmp_path / "book.sqlite"
    add_session(path, DAY, "x", "", ROWS, "k")
    with sqlite3.connect(path) as book:
        book.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    with pytest.raises(InputError, match="newer tracer"):
        sessions(path)
    empty = tmp_path / "empty.sqlite"
    empty.touch()
    add_session(empty, DAY, "x", "", ROWS, "k")
    with sqlite3.connect(empty) as book:
        assert book.execute("PRAGMA user_version").fetchone()[0] == len(MIGRATIONS)


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("x", encoding="utf-8")
    with pytest.raises(InputError):
        add_session(blocked / "book.sqlite", DAY, "x", "", ROWS, "k")


def test_drills_are_kept_for_each_person(tmp_path):
    path = tmp_path / "book.sqlite"
    now = datetime.datetime(2026, 3, 9, 12, tzinfo=datetime.UTC)
    add_drill(path, "Ana", "stage:musty", True, now)
    add_drill(path, "Bui", "stage:musty", False, now)
    assert drills(path, "Ana") == ((now, "stage:musty", True),)


CASES = """
import sys
from pathlib import Path
from tracer.casebook.cases import keep
from tracer.knowledge.cache import load_cached
from tracer.lots.read import parse_lot
from tracer.tracing import trace
base = load_cached()
text = "lot: K\\ncuppings: [{cups: 5, tasters: [{taster: a, notes: [{note: musty, cups: 3}]}]}]\\n"
lot, _ = parse_lot(text, "x", base)
report = trace(lot, base)
while True:
    print(keep(Path(sys.argv[1]), text, {"a.csv": b"x" * 50_000}, lot, report, base, "me"), flush=True)
"""


def test_a_killed_keeper_of_cases_leaves_only_whole_cases(tmp_path):
    from tracer.casebook.cases import cases, whole

    path = tmp_path / "book.sqlite"
    process = subprocess.Popen([sys.executable, "-c", CASES, str(path)], stdout=subprocess.PIPE, text=True)
    acknowledged = [process.stdout.readline() for _ in range(6)]
    os.kill(process.pid, signal.SIGKILL)
    acknowledged += process.stdout.read().splitlines()
    process.wait()
    found = cases(path)
    assert {int(line) for line in acknowledged if line.strip()} <= {one.id for one in found}
    for one in found:
        assert whole(path, one.id).files == {"a.csv": b"x" * 50_000}
    assert check_whole(path) is None


EXPORT = """
import sys
from pathlib import Path
from tracer.cli.inputs import write_lines
def slowly():
    for number in range(10**9):
        yield str(number)
        if number == 1000:
            print("begun", flush=True)
write_lines(Path(sys.argv[1]), slowly())
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs kill -9")
def test_what_a_killed_writer_left_is_taken_away_by_the_next_and_a_living_one_is_left_alone(tmp_path):
    target = tmp_path / "out.jsonl"
    target.write_text("old\n", encoding="utf-8")
    first = subprocess.Popen([sys.executable, "-c", EXPORT, str(target)], stdout=subprocess.PIPE, text=True)
    assert first.stdout
    assert first.stdout.readline() == "begun\n"
    assert write_lines(target, ["while another writes"]) == 1
    assert len(list(tmp_path.iterdir())) == 2
    first.kill()
    first.wait()
    assert target.read_text(encoding="utf-8") == "while another writes\n"
    assert write_lines(target, ["new"]) == 1
    assert [one.name for one in tmp_path.iterdir()] == ["out.jsonl"]


def test_a_backup_into_a_folder_that_cannot_be_written_or_is_not_there_is_told(tmp_path):
    path = tmp_path / "book.sqlite"
    add_session(path, DAY, "before", "", ROWS, "k")
    for target in (tmp_path / "missing" / "copy.sqlite", Path("/proc/copy.sqlite")):
        with pytest.raises(InputError) as caught:
            back_up(path, target)
        assert caught.value.issues[0].remedy
    back_up(path, tmp_path / "copy.sqlite")
    assert len(sessions(tmp_path / "copy.sqlite")) == 1
