"""A problem is told with its place: a line of a file, or the name of what was asked for."""

from __future__ import annotations

import pytest

from tracer.issues import Issue, Place


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
