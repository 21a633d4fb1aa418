"""Published cases of the second set, and messages that nobody read: limits a little under what was measured."""

from __future__ import annotations

import datetime

import pytest

from tests.cases.every import messages, score, sheets
from tracer.issues import Place
from tracer.lots.read import lot_of_data
from tracer.sentences.draft import draft
from tracer.tracing import trace

pytestmark = pytest.mark.slow


def test_published_cases_with_their_own_group_left_out(base, ready):
    found = score(list(sheets(base)), base, ready, "together")
    assert found.first_or_also >= 0.78 * found.lots
    assert found.three >= 0.82 * found.lots
    assert found.nulls_right >= 0.9 * found.nulls
    assert found.supported_right >= 0.88 * found.supported


def test_messages_that_nobody_read(base, ready):
    found = score(list(messages(base, ready, "open")), base, ready, "together")
    assert found.first_or_also >= 0.58 * found.lots
    assert found.three >= 0.75 * found.lots


def test_what_a_machine_took_unread_weighs_less_than_what_was_confirmed(base, ready):
    [read] = ready.reader.message("It rained on the cherries on the patio for three days.", "en")
    [one] = draft([read], (), take_first=True)
    assert one.confirmed
    said = {"by": "a", "language": "en", "text": read.text, "confirmed": list(one.confirmed)}
    cups = {
        "cups": 5,
        "tasters": [{"taster": "a", "language": "en", "notes": [{"note": "musty", "cups": 5}]}],
    }

    def drying(taken, text):
        drafted = {"from": "a letter", "on": datetime.date(2026, 11, 1), "taken": taken}
        data = {"lot": "A", "drafted": drafted, "cuppings": [cups], "said": text}
        lot, issues = lot_of_data(data, Place("a"), base)
        assert lot is not None, issues
        return next(line.probability for line in trace(lot, base, ready).stages if line.stage == "drying")

    assert drying("one_by_one", []) < drying("first_unread", [said]) < drying("one_by_one", [said])
