"""A problem is told with its place: a line of a file, or the name of what was asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from tracer.issues import InputError, Issue, Place


@pytest.mark.parametrize(
    ("place", "told"),
    [
        (Place("lot.yaml", 3, 5), "lot.yaml:3:5: error: wrong"),
        (Place("lot.yaml"), "lot.yaml:1:1: error: wrong"),
        (Place("--by"), "--by: error: wrong"),
        (Place("CASE"), "CASE: error: wrong"),
    ],
)
def test_an_option_or_argument_has_no_line_and_a_file_has(place, told):
    assert str(Issue(place, "wrong", "mend")) == f"{told}\n    mend"


@pytest.mark.parametrize(
    ("given", "place"),
    [
        (Place("lot.yaml", 3, 5), Place("lot.yaml", 3, 5)),
        (Path("lot.yaml"), Place("lot.yaml")),
        ("--by", Place("--by")),
    ],
)
def test_the_error_of_one_problem_takes_a_place_a_file_or_a_name(given, place):
    assert InputError.of(given, "wrong", "mend").issues == (Issue(place, "wrong", "mend"),)
