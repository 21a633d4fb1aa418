"""A lot is mended in forms: what a form does not show stays, what is wrong is told in the form, and nothing typed is lost."""

from __future__ import annotations

import html
import re
import sqlite3

import pytest

from tests.page.conftest import example
from tracer.casebook import cases
from tracer.casebook.desk import links
from tracer.casebook.tasting import sheet_values
from tracer.lots.form import HOW, LEVELS, MATRICES, OTHERS, RESULTS, SHOWN
from tracer.page.beside_form import COLUMNS, sections, with_sections
from tracer.page.cupping_form import fields_of, with_cupping
from tracer.page.messages import catalogue

SHEET = {
    "lot": "KAR-7",
    "cuppings": [
        {
            "on": "2026-11-20",
            "cups": 5,
            "bench": "second",
            "tasters": [
                {
                    "taster": "Ana",
                    "score": 80,
                    "notes": [{"note": "blorf", "means": "musty", "cups": [2, 3], "when": "hot"}, "smoke"],
                    "not_found": [{"note": "phenolic", "means": "phenolic"}],
                },
                {"taster": "Bui", "notes": ["smoke"]},
            ],
        }
    ],
}


def sent(fields):
    """What a browser sends of a cupping form that nobody touched."""
    given = {"on": fields.on, "sample": fields.sample, "cups": fields.cups, "drawn_by": fields.drawn_by}
    for at, one in enumerate(fields.tasters):
        given |= {f"taster:{at}": one.taster, f"language:{at}": one.language, f"absent:{at}": one.absent}
        for row, note in enumerate(one.notes):
            given |= {
                f"words:{at}:{row}": note.words,
                f"cups:{at}:{row}": note.cups,
                f"intensity:{at}:{row}": note.intensity,
            }
    return given


def mended(**changes):
    given = {
        **sent(fields_of(SHEET["cuppings"][0])),
        **{name.replace("__", ":"): text for name, text in changes.items()},
    }
    return with_cupping(SHEET, 0, given)["cuppings"][0]


def test_a_form_that_nobody_touched_changes_nothing():
    made = mended()
    assert made["tasters"] == SHEET["cuppings"][0]["tasters"]
    assert made["bench"] == "second"
    assert with_sections({"lot": "A"}, {}) == {"lot": "A"}


def test_what_a_note_means_holds_only_for_the_words_that_were_asked_about():
    ana = mended(cups__0__0="4")["tasters"][0]
    assert ana["notes"][0] == {"note": "blorf", "means": "musty", "cups": 4, "when": "hot"}
    ana = mended(words__0__0="dusty")["tasters"][0]
    assert ana["notes"][0] == {"note": "dusty", "cups": [2, 3]}
    assert ana["score"] == 80, "what no form shows stays"


def test_notes_and_tasters_are_added_and_taken_out():
    made = mended(
        words__0__0="",
        words__0__2="earthy",
        cups__0__2="1, 4",
        taster__1="",
        taster__2="Chi",
        words__2__0="sour",
    )
    assert [one["taster"] for one in made["tasters"]] == ["Ana", "Chi"]
    assert made["tasters"][0]["notes"] == ["smoke", {"note": "earthy", "cups": [1, 4]}]
    assert made["tasters"][1] == {"taster": "Chi", "notes": ["sour"]}
    assert "not_found" not in mended(absent__0="")["tasters"][0]
    assert mended(absent__0="phenolic; smoky")["tasters"][0]["not_found"] == [
        {"note": "phenolic", "means": "phenolic"},
        "smoky",
    ]


def test_a_number_beyond_the_last_is_a_new_cupping():
    made = with_cupping({"lot": "A"}, 0, {"on": "2026-11-21", "taster:0": "Ana", "words:0:0": "musty"})
    assert made["cuppings"] == [
        {"on": made["cuppings"][0]["on"], "tasters": [{"taster": "Ana", "notes": ["musty"]}]}
    ]
    assert len(with_cupping(SHEET, 1, {"taster:0": "Ana", "words:0:0": "musty"})["cuppings"]) == 2


def test_every_choice_of_the_sheet_is_offered_in_every_language_of_the_page():
    known = catalogue()
    for choice in (*LEVELS, *OTHERS, *SHOWN, *HOW, *MATRICES, *RESULTS):
        assert f"is_{choice}" in known


def test_rows_of_the_other_sections_come_back_as_they_stood():
    data = {
        "pattern": [{"of": "smoke", "bags": "outer", "containers": "1 of 3"}, {"cups": "some"}],
        "comparisons": [{"with": "other_container", "shows": "clean", "by": "the exporter"}],
        "contact": [{"with": "onions", "stage": "transport", "how": "beside"}],
        "laboratory": [{"compound": "tca", "value": 4, "unit": "ng/g", "method": "GC-MS"}],
    }
    given = {
        f"{one.name}:{at}:{column}": row[column]
        for one in sections(data)
        for at, row in enumerate(one.rows)
        for column in COLUMNS[one.name]
    }
    assert with_sections(data, given) == data
    more = with_sections(
        data,
        {
            **given,
            "contact:1:with": "diesel",
            "laboratory:0:value": "5",
            "pattern:0:level": "",
            "pattern:0:share": "",
            "pattern:0:of": "",
        },
    )
    assert more["contact"][1] == {"with": "diesel"}
    assert more["laboratory"] == [{"compound": "tca", "value": "5", "unit": "ng/g", "method": "GC-MS"}]
    assert more["pattern"] == [{"of": "smoke", "containers": "1 of 3"}, {"cups": "some"}]
    gone = {name: "" for name in given if name.startswith("comparisons")}
    assert "comparisons" not in with_sections(data, {**given, **gone})


@pytest.fixture
def number(leader):
    return example(leader)


def fields_on(page):
    """The fields of the mending form of a page, as a browser would send them."""
    form = page[page.index("<h1>") :]
    found = {
        html.unescape(name): html.unescape(value)
        for name, value in re.findall(r'<input [^>]*?name="([^"]+)"[^>]*?value="([^"]*)"', form)
        if "checkbox" not in name
    }
    for name, body in re.findall(r'<select name="([^"]+)"[^>]*>(.*?)</select>', form, re.S):
        chosen = re.search(r'value="([^"]*)" selected', body)
        found[html.unescape(name)] = html.unescape(chosen[1]) if chosen else ""
    return {name: text for name, text in found.items() if not name.startswith("checked")}


def test_a_cupping_is_mended_without_the_sheet_as_text(leader, site, number):
    page = leader.get(f"/lot/{number}/cupping/1").text
    given = fields_on(page)
    words = next(name for name, text in given.items() if name.startswith("words:") and text)
    before = sheet_values(cases.whole(site.book, number).sheet)
    answer = leader.post(f"/lot/{number}/cupping/1", data={**given, words: "like petrol", "by": "QA"})
    assert answer.status_code == 200, answer.text
    after = sheet_values(cases.whole(site.book, number + 1).sheet)
    assert {name: value for name, value in after.items() if name != "cuppings"} == {
        name: value for name, value in before.items() if name != "cuppings"
    }
    assert "petroleum_fuel" in [note.descriptor for note in site.traced(number + 1).report.notes]
    assert links(site.book, number + 1)[0] == number


def test_what_is_wrong_is_told_in_the_form_with_all_that_was_typed(leader, site, number):
    given = fields_on(leader.get(f"/lot/{number}/cupping/1").text)
    words = next(name for name, text in given.items() if name.startswith("words:") and text)
    answer = leader.post(
        f"/lot/{number}/cupping/1",
        data={**given, words: "quite new words", words.replace("words", "cups"): "99"},
    )
    assert answer.status_code == 422
    assert 'value="quite new words"' in answer.text
    assert 'value="99"' in answer.text
    assert cases.count(site.book) == 1
    assert leader.get(f"/lot/{number}/cupping/9").status_code == 422


def test_contact_and_pattern_are_filled_in_by_form_and_weigh(leader, site, number):
    given = fields_on(leader.get(f"/lot/{number}/known").text)
    assert any(name.startswith("contact:") for name in given)
    rows = {"contact:0:with": "onions", "contact:0:stage": "transport", "contact:0:how": "beside"}
    answer = leader.post(f"/lot/{number}/known", data={**given, **rows, "by": "QA"})
    assert answer.status_code == 200, answer.text
    assert sheet_values(cases.whole(site.book, number + 1).sheet)["contact"] == [
        {"with": "onions", "stage": "transport", "how": "beside"}
    ]
    half = leader.post(
        f"/lot/{number}/known", data={**given, "pattern:0:level": "bags", "pattern:0:share": ""}
    )
    assert half.status_code == 422
    assert "half filled in" in half.text
    assert re.search(r'value="bags" selected', half.text), "what was chosen stays chosen"


def test_the_fields_that_matter_for_these_notes_stand_first_and_once(leader, site, number):
    page = leader.get(f"/lot/{number}/known").text
    names = re.findall(r'name="(record:[^"]+)"', page)
    assert len(names) == len(set(names)), "no field stands twice"
    asks = site.traced(number).report.asks
    wanted = [name for one in asks for name in site.base.enquiries[one.id].settled_by]
    first = page[page.index("What matters most for these notes") :]
    shown = re.findall(r'name="record:([^"]+)"', first[: first.index("</fieldset>")])
    assert shown
    assert shown == [name for name in dict.fromkeys(wanted) if name in shown]
    given = {**fields_on(page), f"record:{shown[0]}": "no"}
    answer = leader.post(f"/lot/{number}/known", data={**given, "by": "QA"})
    assert answer.status_code == 200, answer.text
    assert shown[0] in str(sheet_values(cases.whole(site.book, number + 1).sheet))


def test_a_lot_that_cannot_be_traced_any_more_can_still_be_mended(leader, site, number):
    with sqlite3.connect(site.book) as book:  # as an older tool might have kept it
        book.execute("DROP TRIGGER lot_case_update")
        book.execute("UPDATE lot_case SET sheet = sheet || 'grene: {colour: green}' WHERE id = ?", (number,))
    site._lots.clear()
    site._reports.clear()
    assert leader.get(f"/lot/{number}").status_code == 422
    page = leader.get(f"/lot/{number}/known")
    assert page.status_code == 200
    assert "What matters most" not in page.text
    assert leader.get(f"/lot/{number}/cupping/1").status_code == 200


def test_cups_of_a_new_lot_may_be_named_by_number(leader, site):
    form = {
        "lot": "KAR-11",
        "cups": "5",
        "note": ["musty"],
        "note_cups": ["2, 4"],
        "note_strength": [""],
        "by": "QA",
    }
    assert leader.post("/lots/new", data=form).status_code == 200
    (cupping,) = site.traced(1).lot.cuppings
    assert [note.which for tasting in cupping.tastings for note in tasting.notes] == [(2, 4)]
