"""A knowledge file is read once for as long as its text stays the same."""

import datetime

import pytest

from tracer.knowledge import kept
from tracer.knowledge.yamlfile import read_yaml

TEXT = """- id: first
  on: 2026-03-01
  said: '2026-03-01'
  share: 0.5
- id: second
  names: [one, two]
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "things.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def refuse(*_):
    raise AssertionError("the file was read again")


def test_what_a_file_holds_comes_back_from_the_cache(file, monkeypatch):
    read = kept.read_kept(file)
    monkeypatch.setattr(kept, "read_yaml", refuse)
    assert kept.read_kept(file).data == read.data == read_yaml(file).data


def test_a_day_stays_a_day_and_a_text_that_looks_like_one_stays_text(file):
    for _ in range(2):
        first = kept.read_kept(file).data[0]
        assert first["on"] == datetime.date(2026, 3, 1)
        assert first["said"] == "2026-03-01"


def test_places_are_the_same_as_in_the_file(file):
    kept.read_kept(file)
    again = kept.read_kept(file)
    assert again.places == read_yaml(file).places
    assert str(again.place((1, "names", 1))).endswith("things.yaml:6:16")


def test_a_changed_file_is_read_anew(file):
    kept.read_kept(file)
    file.write_text(TEXT.replace("0.5", "0.75"), encoding="utf-8")
    assert kept.read_kept(file).data[0]["share"] == 0.75


def test_a_file_with_a_problem_tells_it_every_time(file):
    file.write_text(TEXT + "- id: third\n  id: fourth\n", encoding="utf-8")
    assert [len(kept.read_kept(file).issues) for _ in range(2)] == [1, 1]


def test_a_damaged_cache_is_made_again(file):
    kept.read_kept(file)
    for path in kept.cache_folder().glob("file-*"):
        path.write_text("{", encoding="utf-8")
    assert kept.read_kept(file).data == read_yaml(file).data
