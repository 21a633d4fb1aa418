"""An export from anywhere is read whole or refused with its place; whatever was read can be shown, answered and learned from."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import sys
import zlib
from pathlib import Path

import pytest

from tests.casebook.test_cases import BASE, kept_lot, sheet
from tests.command import run
from tracer.casebook.cases import add_received, cases, close, whole
from tracer.casebook.learn import Figure, group_rule
from tracer.casebook.sessions import add_drill, add_session, sessions
from tracer.casebook.transfer import export_lines, import_lines
from tracer.issues import InputError
from tracer.tracing import trace

DEEP = "[" * 100_000


@pytest.fixture(scope="module")
def export(tmp_path_factory) -> list[dict]:
    """Rows of a casebook with a closed case, an answer, a session and a drill."""
    import datetime

    path = tmp_path_factory.mktemp("export") / "book.sqlite"
    kept_lot(path, sheet("A"))
    report = trace(kept_sheet(path), BASE)
    add_received(path, 1, "test_smell_green", "nothing", "buyer", "", report)
    close(path, 1, "none", "record", "QA", "sound")
    add_session(
        path,
        datetime.date(2026, 3, 9),
        "week 12",
        "QA",
        [("Ana", "101", "s", ("musty",), (), 3.0, False)],
        "k",
    )
    add_drill(path, "Ana", "stage:musty", True, datetime.datetime(2026, 3, 9, 12, tzinfo=datetime.UTC))
    return [json.loads(line) for line in export_lines(path)]


def kept_sheet(path: Path):
    from tracer.casebook.again import lot_of

    return lot_of(whole(path, 1), BASE)


def written(folder: Path, rows: list[dict], table: str, **changes: object) -> Path:
    """The export with columns of the first row of a table changed."""
    found = [dict(row) for row in rows]
    next(row for row in found if row.get("table") == table).update(changes)
    target = folder / "in.jsonl"
    target.write_text("\n".join(json.dumps(row) for row in found), encoding="utf-8")
    return target


def packed(content: bytes) -> dict[str, str]:
    return {"base64": base64.b64encode(zlib.compress(content)).decode()}


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("lot_case", "added", "\x1b[2Jnow"),
        ("lot_case", "added", 7),
        ("lot_case", "lot", "\x1b]0;owned\x07"),
        ("lot_case", "lot", None),
        ("lot_case", "lot", "\ud800"),
        ("lot_case", "sheet", {"base64": "AAAA"}),
        ("lot_case", "report", DEEP),
        ("lot_case", "report", "{}"),
        ("lot_case", "report", '{"verdict_text": "x", "knowledge": {"version": "1"}, "sources": [7]}'),
        ("lot_case", "probability", "much"),
        ("lot_case", "probability", 1e300),
        ("lot_case", "replaces", 1),
        ("lot_case", "cupped", "some day"),
        ("lot_case", "id", -1),
        ("lot_case", "id", 2**70),
        ("lot_case", "id", True),
        ("lot_case", "knowledge", "not kept"),
        ("knowledge", "packed", {"base64": [1, 2]}),
        ("knowledge", "packed", {"base64": "%%%"}),
        ("knowledge", "packed", packed(DEEP.encode())),
        ("knowledge", "packed", packed(b"[]")),
        ("knowledge", "packed", "text"),
        ("received", "at", ""),
        ("received", "enquiry", ["a"]),
        ("received", "answer", "\n"),
        ("closing", "how", "guess"),
        ("closing", "how", ["record"]),
        ("closing", "fault", "x\x1b[31m"),
        ("closing", "at", "yesterday"),
        ("session", "at", "2026-13-45"),
        ("session", "name", "x" * 5000),
        ("served", "given", "[7]"),
        ("served", "given", DEEP),
        ("served", "named", "musty"),
        ("served", "multiple", "three"),
        ("drill", "at", "noon"),
        ("drill", "right", "yes"),
        ("drill", "extra", 1),
    ],
)  # fmt: skip
def test_a_row_that_would_hurt_later_is_refused_with_its_line(tmp_path, export, table, column, value):
    source = written(tmp_path, export, table, **{column: value})
    line = 1 + next(number for number, row in enumerate(export) if row.get("table") == table)
    with pytest.raises(InputError) as caught:
        import_lines(tmp_path / "new.sqlite", source)
    [issue] = caught.value.issues
    assert issue.place.line == line
    assert "Nothing was imported" in issue.remedy
    assert cases(tmp_path / "new.sqlite") == ()


@pytest.mark.parametrize("name", ["../x.csv", "/etc/x", "a/../../x", "C:\\x.csv", "..\\x", "", "a\x00b"])
def test_an_attachment_lies_beside_its_sheet_and_is_what_was_kept(tmp_path, export, name):
    import hashlib

    content = b"Time,T\n"
    sound = {
        "table": "attachment",
        "id": 1,
        "lot_case": 1,
        "name": "logs/a.csv",
        "sha256": hashlib.sha256(content).hexdigest(),
        "packed": packed(content),
    }
    case = next(number for number, row in enumerate(export) if row.get("table") == "lot_case")
    rows = [*export[: case + 1], sound, *export[case + 1 :]]
    import_lines(tmp_path / "good.sqlite", written(tmp_path, rows, "attachment"))
    assert dict(whole(tmp_path / "good.sqlite", 1).files) == {"logs/a.csv": content}
    for changes in ({"name": name}, {"packed": packed(b"other")}):
        with pytest.raises(InputError):
            import_lines(tmp_path / "new.sqlite", written(tmp_path, rows, "attachment", **changes))


def test_the_first_line_must_say_what_the_file_is(tmp_path):
    for first in ('{"casebook": true}', '{"casebook": 99}', '{"casebook": [1]}', "{}", DEEP, "\x00"):
        (tmp_path / "in.jsonl").write_text(first, encoding="utf-8")
        done = run("cases", "import", "in.jsonl", "--casebook", "new.sqlite", cwd=tmp_path)
        assert done.returncode == 1
        assert "in.jsonl:1:1: error" in done.stderr
        assert "Traceback" not in done.stderr


def test_an_answer_whose_question_is_gone_is_shown_and_set_aside_everywhere(tmp_path, export):
    book = tmp_path / "book.sqlite"
    import_lines(book, written(tmp_path, export, "received", enquiry="ask_what_was_once_asked"))
    for words in (("again", "1"), ("again", "1", "--now"), ("learn",)):
        done = run("cases", *words, "--casebook", str(book))
        assert done.returncode == 0, done.stderr
        assert "ask_what_was_once_asked = nothing is set aside" in done.stderr
    done = run("answer", "1", "ask_bed_log=slow", "--by", "x", "--casebook", str(book))
    assert done.returncode == 0, done.stderr
    assert "is set aside" in done.stderr
    assert "ask_what_was_once_asked" in run("cases", "show", "1", "--casebook", str(book)).stdout
    pytest.importorskip("starlette")
    from starlette.testclient import TestClient

    from tracer.page.app import application
    from tracer.page.site import Site

    with TestClient(application(Site(BASE, book, address="http://testserver"))) as client:
        shown = client.get("/lot/1")
    assert shown.status_code == 200
    assert "set aside" in shown.text


def test_closing_a_closed_case_is_asked_about(tmp_path, export):
    book = str(tmp_path / "book.sqlite")
    import_lines(Path(book), written(tmp_path, export, "drill"))
    words = ("close", "1", "--fault", "not_found", "--how", "record", "--by", "QA", "--casebook", book)
    asked = run(*words)
    assert asked.returncode == 1
    assert "closed already: none, by record" in asked.stderr
    assert "--again" in asked.stderr
    assert len(whole(Path(book), 1).closings) == 1
    assert run(*words, "--again").returncode == 0
    assert [one.fault for one in whole(Path(book), 1).closings] == ["none", "not_found"]


@pytest.mark.skipif(
    sys.platform == "win32" or not shutil.which("setpriv"), reason="needs rights that bind the superuser"
)
def test_a_casebook_that_cannot_be_written_can_be_read(tmp_path, export):
    folder = tmp_path / "archive"
    folder.mkdir()
    import_lines(folder / "book.sqlite", written(tmp_path, export, "drill"))
    assert len(sessions(folder / "book.sqlite")) == 1
    bound = ["setpriv", "--bounding-set=-dac_override,-dac_read_search"] if os.geteuid() == 0 else []
    os.chmod(folder / "book.sqlite", 0o444)
    os.chmod(folder, 0o555)
    try:
        for words, code in (
            (("cases", "show", "1"), 0),
            (("cases",), 0),
            (("panel", "status"), 0),
            (("cases", "export", str(tmp_path / "out.jsonl")), 0),
            (("answer", "1", "ask_bed_log=slow", "--by", "x"), 1),
        ):
            done = subprocess.run(
                [*bound, sys.executable, "-m", "tracer", *words, "--casebook", str(folder / "book.sqlite")],
                capture_output=True,
                text=True,
            )
            assert done.returncode == code, (words, done.stderr)
            assert "Traceback" not in done.stderr
            assert not code or "cannot be opened for writing" in done.stderr
        assert [one.name for one in folder.iterdir()] == ["book.sqlite"]
    finally:
        os.chmod(folder, 0o755)


def test_exporters_that_differ_in_script_length_or_signs_alone_have_rules_of_their_own():
    names = [
        "株式会社山田",
        "株式会社鈴木",
        "የቡና ላኪ",
        "alto norte",
        "alto-norte",
        "alto_norte",
        "a" * 80,
        "a" * 81,
        "a" * 79 + "b",
    ]
    figures = [
        Figure("group", "potato_taste", 1, 2, 1, 3, 4, 5, group="exporter", value=name) for name in names
    ]
    rules = {group_rule(one, BASE.settings).id for one in figures}
    assert len(rules) == len(names)
