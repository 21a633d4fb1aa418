"""A row that a machine took from a sentence unread is trusted as far as its reading is probably right."""

from __future__ import annotations

import datetime

import pytest

from tracer.findings.gathered import gather
from tracer.issues import Place
from tracer.lots.read import lot_of_data
from tracer.sentences.draft import draft

TEXT = "It rained on the cherries on the patio for three days."


def trusts(base, ready, taken, confirmed):
    said = [{"by": "a", "language": "en", "text": TEXT, "confirmed": confirmed}]
    drafted = {"from": "a letter", "on": datetime.date(2026, 11, 1), "taken": taken}
    lot, issues = lot_of_data({"lot": "A", "drafted": drafted, "said": said}, Place("a"), base)
    assert lot is not None, issues
    found = gather(lot, base, ready)
    return {one.trust for one in found.findings if any(fact.name == "rain_on_coffee" for fact in one.facts)}


def test_the_trust_is_the_probability_of_the_reading(base, ready):
    [read] = ready.reader.message(TEXT, "en")
    row = next(one for one in read.proposals if one.target == "rain_on_coffee")
    assert row.right is not None
    assert 0 < row.right < 1
    found = trusts(base, ready, "first_unread", [row.id])
    assert found
    assert list(found) == pytest.approx([row.right] * len(found))
    assert trusts(base, ready, "one_by_one", [row.id]) == {1.0}


def test_a_reading_is_taken_from_the_least_probability_on_and_no_other(base, ready):
    reads = ready.reader.message(TEXT, "en")
    for least in (0.05, 0.5, 0.95):
        [one] = draft(reads, (), True, least)
        firsts = [statement.first for statement in one.read.statements]
        wanted = {p.id for p in firsts if p.sure or (p.right is not None and p.right >= least)}
        assert set(one.confirmed) == wanted
