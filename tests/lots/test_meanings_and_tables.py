"""A taster asked back may settle a word; a cupping table may be CSV or a workbook."""

from __future__ import annotations

import io
import zipfile

from tests.workbook import workbook
from tracer.lots.lot import ALL_CUPS
from tracer.lots.observations import hear
from tracer.lots.read import parse_lot, read_lot
from tracer.lots.table import parse_table

SHEET = """
lot: A
cuppings:
  - cups: 5
    tasters:
      - taster: one
        notes: [{{note: {word}, cups: 2{means}}}]
"""


def heard(base, ready, word, means=""):
    lot, issues = parse_lot(SHEET.format(word=word, means=means), "lot.yaml", base)
    assert lot is not None, issues
    return hear(lot, ready.vocabulary, 5)


def test_a_word_of_several_meanings_is_open_until_the_taster_says_what_it_means(base, ready):
    assert [one.words for one in heard(base, ready, "moho").asked] == ["moho"]
    settled = heard(base, ready, "moho", ", means: mouldy")
    assert not settled.asked
    assert [(o.descriptor, o.found, o.words) for o in settled.observations] == [("mouldy", 2, "moho")]


def test_an_unknown_word_may_be_settled_and_keeps_the_taster_s_own_words(base, ready):
    settled = heard(base, ready, "zzqxv", ", means: phenolic")
    assert [(o.descriptor, o.words) for o in settled.observations] == [("phenolic", "zzqxv")]


def test_a_meaning_that_is_no_off_note_is_an_error_with_a_near_one(base):
    lot, issues = parse_lot(SHEET.format(word="moho", means=", means: mouldi"), "lot.yaml", base)
    assert lot is None
    assert "'mouldi' is no off-note" in str(issues[0])
    assert "mouldy" in issues[0].remedy


def test_a_workbook_says_the_same_as_the_csv_of_it(tmp_path, base):
    rows = [
        ["taster", "note", "cups", "of", "means"],
        ["one", "moho", 2, 5, "mouldy"],
        ["two", "musty", 1, 5, None],
    ]
    csv = "\n".join(",".join("" if cell is None else str(cell) for cell in row) for row in rows)
    (tmp_path / "cups.xlsx").write_bytes(workbook(rows))
    (tmp_path / "cups.csv").write_text(csv)
    found = []
    for name in ("cups.xlsx", "cups.csv"):
        sheet = tmp_path / "lot.yaml"
        sheet.write_text(f"lot: A\ncuppings:\n  - {{cups: 5, table: {name}}}\n")
        lot, issues = read_lot(sheet, base)
        assert lot is not None, issues
        found.append(
            [(t.taster, n.text, n.cups, n.of, n.means) for t in lot.cuppings[0].tastings for n in t.notes]
        )
    assert found[0] == found[1] == [("one", "moho", 2, 5, "mouldy"), ("two", "musty", 1, 5, None)]


def test_a_workbook_that_unpacks_to_far_too_much_is_refused_before_it_is_opened():
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 30_000_000)
    found, issues = parse_table(made.getvalue(), "cups.xlsx")
    assert not found
    assert "unpacks to more than" in issues[0].message


def test_a_count_of_so_many_cups_is_read_in_a_table_and_on_a_sheet(tmp_path, base):
    (tmp_path / "cups.csv").write_text("taster,note,cups,of\nana,musty,1 of 6,\nana,petrol,all of 10 cups,\n")
    (tmp_path / "lot.yaml").write_text("lot: A\ncuppings: [{on: 2026-03-09, cups: 5, table: cups.csv}]\n")
    lot, issues = read_lot(tmp_path / "lot.yaml", base)
    assert lot is not None, issues
    notes = lot.cuppings[0].tastings[0].notes
    assert [(note.cups, note.of) for note in notes] == [(1, 6), (ALL_CUPS, 10)]
    twice = (
        "lot: A\ncuppings: [{cups: 5, tasters: [{taster: a, notes: [{note: musty, cups: 1 of 6, of: 5}]}]}]\n"
    )
    _, issues = parse_lot(twice, "lot.yaml", base)
    assert "1 of 6 and of: 5 cannot both be" in str(issues[0])
