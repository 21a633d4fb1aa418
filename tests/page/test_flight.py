"""A flight: several samples on one table, tasted by many, revealed one by one, kept as lots and traced together."""

from __future__ import annotations

import datetime
import re

import pytest

from tests.page.conftest import at_once
from tracer.casebook import cases, tables
from tracer.casebook.table_facts import SampleFacts, TableFacts
from tracer.casebook.tasting import Tasted, TastedNote, flight_sheet, sheet_text, sheet_values
from tracer.lots.read import parse_lot
from tracer.page.shares import ShareReader

FLIGHT = {
    "on": "2026-11-25",
    "cups": "5",
    "sample": "arrival",
    "lot": ["KAR-1", "KAR-2", "house clean", ""],
    "kind": ["lot", "lot", "control", "repeat:1"],
    "process": ["washed", "natural", "", ""],
}
FACTS = TableFacts(
    lot="KAR-1",
    on=datetime.date(2026, 11, 25),
    cups=5,
    flight=(
        SampleFacts(lot="KAR-1", process="washed"),
        SampleFacts(lot="house", kind="control"),
        SampleFacts(lot="KAR-1", kind="repeat", repeats=0),
    ),
)


def opened(leader):
    return str(leader.post("/table/new", data=FLIGHT).url).rsplit("/", 1)[1]


def say(client, code, sample, *notes, done=True):
    sent = {"revision": 1, "sample": sample, "tasted": {"notes": list(notes), "done": done}}
    answer = client.post(f"/table/{code}/mine", json=sent)
    assert answer.status_code == 200, answer.text


def test_tasters_sign_in_once_and_know_the_samples_by_their_marks_alone(browser):
    leader, ana = browser(), browser()
    code = opened(leader)
    page = ana.post("/join", data={"code": f"{code[:4].lower()}-{code[4:].lower()}", "taster": "Ana"}).text
    assert all(name not in page for name in ("KAR-1", "KAR-2", "house clean"))
    assert [one for one in re.findall(r'"mark": ?"(.)"', page)] == ["A", "B", "C", "D"]


def test_a_flight_is_revealed_sample_by_sample_and_what_comes_later_is_late_there_alone(browser, site):
    leader, ana, bui = browser(), browser(), browser()
    code = opened(leader)
    for client, name in ((ana, "Ana"), (bui, "Bui")):
        client.post("/join", data={"code": code, "taster": name})
    say(ana, code, 0, {"words": "musty", "cups": [2]})
    say(ana, code, 1, {"words": "zzsecret", "cups": [1]})
    leader.post(f"/table/{code}/reveal", data={"sample": "0"})
    for page in (leader.get(f"/table/{code}").text, bui.get(f"/table/{code}/all").text):
        assert "2 (musty)" in page
        assert "zzsecret" not in page
    say(bui, code, 0, {"words": "sour", "cups": [1]})
    say(bui, code, 1, {"words": "fruity", "cups": [3]})
    assert tables.told(site.book, code, 0)[1].late is not None
    assert "sour" in leader.get(f"/table/{code}").text, "late words are read before they are taken"
    leader.post(f"/table/{code}/reveal")
    assert [one.late for one in tables.told(site.book, code, 1)] == [None, None]


def test_the_leader_sees_who_is_where(browser, site):
    leader, ana = browser(), browser()
    code = opened(leader)
    ana.post("/join", data={"code": code, "taster": "Ana"})
    say(ana, code, 0)
    say(ana, code, 1, {"words": "musty"}, done=False)
    (found,) = tables.progress(site.book, code)
    assert found.finished == {0}
    assert found.begun == {0, 1}
    page = leader.get(f"/table/{code}").text
    assert "1 of 4 done" in page
    assert "musty" not in page


def test_a_flight_becomes_lots_with_their_control_and_repeat_and_one_joint_trace(browser, site):
    leader, ana, bui = browser(), browser(), browser()
    code = opened(leader)
    for client, name in ((ana, "Ana"), (bui, "Bui")):
        client.post("/join", data={"code": code, "taster": name})
        for sample in (0, 1, 3):
            say(client, code, sample, {"words": "musty", "cups": [2, 3]})
        say(client, code, 2)
    leader.post(f"/table/{code}/reveal")
    kept = leader.post(f"/table/{code}/keep", data={"by": "QA"})
    assert kept.status_code == 200, kept.text
    assert [case.lot for case in cases.cases(site.book)] == ["KAR-1", "KAR-2"]
    first, second = site.traced(1).lot, site.traced(2).lot
    assert [note.which for one in first.cuppings[0].tastings for note in one.notes] == [(2, 3), (2, 3)]
    assert first.cuppings[0].control.cups == 10
    assert not first.cuppings[0].control.notes
    assert [(one.name, one.kin) for one in first.cuppings[0].beside] == [("D", "same_lot")]
    assert not second.cuppings[0].beside
    assert first.cuppings[0].bench == second.cuppings[0].bench
    together = leader.get(f"/table/{code}/together")
    assert together.status_code == 200, together.text
    told = together.text
    assert told.index("What the bench did to all") < told.index("Each lot")
    assert "KAR-1" in told
    assert "KAR-2" in told


def test_a_word_is_settled_with_the_taster_s_answer_and_nothing_is_chosen_before(browser, site):
    leader, ana = browser(), browser()
    code = str(leader.post("/table/new", data={"lot": "A", "on": "2026-11-25", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    ana.post("/join", data={"code": code, "taster": "Ana"})
    say(ana, code, 0, {"words": "blorfy", "cups": [1]})
    leader.post(f"/table/{code}/reveal")
    form = leader.get(f"/table/{code}").text
    assert re.search(r'<select name="means" required><option value="">', form)
    assert "selected" not in form[form.index('name="means"') :]
    leader.post(
        f"/table/{code}/settle", data={"taster": "Ana", "words": "blorfy", "means": "musty", "sample": "0"}
    )
    leader.post(f"/table/{code}/keep")
    (note,) = site.traced(1).lot.cuppings[0].tastings[0].notes
    assert (note.text, note.means, note.which) == ("blorfy", "musty", (1,))


def test_a_name_is_freed_and_the_freeing_undone(browser, site):
    leader, ana = browser(), browser()
    code = opened(leader)
    ana.post("/join", data={"code": code, "taster": "Ana"})
    (seat,) = tables.progress(site.book, code)
    assert "/hold" in leader.post(f"/table/{code}/free", data={"seat": str(seat.seat)}).text
    assert ana.get(f"/table/{code}/mine").status_code == 403
    leader.post(f"/table/{code}/hold", data={"seat": str(seat.seat)})
    assert ana.get(f"/table/{code}/mine").status_code == 200


@pytest.mark.parametrize(
    ("line", "cups", "which", "share"),
    [
        ("papa en taza 3 fuerte", 1, [3], None),
        ("earthy cups 2 and 4", 2, [2, 4], None),
        ("potato in 1 of 5 cups", 1, [], None),
        ("musty in half the cups", None, [], "half"),
        ("musty in 40 % of the cups", 2, [], None),
        ("terroso en la mayoría de las tazas", None, [], "most"),
    ],
)
def test_cups_that_are_typed_count(leader, line, cups, which, share):
    (found,) = leader.get("/words", params={"text": line, "cups": "5"}).json()
    assert (found["cups"], found["which"], found["share"]) == (cups, which, share)


@pytest.mark.parametrize(
    ("note", "found", "which", "share"),
    [
        ({"cups": (2, 4)}, 2, (2, 4), None),
        ({"how_many": 3}, 3, (), None),
        ({"share": "half"}, None, (), "half"),
        ({"cups": (1, 2, 3, 4, 5)}, -1, (), None),
    ],
)
def test_cups_stand_on_the_sheet_as_they_were_said(base, note, found, which, share):
    said = {0: [("Ana", Tasted(notes=(TastedNote(words="musty", **note),)))]}
    lot, _ = parse_lot(sheet_text(flight_sheet(FACTS, 0, said, "table X")), "lot.yaml", base)
    (read,) = lot.cuppings[0].tastings[0].notes
    assert (read.cups, read.which, read.share) == (found, which, share)


def test_an_uneven_per_cent_is_not_made_a_count(base):
    assert ShareReader(base.languages.values()).read("musty in 33 % of the cups", 5)[1] is None


@pytest.mark.parametrize(
    ("line", "left", "share"),
    [
        ("musty in most of the cups", "musty", "most"),
        ("moisi dans la moitié des tasses", "moisi", "half"),
        ("muffig in einigen Tassen", "muffig", "some"),
        ("phenolic in scattered cups", "phenolic", "some"),
        ("fenol en tazas salteadas", "fenol", "some"),
        ("terroso esporádico", "terroso", "some"),
        ("chua ở vài ly", "chua ở", "some"),
        ("ほとんどのカップでカビ臭", "カビ臭", "most"),
        ("mostly musty", "mostly musty", None),
    ],
)
def test_a_share_of_the_cups_is_understood_in_every_language_of_the_vocabulary(base, line, left, share):
    assert ShareReader(base.languages.values()).read(line, 5) == (left, None, share)


def test_every_language_says_most_half_and_some_of_the_cups(base):
    for one in base.languages.values():
        assert set(one.share_of_cups) == {"most", "half", "some"}, one.id


def test_what_a_control_shows_is_added_up_over_the_tasters():
    note = TastedNote(words="papery", cups=(1, 2))
    said = {0: [], 1: [("Ana", Tasted(notes=(note,))), ("Bui", Tasted(notes=(note,)))]}
    data = sheet_values(sheet_text(flight_sheet(FACTS, 0, said)))
    assert data["cuppings"][0]["control"] == {"cups": 10, "notes": [{"note": "papery", "cups": 4}]}


@pytest.mark.parametrize(
    "wrong",
    [{"kind": ["lot", "repeat:9"], "lot": ["A", ""]}, {"kind": ["control", "control"], "lot": ["A", "B"]}],
)
def test_a_flight_that_cannot_be_is_told_in_the_form_with_what_was_typed(leader, wrong):
    answer = leader.post("/table/new", data={**FLIGHT, **wrong})
    assert answer.status_code == 422
    assert 'value="A"' in answer.text


def test_a_wrong_code_or_taken_name_is_told_in_the_form_in_the_reader_s_language(browser):
    leader, ana, other = browser(), browser(), browser()
    code = opened(leader)
    ana.post("/join", data={"code": code, "taster": "Ana"})
    other.get("/language/es")
    for sent in ({"code": "AAAA-AAAA", "taster": "Ana"}, {"code": code, "taster": "ana"}):
        answer = other.post("/join", data=sent)
        assert answer.status_code == 422
        assert f'value="{sent["taster"]}"' in answer.text
        assert "error" not in re.sub("<[^>]+>", " ", answer.text)
        assert "somebody sits" not in answer.text
    assert (
        "mesa sigue a ciegas"
        in ana.get(
            f"/table/{code}/all",
            headers={
                "cookie": f"tracer_language=es; tracer_seat_{code}={ana.cookies[f'tracer_seat_{code}']}"
            },
        ).text
    )


@pytest.mark.slow
def test_thirty_phones_posting_at_once_over_a_flight_of_six_lose_nothing(browser, site):
    leader = browser()
    flight = {**FLIGHT, "lot": [f"L-{n}" for n in range(6)], "kind": ["lot"] * 6, "process": [""] * 6}
    code = str(leader.post("/table/new", data=flight).url).rsplit("/", 1)[1]
    wrong = []

    def taste(number):
        client = browser()
        client.post("/join", data={"code": code, "taster": f"taster {number}"})
        for sample in range(6):
            note = {"words": f"note {sample} of {number}", "cups": [1 + number % 5]}
            sent = {"revision": 1, "sample": sample, "tasted": {"notes": [note], "done": True}}
            answer = client.post(f"/table/{code}/mine", json=sent)
            if answer.status_code != 200:
                wrong.append(answer.text)

    at_once(taste, 30)
    assert not wrong
    leader.post(f"/table/{code}/reveal")
    for sample in range(6):
        found = {
            one.taster: [note.words for note in one.counts.notes]
            for one in tables.told(site.book, code, sample)
        }
        assert found == {f"taster {n}": [f"note {sample} of {n}"] for n in range(30)}
