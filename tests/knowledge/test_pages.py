"""Large tables are kept in one file, and a lookup reads one page of it."""

import multiprocessing
import os

import pytest

from tracer.knowledge import pages
from tracer.knowledge.pages import read_pages, write_pages

WORDS = {f"word {number}": [number, "é"] for number in range(500)}
TABLES = {"words": WORDS, "places": {number: number * number for number in range(40)}, "none": {}}


@pytest.fixture
def path(tmp_path):
    return tmp_path / "kept" / "tables.pages"


def test_every_entry_comes_back_and_no_other(path):
    write_pages(path, TABLES)
    found = read_pages(path)
    assert {name: len(table) for name, table in found.items()} == {"words": 500, "places": 40, "none": 0}
    assert {key: found["words"][key] for key in found["words"]} == WORDS
    assert found["places"][7] == 49
    assert "word 500" not in found["words"]
    assert found["none"].get("word 1") is None
    with pytest.raises(KeyError):
        found["words"]["word 500"]


def test_a_lookup_reads_one_page(path, monkeypatch):
    write_pages(path, TABLES)
    found = read_pages(path)
    read, sound = [], pages.json.loads
    monkeypatch.setattr(pages.json, "loads", lambda text: read.append(len(text)) or sound(text))
    assert found["words"]["word 7"] == found["words"]["word 7"] == [7, "é"]
    assert len(read) == 1
    assert read[0] < path.stat().st_size / 8


def test_values_are_made_of_what_json_holds(path):
    write_pages(path, TABLES)
    assert read_pages(path, {"words": tuple})["words"]["word 3"] == (3, "é")


@pytest.mark.parametrize("at", [0, 5, -1, -300])
def test_a_damaged_file_is_none(path, at):
    write_pages(path, TABLES)
    raw = bytearray(path.read_bytes())
    raw[at] ^= 1
    path.write_bytes(raw)
    assert read_pages(path) is None


def test_a_missing_or_shortened_file_is_none(path):
    assert read_pages(path) is None
    write_pages(path, TABLES)
    path.write_bytes(path.read_bytes()[:-10])
    assert read_pages(path) is None


def test_where_nothing_can_be_written_nothing_is_and_no_error_comes(tmp_path):
    (tmp_path / "file").write_text("no folder")
    write_pages(tmp_path / "file" / "tables.pages", TABLES)
    assert read_pages(tmp_path / "file" / "tables.pages") is None


def _write_often(path, number):
    for _ in range(30):
        write_pages(path, {"own": dict.fromkeys(WORDS, number)})


@pytest.mark.skipif(not hasattr(os, "fork"), reason="two processes at once are forked")
def test_two_that_write_at_once_leave_one_whole_file(path):
    write_pages(path, {"own": dict.fromkeys(WORDS, 0)})
    writers = [
        multiprocessing.get_context("fork").Process(target=_write_often, args=(path, n)) for n in (1, 2)
    ]
    for writer in writers:
        writer.start()
    seen = []
    while any(writer.is_alive() for writer in writers):
        found = read_pages(path)
        seen.append(found is not None and len({found["own"][key] for key in WORDS}))
    for writer in writers:
        writer.join()
    assert set(seen) <= {1}
    assert [one.name for one in path.parent.iterdir()] == [path.name]
