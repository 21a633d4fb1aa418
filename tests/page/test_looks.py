"""How the page is laid out: one menu, rows that stand on a phone, readings of a message in order, errors without file places."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from tests.page.conftest import OWN, example
from tests.page.test_desk import SHEET
from tracer.page.app import application
from tracer.page.messages import message
from tracer.page.newlot import offers
from tracer.page.site import Site
from tracer.render.markup import section, table
from tracer.sentences.draft import draft
from tracer.sentences.proposal import Proposal, Read, Statement
from tracer.wording.language import tell


def test_every_page_is_in_the_row_of_the_desk_and_in_the_menu_of_the_phone(leader):
    head = leader.get("/lots").text.split("</header>")[0]
    row, menu = head.split('<details class="menu narrow">')
    for part in (row, menu):
        for address in (
            "/",
            "/table/new",
            "/lots",
            "/season",
            "/chains",
            "/panel",
            "/card",
            "/drill",
            "/language/es",
        ):
            assert f'href="{address}' in part, address
        assert re.findall(r'href="([^"]+)" aria-current="page"', part) == ["/lots"]


def test_who_holds_no_key_has_the_languages_in_the_menu_and_no_pages(base, tmp_path):
    guarded = Site(base, tmp_path / "casebook.sqlite", address="http://testserver", keys={"leader": "k" * 20})
    stranger = TestClient(application(guarded), headers={**OWN, "accept-language": "pt"})
    head = stranger.get("/join").text.split("</header>")[0]
    assert "<summary>Português</summary>" in head
    assert head.count('href="/language/es') == 2
    assert 'href="/lots"' not in head


@pytest.mark.parametrize(
    ("cell", "stays"),
    [
        ("0.65 to 0.90", True),
        ("2026-03-12", True),
        ("-1.51", True),
        ("0.99 <svg></svg>", True),
        ("Transport", False),
        ("3 sacks of the upper layers, wet", False),
    ],
)
def test_a_figure_a_day_and_a_range_never_break_over_two_lines(cell, stays):
    assert ('class="num"' in table(("a",), [(cell,)])) is stays


def test_a_cell_holds_its_heading_for_a_screen_without_columns():
    made = table(("source", "probability"), [("wetted", "0.99")])
    assert made.startswith('<table class="rows">')
    assert '<td data-label="probability" class="num">0.99</td>' in made


def test_what_is_not_printed_is_folded_on_the_screen():
    assert section("Cases", "<p>a</p>", "screen").startswith('<details class="screen"><summary><h2>Cases')
    assert section("Cases", "", "screen") == ""


def test_no_heading_of_the_printed_page_is_empty_and_evidence_names_no_ids(leader):
    number = example(leader)
    printed = leader.get(f"/lot/{number}/print").text
    assert not re.search(r"<th[^>]*></th>", printed)
    for page in (printed, leader.get(f"/lot/{number}").text):
        assert "moisture on arrival: 13.1 %" in page
        assert "moisture_on_arrival" not in page


def test_stages_that_add_up_to_more_than_1_are_explained_in_one_sentence(leader):
    number = example(leader, "quarrelling_tasters")
    for address in (f"/lot/{number}", f"/lot/{number}/print"):
        assert "may add up to more than 1" in leader.get(address).text
    sure = example(leader)
    assert "may add up to more than 1" not in leader.get(f"/lot/{sure}").text


def test_a_code_that_opens_no_table_is_told_before_a_name_is_written(leader):
    shown = leader.get("/join/XXXX")
    assert shown.status_code == 404
    assert "no table has this code" in shown.text
    assert 'value="XXXX"' in shown.text
    assert leader.get(f"/join/{table_opened(leader)}").status_code == 200


def test_a_form_speaks_of_its_fields_and_not_of_lines_and_columns(leader):
    number = example(leader)
    for answer in (
        leader.get("/season?since=2026-13-45"),
        leader.post(f"/lot/{number}/answer", data={"question": "test_smell_green", "answer": "", "by": "QA"}),
    ):
        assert answer.status_code == 422
        assert ":1:1" not in answer.text
        assert answer.text.count("<h1") == 1
    sheet = leader.post("/lots/text", data={"sheet": "lot: A\nprocess: wrong\n"})
    assert "<code>lot.yaml:2:1" in sheet.text, "the sheet is text, and has lines"


def test_notes_stand_by_kind_under_a_heading_each(leader, base):
    page = leader.get("/chains").text
    index = page[page.index("<h2>Notes</h2>") :]
    assert index.count("<h3>") == len({one.group for one in base.descriptors.values()})
    assert index.count("/chains?term=") == len(base.descriptors)
    damp = index[index.index("<h3>Damp and mould</h3>") :].split("</ul>")[0]
    assert "Musty" in damp
    assert "Ashy" not in damp


def test_of_a_term_the_chain_is_folded_link_by_link(leader):
    page = leader.get("/chains?term=musty").text
    tree = page[page.index('class="tree"') : page.index("Begin with another stage")]
    assert tree.count("<details>") > 10
    assert "further along the chain" in tree


def table_opened(leader):
    """The code of a new table."""
    facts = {"lot": "A", "on": "2026-11-25", "cups": "5"}
    return str(leader.post("/table/new", data=facts).url).rsplit("/", 1)[1]


def proposal(name, sure, target="musty", kind="note", value="present", amount=None):
    return Proposal(name, kind, target, value, 3.0, sure, (), amount)


def test_a_thing_said_twice_is_offered_once_with_its_rivals_and_the_doubtful_are_apart(base):
    musty, woody = proposal("note_musty", True), proposal("note_woody", True, "woody")
    perhaps, again = (
        proposal("note_earthy", False, "earthy"),
        proposal("note_musty", False),
    )
    statements = (Statement((musty, perhaps)), Statement((again, woody)))
    read = Read("musty, like an old wardrobe", 1, "en", statements, hearsay=False)
    (drafted,) = draft([read])
    shown = offers(base, drafted, ())
    assert [[tell(one.says) for one in rivals] for rivals in shown.likely] == [
        ["off-note Musty", "off-note Woody"]
    ]
    assert [one.mark for one in shown.perhaps] == ["1a2"]
    assert not any(one.ticked for rivals in shown.likely for one in rivals)


def test_a_greeting_offers_nothing_in_the_open(leader):
    message = "Buenos días,\nEl café se secó en patio de cemento y llovió cuatro noches."
    page = leader.post("/lots/new", data={"lot": "A", "message": message}).text
    first, second = page.split('<blockquote id="sentence-')[1:3]
    assert 'class="reading"' not in first
    assert 'class="reading"' in second
    assert "rained on while drying" in second.split("<details")[0]


def test_a_page_that_is_not_there_speaks_of_nothing_that_was_sent(leader):
    assert "Nothing was written" not in leader.get("/lot/99999").text
    assert "Nothing was written" in leader.post("/lot/99999/close", data={}).text


def test_what_a_blind_set_is_and_who_sees_its_key_is_told_where_it_is_made(leader):
    told = [message(key, "en") for key in ("make_set_told", "key_of_set_told", "set_told")]
    assert len(set(told)) == 3
    assert told[0] in html.unescape(leader.get("/panel/set").text)


def test_a_sentence_that_nobody_confirmed_names_no_command(leader):
    sheet = (
        f"{SHEET}said: [{{text: The container arrived with wet walls., by: the warehouse, on: 2026-11-20}}]\n"
    )
    for language, told in (("en", "not confirmed; paste it"), ("es", "sin confirmar; péguelo")):
        page = leader.post("/lots/text", data={"sheet": sheet}, headers={"accept-language": language}).text
        assert told in html.unescape(page)
        assert "tracer history" not in page
