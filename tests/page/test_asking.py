"""A form that wants one word more before it is kept asks for it, and loses nothing meanwhile: a changed sheet of a kept lot, an answer given anew."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from tests.page.test_desk import SHEET, kept, shown
from tests.page.test_flight import FLIGHT, say
from tracer.casebook import cases, tables
from tracer.casebook.cases import whole

CHANGED = SHEET.replace("cups: 3", "cups: 4")
TABLE = "taster,note,cups,of\nAna,musty,2,2\n"


class Question(HTMLParser):
    """The question that a page asks: where its form goes, all that it carries, and what may be chosen."""

    def __init__(self, text):
        super().__init__()
        self.action, self.hidden, self.choices = "", [], {}
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form" and given.get("enctype"):
            self.action = given["action"]
        elif tag == "input" and given.get("type") == "hidden":
            self.hidden.append((given["name"], given["value"]))
        elif tag == "button" and given.get("name"):
            self.choices[given["value"].partition(":")[0]] = (given["name"], given["value"])

    def sent(self, client, choice):
        """The form as a browser sends it once a choice was made."""
        fields = [*self.hidden, self.choices[choice]]
        # Files without a name are fields: so the form goes as multipart, which its page asks for.
        return client.post(self.action, files=[(name, (None, value)) for name, value in fields])


def asked(answer):
    assert answer.status_code == 409, shown(answer.text)
    return Question(answer.text)


def test_a_changed_sheet_is_kept_only_once_it_is_said_that_it_corrects_the_other(leader, site):
    first = kept(leader)
    page = leader.post("/lots/text", data={"sheet": CHANGED, "by": "QA"})
    question = asked(page)
    assert f"Lot NEN-120 is kept with another sheet, as case {first}." in shown(page.text)
    assert f'href="/lot/{first}"' in page.text
    assert len(cases.cases(site.book)) == 1, "nothing is kept before it is said"
    assert list(question.choices) == ["replaces", "another"]
    done = question.sent(leader, "replaces")
    assert done.status_code == 200, shown(done.text)
    old, new = cases.cases(site.book)
    assert (new.by, old.replaced) == ("QA", True)
    assert whole(site.book, new.id).sheet == CHANGED.rstrip() + "\n"
    assert f'href="/lot/{first}"' in done.text


def test_or_stands_beside_it(leader, site):
    first = kept(leader)
    done = asked(leader.post("/lots/text", data={"sheet": CHANGED})).sent(leader, "another")
    assert "Other sheets of this lot are kept" in shown(done.text)
    assert [one.replaced for one in cases.cases(site.book)] == [False, False]
    assert f'href="/lot/{first}"' in done.text


def test_a_correction_chosen_there_takes_over_the_answers(leader, site):
    first = kept(leader)
    ask = site.traced(first).report.asks[0]
    sent = {"question": ask.id, "answer": ask.answers[0].answer, "by": "QA"}
    leader.post(f"/lot/{first}/answer", data=sent)
    asked(leader.post("/lots/text", data={"sheet": CHANGED})).sent(leader, "replaces")
    newest = cases.cases(site.book)[-1].id
    assert [one.enquiry for one in whole(site.book, newest).received] == [ask.id]


def test_the_same_sheet_is_told_as_kept_and_nothing_is_asked(leader, site):
    number = kept(leader)
    again = leader.post("/lots/text", data={"sheet": SHEET})
    assert str(again.url).endswith(f"/lot/{number}?already=1")
    asked(leader.post("/lots/text", data={"sheet": CHANGED})).sent(leader, "another")
    assert "already=1" in str(leader.post("/lots/text", data={"sheet": CHANGED}).url)
    assert len(cases.cases(site.book)) == 2


def test_what_was_said_of_one_case_does_not_hold_for_another(leader, site):
    first = kept(leader)
    asked(leader.post("/lots/text", data={"sheet": CHANGED})).sent(leader, "another")
    third = SHEET.replace("cups: 3", "cups: 5")
    answer = leader.post("/lots/text", data={"sheet": third, "stands": f"another:{first}"})
    assert "as case 2" in shown(answer.text)
    asked(answer)


def test_files_that_were_sent_go_along_byte_for_byte(leader, site):
    sheet = "lot: FILES-1\nprocess: washed\ncuppings: [{cups: 2, table: 'my cups.csv'}]\n"
    first = {"files": ("lot.yaml", sheet)}
    leader.post("/lots/upload", files=[("files", ("lot.yaml", sheet)), ("files", ("my cups.csv", TABLE))])
    changed = f"\ufeff{TABLE}Bui,musty,1,2\n".encode()
    answer = leader.post("/lots/upload", files=[*first.items(), ("files", ("my cups.csv", changed))])
    done = asked(answer).sent(leader, "replaces")
    assert done.status_code == 200, shown(done.text)
    newest = cases.cases(site.book)[-1].id
    assert whole(site.book, newest).files == {"my cups.csv": changed}
    assert {one.taster for one in site.traced(newest).lot.cuppings[0].tastings} == {"Ana", "Bui"}


def test_a_table_of_cuppings_goes_along_too(leader, site):
    head = {"lot": "CSV-1", "cups": "2", "by": "QA"}
    leader.post("/lots/table/upload", data=head, files={"files": ("cups.csv", TABLE)})
    answer = leader.post(
        "/lots/table/upload", data={**head, "cups": "3"}, files={"files": ("cups.csv", TABLE)}
    )
    assert asked(answer).sent(leader, "another").status_code == 200
    assert len(cases.cases(site.book)) == 2


def test_a_lot_filled_in_by_hand_loses_nothing_of_its_form(leader, site):
    form = {
        "lot": "NEN-120",
        "exporter": "Altura Verde",
        "note": ["musty", "smoky"],
        "note_cups": ["2", ""],
        "note_strength": ["strong", ""],
        "on": "2026-11-21",
        "cups": "5",
        "by": "QA",
        "message": "The bags stood on the floor.\nThe floor was wet.",
    }
    kept(leader)
    page = leader.post("/lots/new", data={**form, "step": "keep"})
    question = asked(page)
    assert ("message", form["message"]) in question.hidden
    assert question.sent(leader, "another").status_code == 200
    lot = site.traced(2).lot
    assert [note.text for one in lot.cuppings[0].tastings for note in one.notes] == ["musty", "smoky"]
    assert str(lot.cuppings[0].on) == "2026-11-21"
    assert "The floor was wet" in whole(site.book, 2).sheet


def test_a_flight_asks_once_for_all_lots_that_are_kept_already(browser, site):
    leader, ana = browser(), browser()
    for lot in ("KAR-1", "KAR-2"):
        kept(leader, SHEET.replace("NEN-120", lot))
    code = str(leader.post("/table/new", data=FLIGHT).url).rsplit("/", 1)[1]
    ana.post("/join", data={"code": code, "taster": "Ana"})
    for sample in range(4):
        say(ana, code, sample, {"words": "musty", "cups": [2, 3]})
    leader.post(f"/table/{code}/reveal")
    page = leader.post(f"/table/{code}/keep", data={"by": "QA"})
    question = asked(page)
    assert "2 lots are kept already" in shown(page.text)
    for case, lot in ((1, "KAR-1"), (2, "KAR-2")):
        assert f"Lot {lot} is kept with another sheet, as case {case}." in shown(page.text)
        assert f'name="stands-{case}" value="another:{case}" checked' in page.text
    assert len(cases.cases(site.book)) == 2, "nothing is kept before it is said of all"
    ticked = {**dict(question.hidden), "stands-1": "another:1", "stands-2": "replaces:2"}
    assert leader.post(question.action, data=ticked).status_code == 200
    assert sorted(tables.table(site.book, code).cases) == [0, 1]
    assert sorted(one.lot for one in cases.cases(site.book) if one.replaced) == ["KAR-2"]


@pytest.mark.parametrize("language", ["es", "pt"])
def test_the_question_is_asked_in_the_reader_s_language(leader, language):
    kept(leader)
    page = leader.post("/lots/text", data={"sheet": CHANGED}, headers={"accept-language": language}).text
    assert {"es": "Corrige el caso 1", "pt": "Corrige o caso 1"}[language] in page
    assert "another" not in re.sub(r'value="[^"]*"|name="[^"]*"', "", page)


@pytest.fixture
def answered(leader, site):
    """A kept lot with one answer received, and the same question with another answer."""
    number = kept(leader)
    ask = site.traced(number).report.asks[0]
    first, second = (one.answer for one in ask.answers[:2])
    leader.post(f"/lot/{number}/answer", data={"question": ask.id, "answer": first, "by": "QA"})
    return number, {"question": ask.id, "answer": second, "by": "KM", "note": "the mill called back"}


def told_as_replaced(site, number, question):
    """How the command line tells that an answer comes instead of the first one."""
    one = whole(site.book, number).received[0]
    label = site.base.enquiries[question].answers[one.answer]
    return f"It takes the place of the answer of {one.at[:10]} by QA: {label}."


def test_an_answer_given_anew_says_what_it_replaces_before_it_is_kept(leader, site, answered):
    number, second = answered
    page = leader.post(f"/lot/{number}/answer", data=second)
    question = asked(page)
    assert told_as_replaced(site, number, second["question"]) in shown(page.text)
    assert site.base.enquiries[second["question"]].answers[second["answer"]] in shown(page.text)
    assert len(whole(site.book, number).received) == 1, "asked before it is kept"
    done = question.sent(leader, "0")
    assert done.status_code == 200, shown(done.text)
    last = whole(site.book, number).received[-1]
    assert (last.answer, last.by, last.note) == (second["answer"], "KM", "the mill called back")
    history = shown(done.text[done.text.index('class="history"') :])
    assert told_as_replaced(site, number, second["question"]) in history
    assert "counts no more" in history


def test_the_history_has_a_form_that_says_it_already_and_asks_no_second_time(leader, site, answered):
    number, second = answered
    page = leader.get(f"/lot/{number}").text
    form = page[page.index("Give another answer") :]
    form = form[: form.index("</form>")]
    assert told_as_replaced(site, number, second["question"]) in shown(form)
    place = re.search(r'name="over" value="(\d+)"', form)[1]
    offered = re.findall(r'<option value="(\w+)"', form)
    assert offered == list(site.base.enquiries[second["question"]].answers)
    done = leader.post(f"/lot/{number}/answer", data={**second, "over": place})
    assert done.status_code == 200
    assert len(whole(site.book, number).received) == 2


def test_an_answer_that_came_in_between_is_told_too(leader, site, answered):
    number, second = answered
    leader.post(f"/lot/{number}/answer", data={**second, "over": "0"})
    answer = leader.post(f"/lot/{number}/answer", data={**second, "by": "ZZ", "over": "0"})
    assert "by KM" in shown(answer.text)
    asked(answer)


def test_after_a_taking_back_nothing_is_replaced_and_nothing_asked(leader, site, answered):
    number, second = answered
    leader.post(f"/lot/{number}/answer/back", data={"question": second["question"], "by": "QA"})
    done = leader.post(f"/lot/{number}/answer", data=second)
    assert done.status_code == 200
    assert "It takes the place of" not in shown(done.text.partition("Give another answer")[0])
