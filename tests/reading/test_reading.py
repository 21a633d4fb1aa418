"""Everyday lines and sentences: floors under what is read today, so that a change that loses reading is seen.

The lists are from memory, by people who had not seen the word lists of the knowledge; a third is kept apart.
"""

from __future__ import annotations

import pytest

from tests.reading import sentences, words
from tracer.findings.gathered import listener


@pytest.fixture(scope="module")
def ready(base):
    return listener(base)


@pytest.fixture(scope="module", params=["words", "words_kept"])
def judged(request, base, ready):
    least = base.settings.cautions.perhaps
    return [words.judge(one, ready.vocabulary, least) for one in words.lines(request.param)]


def share(judged, kind, hit):
    chosen = [one for one in judged if one.line.kind == kind]
    return sum(hit(one) for one in chosen) / len(chosen)


def test_the_lists_are_as_long_as_promised():
    lines = [*words.lines("words"), *words.lines("words_kept")]
    for language in words.LANGUAGES:
        of = [one for one in lines if one.language == language]
        count = {kind: sum(one.kind == kind for one in of) for kind in ("harmless", "stops", "off_notes")}
        large = language in ("en", "es", "pt", "fr", "de", "it")
        assert count["harmless"] >= (150 if large else 60)
        assert count["stops"] >= 20
        assert count["off_notes"] >= (40 if language == "am" else 100)


def test_stop_words_are_found_or_asked(judged):
    assert share(judged, "stops", lambda one: one.stop) >= 0.92


def test_off_notes_are_found_or_asked(judged):
    assert share(judged, "off_notes", lambda one: one.found) >= 0.84


def test_harmless_lines_are_hardly_ever_a_fault(judged):
    assert share(judged, "harmless", lambda one: bool(one.wrong)) <= 0.04
    assert share(judged, "harmless", lambda one: one.stop) <= 0.03


def test_every_note_named_on_the_lists_is_known(base):
    named = {name for part in ("words", "words_kept") for one in words.lines(part) for name in one.notes}
    assert named <= set(base.descriptors)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("part", "floors"), [("sentences", (0.82, 0.91, 0.95)), ("sentences_kept", (0.60, 0.73, 0.88))]
)
def test_sentences_are_read_no_worse_than_before(ready, part, floors):
    found = [sentences.judge(one, ready.reader) for one in sentences.golds(part)]
    assert len(found) >= 300
    for name, floor in zip(("first", "three", "figures"), floors, strict=True):
        hits = [hit for one in found for hit in getattr(one, name)]
        assert sum(hits) / len(hits) >= floor, name


def test_one_figure_fills_one_row_for_sure(ready):
    [read] = ready.reader.message("Parchment went to the tables after about 40 hours in the tank.", "en")
    sure = [p for p in read.proposals if p.sure and p.kind == "record" and p.amount is not None]
    assert [p.target for p in sure] == ["tank_hours"]
    assert any(p.target == "hours_wash_to_drying" and not p.sure for p in read.proposals)


def test_a_clean_store_without_chemicals_is_no_organic_farm(ready):
    [read] = ready.reader.message("Store is clean, no rats, no chemicals, I checked it myself.", "en")
    assert not any(p.target == "organic" and p.sure for p in read.proposals)
    [read] = ready.reader.message("They grow it with no chemicals on the farm.", "en")
    assert any(p.target == "organic" and p.sure for p in read.proposals)
