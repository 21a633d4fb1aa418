"""Whatever a lot says is read once in a trace: every line of every taster, every sentence, every contact; and its rules fire once."""

from __future__ import annotations

import sys
from collections import Counter

import pytest

from tracer.findings import weigh
from tracer.inference.tasters import MeasuredPanel, TasterRates
from tracer.lots.read import parse_lot
from tracer.sentences.reader import SentenceReader
from tracer.tracing import trace
from tracer.words.reading import read_words

SHEET = """
lot: A
process: washed
cuppings:
- sample: pre_shipment
  cups: 5
  tasters: [{taster: a, language: en, notes: [clean], not_found: [mouldy]}]
- sample: arrival
  cups: 5
  control: {cups: 5, notes: [faintly smoky]}
  beside: [{name: B, notes: [woody in 2 cups]}]
  tasters:
  - {taster: a, language: en, notes: [{note: smoky, cups: 3}, {note: musty, cups: 2}], not_found: [earthy]}
  - {taster: b, language: en, notes: [{note: smoke, cups: 1}, old sacks]}
- sample: warehouse
  cups: 5
  tasters: [{taster: b, language: en, notes: [{note: mould, cups: 4}]}]
contact: [{with: a strange box, stage: transport, smell: rubber}]
said: [{text: The container was wet inside when we opened it}]
"""
LINES = [
    "clean",
    "mouldy",
    "faintly smoky",
    "woody in 2 cups",
    "smoky",
    "musty",
    "earthy",
    "smoke",
    "old sacks",
    "mould",
    "rubber",
]
PANEL = MeasuredPanel({("a", "musty"): TasterRates((30, 2), (1, 60), 0.02)})


@pytest.fixture(scope="module")
def lot(base):
    made, issues = parse_lot(SHEET, "a.yaml", base)
    assert made, issues
    return made


@pytest.fixture
def counted(monkeypatch):
    """How often each text is read as words, as a message, and how often rules fire."""
    calls: Counter[str] = Counter()

    def words(text, *more, **named):
        calls[text] += 1
        return read_words(text, *more, **named)

    for module in [one for name, one in sys.modules.items() if name.startswith("tracer.")]:
        if getattr(module, "read_words", None) is read_words:
            monkeypatch.setattr(module, "read_words", words)
    whole = SentenceReader.message

    def message(self, text, *more, **named):
        calls["message"] += 1
        return whole(self, text, *more, **named)

    fire = weigh.fire

    def fired(*those, **named):
        calls["rules"] += 1
        return fire(*those, **named)

    monkeypatch.setattr(SentenceReader, "message", message)
    monkeypatch.setattr(weigh, "fire", fired)
    return calls


@pytest.mark.parametrize("panel", [None, PANEL], ids=["unmeasured", "measured"])
def test_every_line_of_several_samples_is_read_once_in_a_trace(base, ready, lot, counted, panel):
    report = trace(lot, base, ready, panel=panel)
    assert report.sources
    assert report.asks, "what-if answers were weighed too"
    assert (report.panel is not None) is (panel is not None), "the average panel was asked too"
    assert {text: counted[text] for text in LINES} == dict.fromkeys(LINES, 1)
    assert counted["message"] == 1
    assert counted["rules"] == 1


def facts_of(sheet, base, ready):
    from tracer.findings.gathered import gather

    made, issues = parse_lot(sheet, "a.yaml", base)
    assert made, issues
    return {fact.name: fact.value for fact in gather(made, base, ready).facts}


TWO = """
lot: A
cuppings:
- {{sample: {first}, tasters: [{{taster: a, language: en, notes: [{before}]}}]}}
- {{sample: arrival, control: {{notes: [{control}]}}, tasters: [{{taster: a, language: en, notes: [musty]}}]}}
"""


@pytest.mark.parametrize(
    ("before", "control", "name", "cup"),
    [
        ("clean", "clean", "earlier_clean", "clean"),
        ("musty", "clean", "earlier_same_note", "clean"),
        ("smoky", "musty", "earlier_clean", "same_note"),
    ],
)
def test_an_earlier_sample_and_the_control_speak_of_the_notes_found_now(
    base, ready, before, control, name, cup
):
    found = facts_of(TWO.format(first="pre_shipment", before=before, control=control), base, ready)
    assert found[name] == "pre_shipment"
    assert found["control_cup"] == cup
    assert len({"earlier_clean", "earlier_same_note"} & set(found)) == 1


def test_a_cupping_of_nobody_knows_which_sample_is_no_earlier_one(base, ready):
    sheet = TWO.format(first="pre_shipment", before="clean", control="clean")
    more = "- {sample: unknown, tasters: [{taster: b, language: en, notes: [musty]}]}\n"
    assert facts_of(sheet + more, base, ready)["earlier_clean"] == "pre_shipment"
