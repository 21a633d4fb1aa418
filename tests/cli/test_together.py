"""`tracer trace FOLDER --together` as its user runs it."""

from __future__ import annotations

import json

import pytest

from tests.command import run

LOT = """lot: {name}
custody: {{transport: container HILU 400211-3}}
cuppings: [{{sample: arrival, cups: 5, tasters: [{{taster: ana, notes: [{{note: {note}, cups: 3}}]}}]}}]
"""


@pytest.fixture
def folder(tmp_path):
    for name, note in (("N-1", "musty"), ("N-2", "mouldy"), ("N-3", "petrol")):
        (tmp_path / f"{name}.yaml").write_text(LOT.format(name=name, note=note), encoding="utf-8")
    return tmp_path


def test_the_screen_says_stop_first_then_what_is_shared_then_each_lot(folder):
    done = run("trace", str(folder), "--together")
    assert done.returncode == 0, done.stderr
    out = done.stdout
    assert out.index("STOP TASTING: N-3") < out.index("Common sources") < out.index("Each lot")
    assert "container HILU 400211-3" in out


def test_the_same_as_json(folder):
    data = json.loads(run("trace", str(folder), "--together", "--json").stdout)
    assert {one["alone"]["lot"] for one in data["lots"]} == {"N-1", "N-2", "N-3"}
    assert data["common"][0]["place"] == "container HILU 400211-3"
    assert 0 <= data["none"] <= 1


def test_a_bad_sheet_is_told_and_the_others_are_traced(folder):
    (folder / "bad.yaml").write_text("lot: B\nproces: washed\n", encoding="utf-8")
    done = run("trace", str(folder), "--together")
    assert done.returncode == 1
    assert "proces" in done.stderr
    assert "N-1" in done.stdout


def test_a_single_sheet_cannot_be_traced_together(folder):
    done = run("trace", str(folder / "N-1.yaml"), "--together")
    assert done.returncode == 2
    assert "--together" in done.stderr


def test_lots_that_share_nothing_are_told_so(tmp_path):
    for name in ("A", "B"):
        (tmp_path / f"{name}.yaml").write_text(
            LOT.format(name=name, note="musty").replace("HILU 400211-3", name), encoding="utf-8"
        )
    assert "share no place" in run("trace", str(tmp_path), "--together").stdout


def test_together_goes_without_the_published_cases_too(folder):
    whole, bare = (
        json.loads(run("trace", str(folder), "--together", "--json", *more).stdout)
        for more in ((), ("--without", "precedents"))
    )
    assert [one["alone"]["lot"] for one in bare["lots"]] == [one["alone"]["lot"] for one in whole["lots"]]
    assert bare["lots"] != whole["lots"]
