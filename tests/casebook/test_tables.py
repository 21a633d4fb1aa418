"""A cupping table: tasters blind to each other until the reveal, and nothing said ever lost."""

from __future__ import annotations

import datetime
import threading

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from tracer.casebook import tables
from tracer.casebook.table_facts import TableFacts
from tracer.casebook.tasting import Tasted, TastedNote, sheet_data, sheet_text, sheet_values
from tracer.issues import InputError
from tracer.lots.observations import hear
from tracer.lots.read import parse_lot

FACTS = TableFacts(lot="KAR-1", on=datetime.date(2026, 3, 9), sample="arrival", cups=5, process="washed")


@pytest.fixture
def book(tmp_path):
    return tmp_path / "casebook.sqlite"


def musty(*cups):
    return TastedNote(words="musty", cups=cups)


def test_nobody_reads_the_notes_before_the_reveal_and_what_comes_later_is_marked(book):
    code = tables.open_table(book, FACTS, "QA")
    own, _ = tables.sit(book, code, "Ana")
    assert not tables.save(book, own, 1, Tasted(notes=(musty(1, 2),), done=True))
    with pytest.raises(InputError, match="still blind"):
        tables.told(book, code)
    assert [(one.taster, one.done) for one in tables.progress(book, code)] == [("Ana", True)]
    tables.reveal(book, code)
    assert tables.save(book, own, 2, Tasted(notes=(musty(1, 2, 3),)))
    (ana,) = tables.told(book, code)
    assert ana.counts.notes == (musty(1, 2),)
    assert ana.late is not None
    assert ana.late.notes == (musty(1, 2, 3),)


def test_a_name_is_held_by_one_device_until_the_leader_frees_it_and_the_next_goes_on_from_there(book):
    code = tables.open_table(book, FACTS, "QA")
    first, key = tables.sit(book, code, "Ana")
    tables.save(book, first, 4, Tasted(notes=(musty(1),)))
    with pytest.raises(InputError, match="under this name"):
        tables.sit(book, code, "  ANA ")
    tables.free(book, code, first.id)
    assert tables.seat(book, code, key) is None
    second, other = tables.sit(book, code, "ana")
    assert tables.own_words(book, second) == (4, Tasted(notes=(musty(1),)))
    tables.save(book, second, 5, Tasted(notes=(musty(1, 4),)))
    tables.reveal(book, code)
    assert [one.counts.notes for one in tables.told(book, code)] == [(musty(1, 4),)]
    assert tables.seat(book, code, other) == second


def test_an_older_state_that_arrives_late_does_not_push_out_a_newer_one(book):
    code = tables.open_table(book, FACTS, "QA")
    own, _ = tables.sit(book, code, "Ana")
    tables.save(book, own, 7, Tasted(notes=(musty(1, 2),)))
    tables.save(book, own, 3, Tasted())
    assert tables.own_words(book, own) == (7, Tasted(notes=(musty(1, 2),)))


def test_twenty_tasters_posting_at_once_lose_nothing(book):
    code = tables.open_table(book, FACTS, "QA")
    seats = [tables.sit(book, code, f"taster {n}")[0] for n in range(20)]

    def post(own):
        for revision in range(1, 11):
            cups = tuple(range(1, 1 + revision % 5))
            tables.save(book, own, revision, Tasted(notes=(TastedNote(words=f"note {revision}", cups=cups),)))

    threads = [threading.Thread(target=post, args=(own,)) for own in seats]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    tables.reveal(book, code)
    found = tables.told(book, code)
    assert len(found) == 20
    assert all(one.counts.notes[0].words == "note 10" for one in found)
    from tracer.casebook.file import opened

    with opened(book) as connection:
        assert connection.execute("SELECT count(*) FROM tasting").fetchone()[0] == 200


def test_the_sheet_of_a_table_reads_as_the_same_observations(base, ready):
    said = Tasted(
        language="es",
        notes=(
            TastedNote(words="moho", means="mouldy", cups=(1, 3)),
            TastedNote(words="fenólico", cups=(1, 2, 3, 4, 5), intensity="strong"),
            TastedNote(words="terroso", found=False),
        ),
    )
    text = sheet_text(sheet_data(FACTS, [("Ana", said)]))
    lot, issues = parse_lot(text, "lot.yaml", base)
    assert lot is not None, issues
    assert not issues
    found = {
        o.descriptor: (o.found, o.cups, o.intensity) for o in hear(lot, ready.vocabulary, 5).observations
    }
    assert found["mouldy"] == (2, 5, "unstated")
    assert found["phenolic"] == (5, 5, "strong")
    assert found["earthy"][0] == 0


@pytest.mark.parametrize(
    "name",
    ["{a: b}", "- x", "yes", "null", "1e3", "#7", "a: b", "'", '"', "\u202elot", "&a *a", "2026-03-09"],
)
def test_any_name_comes_through_the_sheet_as_it_was_said(base, name):
    text = sheet_text(sheet_data(FACTS, [(name, Tasted(notes=(TastedNote(words=name, means="musty"),)))]))
    lot, issues = parse_lot(text, "lot.yaml", base)
    assert lot is not None, issues
    (tasting,) = lot.cuppings[0].tastings
    assert (tasting.taster, tasting.notes[0].text) == (name, name)


@pytest.mark.parametrize(
    "body",
    [
        {"notes": [{"words": ""}]},
        {"notes": [{"words": "a\x1b[31m"}]},
        {"notes": [{"words": "x", "cups": [0]}]},
        {"notes": [{"words": "x", "means": "../../etc"}]},
        {"notes": [{"words": "x" * 201}]},
        {"notes": [{"words": "x"}] * 101},
        {"unheard": 1},
        {"language": "<script>"},
    ],
)
def test_what_is_no_tasting_is_refused(body):
    with pytest.raises(ValueError):
        Tasted.model_validate(body)


def test_the_export_carries_tables_whole(book, tmp_path):
    from tracer.casebook.transfer import export_lines, import_lines

    code = tables.open_table(book, FACTS, "QA")
    own, _ = tables.sit(book, code, "Ana")
    tables.save(book, own, 1, Tasted(notes=(musty(2),)))
    tables.reveal(book, code)
    source = tmp_path / "all.jsonl"
    source.write_text("\n".join(export_lines(book)), encoding="utf-8")
    other = tmp_path / "other.sqlite"
    import_lines(other, source)
    assert tables.told(other, code) == tables.told(book, code)


def test_yaml_written_is_plain_data(base):
    assert yaml.safe_load(sheet_text(sheet_data(FACTS, [])))["lot"] == "KAR-1"


# Control characters and line separators are refused before a sheet is written.
texts = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")))
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**12), 10**12) | st.dates() | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(texts, values, max_size=5))
def test_plain_data_written_as_a_sheet_reads_back_the_same(data):
    assert sheet_values(sheet_text(data)) == data


@pytest.mark.parametrize(
    "text", ["1.5e3", "0x1F", "1_000", "12:30", "on", "=", "<<", "-", "..", "2026-03-09", "2026-02-31", ".5"]
)
def test_text_that_looks_like_something_else_stays_text(text):
    assert sheet_values(sheet_text({text: [text]})) == {text: [text]}
