"""No screen of the page is left in English for a reader of another language, and a mend never sends a reader of the page to a command."""

from __future__ import annotations

import html
import re
from collections import Counter

import pytest

from tests.page.conftest import example
from tests.page.test_desk import SHEET
from tests.page.test_flight import FLIGHT
from tests.page.test_training import SET
from tests.wording.english import english, words
from tests.wording.test_hints import offered
from tracer.page.remedies import ON_THE_PAGE

MOST_ENGLISH = 6
"""Words of a screen: names of people and lots that are words as well."""
OWN = {
    *words(" ".join(map(str, FLIGHT.values()))),
    *words("English Español Português Week"),
    *words("a highland district shipping through a warm port passage winter first second third"),
    *words("mouldy musty muffig phenolic quality claim section bolor error coffee buttery"),
}
"""Languages by their own names, and words of the sheets shown."""
SCREENS = (
    "/",
    "/lots",
    "/join",
    "/table/new",
    "/table/{table}",
    "/lots/new",
    "/lot/{lot}?without=precedents",
    "/lot/{log}?without=precedents",
    "/lot/{lot}/why/container_condensation",
    "/lot/{lot}/print",
    "/lot/{log}/print",
    "/lot/{lot}/known",
    "/lot/{lot}/cupping/1",
    "/lot/{lot}/log",
    "/lot/{lot}/letter",
    "/chains",
    "/chains?term=container_condensation",
    "/chains?term=tca",
    "/panel",
    "/panel/plan",
    "/panel/set",
    "/table/{set}",
    "/card",
    "/card?note=musty",
    "/card?note=petrol",
    "/card?note=nothing_known",
    "/drill",
    "/drill?person=Ana&kind=pair",
    "/drill?person=Ana&kind=stage",
    "/drill?person=Ana&kind=fault",
    "/season",
)
SPOKEN = pytest.mark.parametrize("language", ["es", "pt"])


@pytest.fixture
def filled(leader):
    """A page with two lots, a table and a blind set, and where they stand."""
    return leader, {
        "lot": example(leader),
        "log": example(leader, "log_sea_passage"),
        "table": str(leader.post("/table/new", data=FLIGHT).url).rsplit("/", 1)[1],
        "set": str(leader.post("/panel/set", data=SET).url).rsplit("/", 1)[1],
    }


def text_of(answer):
    """What a reader sees of a page: without scripts, the example lots' names, titles of sources and cases from print."""
    text = re.sub(r"(?s)<(script|style|textarea)\b.*?</\1>", " ", answer.text)
    text = re.sub(r'(?s)<select name="name">.*?</select>', " ", text)
    text = re.sub(r'(?s)<section class="screen">.*?</section>', " ", text)
    text = re.sub(r'(?s)<title>.*?</title>|<details class="part" id="part-cautions">.*?</details>', " ", text)
    text = re.sub(r'\b(?:aria-label|placeholder|title)="([^"]*)"', r">\1<", text)
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


@SPOKEN
def test_hardly_a_word_of_any_screen_is_english(filled, language):
    leader, places = filled
    left = {}
    for screen in SCREENS:
        answer = leader.get(screen.format_map(places), headers={"accept-language": language})
        found, _ = english(text_of(answer), language, OWN)
        if len(found) > MOST_ENGLISH:
            left[screen] = Counter(found).most_common(12)
    assert left == {}


@SPOKEN
def test_the_safety_box_of_a_reference_is_in_the_language_of_the_reader(leader, language):
    shown = leader.get("/card?note=musty", headers={"accept-language": language}).text
    box = re.search(r'(?s)<div class="caution hold">(.*?)</div>', shown)[1]
    assert english(re.sub(r"<[^>]+>", " ", box), language)[0] == []
    assert len(words(box)) > 60
    assert "buttery" in shown, "a source keeps its name"


@SPOKEN
def test_every_choice_of_what_is_known_keeps_its_value_under_its_translated_name(filled, base, language):
    leader, places = filled
    shown = leader.get(f"/lot/{places['lot']}/known", headers={"accept-language": language}).text
    record = next(one for one in base.records.values() if one.kind == "choice" and "bare_soil" in one.choices)
    select = re.search(rf'(?s)<select name="record:{record.id}".*?</select>', shown)[0]
    choices = dict(re.findall(r'<option value="(\w+)"[^>]*>([^<]*)<', select))
    assert set(choices) == set(record.choices)
    assert choices["bare_soil"] != "bare soil"


@SPOKEN
def test_an_error_in_a_sheet_is_told_with_choices_as_they_are_typed(leader, language):
    from tracer.lots.form import PROCESSES

    sheet = "lot: X\nprocess: lento\ncuppings:\n  - on: 2026-13-40\n"
    answer = leader.post("/lots/text", data={"sheet": sheet}, headers={"accept-language": language})
    assert answer.status_code == 422
    shown = text_of(answer)
    assert "'lento'" in shown
    assert set(offered(shown, PROCESSES)) == set(PROCESSES)
    assert english(shown, language, {*OWN, *words(" ".join(PROCESSES))})[0] == []


@SPOKEN
def test_a_hold_in_the_season_is_told_by_its_sources(leader, language):
    leader.post("/lots/text", data={"sheet": SHEET}, headers={"accept-language": "en"})
    shown = leader.get("/season", headers={"accept-language": language}).text
    alarm = re.search(r'(?s)<div class="hold".*?</div>', shown)[0]
    assert english(re.sub(r"<[^>]+>", " ", alarm), language)[0] == []


def test_a_mend_names_a_form_of_the_page_and_no_command(leader):
    number = example(leader)
    wrong = (
        ("/lots/text", {"sheet": ""}),
        ("/lots/text", {"sheet": "lot: X\nhistory: {drying: {no_such_row_here: 1}}\n"}),
        (
            "/lots/text",
            {"sheet": "lot: X\ncuppings: [5]\n"},
        ),
        (f"/lot/{number}/answer", {"question": "no_such_question_here", "answer": "x", "by": "A"}),
        (f"/lot/{number}/close", {"fault": "qqq", "how": "record", "by": "A"}),
    )
    for path, data in wrong:
        answer = leader.post(path, data=data)
        assert answer.status_code == 422
        assert "tracer " not in text_of(answer), path
    assert "tracer " not in text_of(leader.get("/card?note=nothing_known"))
    assert "tracer " not in text_of(leader.get("/panel"))


def test_every_mend_that_the_page_says_otherwise_is_one_of_the_program():
    from tests.house_rules.wording import templates

    assert set(ON_THE_PAGE) <= {text for _, text in templates()}
