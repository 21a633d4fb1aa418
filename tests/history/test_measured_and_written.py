"""What was measured against what the sheet and confirmed sentences say."""

from __future__ import annotations

import dataclasses

import numpy as np

from tests.history.build import BASE, bed, log, lot, undated
from tracer.history.history import Measured, NotAssessed, Proposed
from tracer.history.measure import measure
from tracer.history.series import (
    Window,
)


def test_the_source_of_a_value_names_its_two_longest_windows_in_order():
    def window(first, hours):
        return Window("a.csv", first, first, 1, 1, hours)

    def source(*windows):
        return Measured("tank_hours", 1.0, None, None, "seen", windows).source

    a, b, c, d = window("1", 1.0), window("2", 5.0), window("3", 2.0), window("4", 9.0)
    assert source() == "seen"
    assert source(a, b) == "seen: a.csv row 1 (1); a.csv row 1 (2)"
    assert source(a, b, c) == "seen: a.csv row 1 (2); a.csv row 1 (3) and 1 more"
    assert source(a, d, b, c) == "seen: a.csv row 1 (2); a.csv row 1 (4) and 2 more"
    both = Measured("tank_hours", 1.0, None, None, "seen", (a,), ("b.csv",))
    assert both.logs == {"a.csv", "b.csv"}


def quarrels(row, *logs, **more):
    return [one for one in measure(lot(*logs, extra=row, **more), BASE).doubts if "what was measured" in one]


def test_a_row_within_a_twentieth_of_the_measured_range_is_no_quarrel():
    made = log("processing", "tank", ph=np.full(21, 4.5))

    def row(hours):
        return quarrels(f"history: {{processing: {{tank_hours: {hours} h}}}}\n", made)

    assert (row(20), row(21), row(19)) == ([], [], [])
    [told] = row(21.1)
    assert "tank_hours" not in told
    assert "but from first to last reading of processing.csv" in told
    assert "gives 20.0: what was measured counts. Ask which is right." in told
    assert len(row(18.9)) == 1
    ranged = [undated("drying", 12.0, "end")]  # 11 to 13 by two errors of a meter
    assert quarrels("history: {drying: {moisture_leaving_drying: 13.6 %}}\n", readings=ranged) == []
    assert len(quarrels("history: {drying: {moisture_leaving_drying: 13.7 %}}\n", readings=ranged)) == 1
    assert quarrels("history: {drying: {moisture_leaving_drying: 10.5 %}}\n", readings=ranged) == []
    assert len(quarrels("history: {drying: {moisture_leaving_drying: 10.4 %}}\n", readings=ranged)) == 1
    assert len(quarrels("history: {drying: {covered: yes}}\n", beds=[bed(1, rain="yes", covered="no")])) == 1
    assert quarrels("history: {drying: {covered: no}}\n", beds=[bed(1, rain="yes", covered="no")]) == []


def test_a_word_where_a_figure_was_measured_is_a_quarrel_too():
    history = measure(lot(beds=[bed(1, layer=3.0)], extra="history: {drying: {layer: 3 cm}}\n"), BASE)
    assert history.doubts == ()
    made = lot(beds=[bed(1, layer=3.0)], extra="history: {drying: {layer: 3 cm}}\n")
    [row] = made.records
    told = measure(dataclasses.replace(made, records=(dataclasses.replace(row, value="deep"),)), BASE).doubts
    assert len(told) == 1
    unknown = dataclasses.replace(made, records=(dataclasses.replace(row, value=None),))
    assert measure(unknown, BASE).doubts == ()


def test_a_confirmed_sentence_against_a_row_of_the_sheet_is_told_once_it_is_confirmed():
    def told(**fields):
        one = Proposed(
            "said_x", "covered", "no", "It was not covered", "the mill", None, "confirmed", "lot.yaml:9"
        )
        made = lot(beds=[bed(1)], extra="history: {drying: {covered: yes}}\n")
        return [one for one in measure(made, BASE, (dataclasses.replace(one, **fields),)).doubts]

    [quarrel] = told()
    assert quarrel.startswith("the mill says 'It was not covered', but the sheet says")
    assert told(state="open") == []
    assert told(value="yes") == []
    assert told(kind="note") == []
    assert told(record="turned_daily") == []
    one = Proposed(
        "said_x", "covered", "no", "It was not covered", "the mill", None, "confirmed", "lot.yaml:9"
    )
    made = lot(beds=[bed(1)], extra="history: {drying: {covered: yes}}\n")
    for row in (
        dataclasses.replace(made.records[0], said=True),
        dataclasses.replace(made.records[0], value=None),
    ):
        assert measure(dataclasses.replace(made, records=(row,)), BASE, (one,)).doubts == ()


def test_history_keeps_what_was_proposed_and_read_only_as_text():
    one = Proposed("said_x", "covered", "no", "It was not covered", "the mill", None, "open", "lot.yaml:9")
    found = measure(lot(beds=[bed(1)]), BASE, (one,), ("Good day",))
    assert (found.proposed, found.unread) == ((one,), ("Good day",))
    assert measure(lot(), BASE, (one,)).proposed == ()
    gone = measure(
        lot(
            log("drying", "air", temperature=np.full(9, 26.0), humidity=np.full(9, 60.0)),
            beds=[bed(1, layer=3.0)],
        ),
        BASE,
    )
    assert "drying curve" in [one.what for one in gone.not_assessed]
    assert all(isinstance(one, NotAssessed) for one in gone.not_assessed)
    assert [one.record for one in gone.measured] == ["layer"]
