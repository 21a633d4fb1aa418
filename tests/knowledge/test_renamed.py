"""An id that was renamed: old sheets are told what to write now."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracer.casebook.entries import check_closing
from tracer.issues import InputError
from tracer.knowledge.check import former_ids
from tracer.lots.read import parse_lot


@pytest.fixture
def renamed(base):
    def of(kind, name, *was):
        entries = getattr(base, kind)
        return {**entries, name: entries[name].model_copy(update={"was": was})}

    return replace(
        base,
        records=of("records", "store_humidity", "zz_old_row"),
        enquiries=of("enquiries", "ask_store", "zz_old_question"),
        descriptors=of("descriptors", "musty", "zz_old_note"),
        faults=of("faults", "rewetting", "zz_old_fault"),
    )


@pytest.mark.parametrize(
    ("part", "now"),
    [
        ("history: {origin_storage: {zz_old_row: 45 %}}", "store_humidity"),
        ("answers: {zz_old_question: damp}", "ask_store"),
        (
            "cuppings: [{cups: 5, tasters: [{taster: a, notes: [{note: cellar, means: zz_old_note}]}]}]",
            "musty",
        ),
    ],
)
def test_a_sheet_with_an_old_id_is_told_the_new_one(renamed, part, now):
    _, issues = parse_lot(f"lot: A\n{part}\n", "lot.yaml", renamed)
    assert [one.remedy for one in issues] == [f"It is called {now} now."]


def test_a_closing_with_an_old_fault_is_told_the_new_one(renamed):
    with pytest.raises(InputError) as told:
        check_closing(renamed, "zz_old_fault", "record", "QA")
    assert told.value.issues[0].remedy == "It is called rewetting now."


def test_an_old_id_that_is_in_use_or_has_two_successors_is_an_error(base, renamed):
    assert not list(former_ids(renamed))
    in_use = {
        **base.faults,
        "rewetting": base.faults["rewetting"].model_copy(update={"was": ("over_dried",)}),
    }
    (issue,) = former_ids(replace(base, faults=in_use))
    assert issue.message == "'rewetting' was 'over_dried', which is 'over_dried'"
