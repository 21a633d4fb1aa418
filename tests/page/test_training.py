"""The training room: a blind set made on the page, tasted on the phones, scored at once, kept once."""

from __future__ import annotations

import datetime
import html
import re

import pytest

from tracer.casebook import tables
from tracer.casebook.sessions import kept, sessions
from tracer.page.roles import may

SET = {
    "note": ["musty", "phenolic", "smoky"],
    "times": ["3", "3", "2"],
    "last": ["2"],
    "blanks": "1",
    "repeats": "1",
    "on": "2026-11-28",
    "name": "Week 1",
    "by": "QA",
}


def opened(leader, **changes):
    answer = leader.post("/panel/set", data={**SET, **changes})
    assert answer.status_code == 200, answer.text
    return str(answer.url).rsplit("/", 1)[1]


def sat(browser, code, name):
    client = browser()
    page = client.post("/join", data={"code": code, "taster": name}).text
    return client, page


def say(client, code, sample, *words, revision=1):
    notes = [{"words": one} for one in words]
    sent = {"revision": revision, "sample": sample, "tasted": {"notes": notes, "done": True}}
    assert client.post(f"/table/{code}/mine", json=sent).status_code == 200


@pytest.fixture
def tasted(browser, site):
    """A set that Ana answered right throughout, and Bui with one note for all."""
    leader = browser()
    code = opened(leader)
    flight = tables.table(site.book, code).facts.flight
    ana, bui = sat(browser, code, "Ana")[0], sat(browser, code, "Bui")[0]
    for place, one in enumerate(flight):
        held = flight[one.repeats] if one.repeats is not None else one
        say(ana, code, place, *held.notes)
        say(bui, code, place, "phenolic")
    return leader, code, flight


def test_a_set_is_a_flight_of_references_blanks_and_second_cups(leader, site):
    facts = tables.table(site.book, opened(leader)).facts
    assert sorted(one.kind for one in facts.flight) == [
        "blank",
        "reference",
        "reference",
        "reference",
        "repeat",
    ]
    assert facts.flight[-1].lot.startswith("Smoky")
    assert facts.cups == 1


def test_a_taster_sees_marks_in_an_own_order_and_nothing_of_the_key(browser, site):
    leader = browser()
    code = opened(leader)
    pages = [sat(browser, code, name)[1] for name in ("Ana", "Bui", "Chi")]
    for page in pages:
        assert "Musty x3" not in page
        assert "reference" not in page.lower().replace("preferences", "")
    orders = [re.search(r'"order": ?(\[[^]]*\])', page)[1] for page in pages]
    assert len(set(orders)) == 3


def test_the_score_stands_at_once_and_is_kept_once(tasted, site):
    leader, code, flight = tasted
    assert leader.get(f"/table/{code}/score").status_code == 422, "blind until it is revealed"
    leader.post(f"/table/{code}/reveal")
    page = html.unescape(leader.get(f"/table/{code}/score").text)
    ana, bui = (
        page[page.index("<h2>Ana</h2>") : page.index("<h2>Bui</h2>")],
        page[page.index("<h2>Bui</h2>") :],
    )
    assert "was called" not in ana
    assert "Musty was called Phenolic" in bui
    assert not kept(site.book), "shown before it is kept"
    leader.post(f"/table/{code}/score", data={"by": "QA"})
    assert len(sessions(site.book)) == 1
    cups = kept(site.book)
    assert len(cups) == 2 * len(flight)
    assert all(set(one.given) == set(one.named) for one in cups if one.taster == "Ana")
    again = leader.post(f"/table/{code}/score", data={"by": "QA"})
    assert again.status_code == 422
    assert len(sessions(site.book)) == 1
    assert "Kept as session 1" in leader.get(f"/table/{code}/score").text


def test_no_lot_comes_of_a_blind_set(tasted, site):
    leader, code, _ = tasted
    leader.post(f"/table/{code}/reveal")
    page = leader.get(f"/table/{code}").text
    assert f"/table/{code}/sheet" not in page
    assert f'action="/table/{code}/keep"' not in page
    assert f"/table/{code}/score" in page
    assert leader.post(f"/table/{code}/keep", data={}).status_code == 422


def test_words_that_are_set_aside_count_once_the_taster_was_asked(browser, site):
    leader = browser()
    code = opened(leader)
    flight = tables.table(site.book, code).facts.flight
    musty = next(place for place, one in enumerate(flight) if one.notes == ("musty",))
    ana, _ = sat(browser, code, "Ana")
    say(ana, code, musty, "blorfy")
    leader.post(f"/table/{code}/reveal")
    assert "is set aside" in html.unescape(leader.get(f"/table/{code}/score").text)
    settled = {"sample": str(musty), "taster": "Ana", "words": "blorfy", "means": "musty"}
    leader.post(f"/table/{code}/settle", data=settled)
    assert "is set aside" not in html.unescape(leader.get(f"/table/{code}/score").text)


def test_what_may_not_be_tasted_is_refused_with_the_form_as_it_was(leader, base, site):
    stop = next(name for name, one in base.descriptors.items() if one.stop_tasting)
    for changes, told in (
        ({"note": [stop, "", ""]}, "is not served"),
        ({"note": ["", "", ""]}, "there is nothing to serve"),
        ({"note": ["musty", "musty", ""], "times": ["3", "3", ""]}, "here twice"),
        ({"times": ["3000", "3", "2"]}, "times threshold is outside"),
        ({"times": ["much", "3", "2"]}, "is no number"),
        ({"blanks": "40"}, "cups are more than the"),
        ({"on": "soon"}, "needs its day"),
        ({"name": "Week\x07 1"}, "control characters"),
    ):
        answer = leader.post("/panel/set", data={**SET, **changes})
        assert answer.status_code == 422, changes
        assert told in html.unescape(answer.text)
        assert 'name="name"' in answer.text
        assert 'value="QA"' in answer.text
    assert not tables.tables(site.book)


def test_only_the_leader_makes_and_scores_a_set():
    for role in ("desk", "reader", None):
        for method in ("GET", "POST"):
            assert not may(role, method, "/panel/set")
            assert not may(role, method, "/table/ABCD/score")


def test_the_form_begins_with_the_notes_that_the_panel_finds_least(tasted, site):
    leader, code, _ = tasted
    leader.post(f"/table/{code}/reveal")
    leader.post(f"/table/{code}/score", data={})
    page = leader.get("/panel/set").text
    chosen = re.findall(r'value="(\w+)" selected', page)
    assert chosen
    assert set(chosen) <= {"musty", "phenolic", "smoky"}
    assert 'value="ashy" selected' in leader.get("/panel/set?note=ashy").text


def test_the_plan_of_the_next_weeks_leads_to_the_set_of_each_week(leader, site):
    assert leader.get("/panel/plan").status_code == 200, "nobody yet: it asks who it is for"
    page = html.unescape(leader.get("/panel/plan?tasters=Ana,+Bui&weeks=3&start=2026-12-01").text)
    assert page.count("novice") == 2
    assert re.findall(r"<h2>Week (\d)", page) == ["1", "2", "3"]
    assert "2026-12-15" in page
    first = re.search(r'href="(/panel/set\?[^"]+)"', page)[1]
    form = leader.get(first).text
    fields = {
        name: re.findall(rf'name="{name}"[^>]*value="([^"]*)"', form)
        for name in ("blanks", "repeats", "on", "name")
    }
    assert fields == {"blanks": ["2"], "repeats": ["5"], "on": ["2026-12-01"], "name": ["Week 1"]}
    notes = re.findall(r'value="(\w+)" selected', form)
    assert len(notes) == 5
    sent = {"note": notes, "times": ["3"] * 5, **{name: value[0] for name, value in fields.items()}}
    answer = leader.post("/panel/set", data=sent)
    assert answer.status_code == 200
    assert len(tables.table(site.book, str(answer.url).rsplit("/", 1)[1]).facts.flight) == 12


def test_a_plan_made_again_starts_from_what_was_found(tasted, site):
    leader, code, _ = tasted
    leader.post(f"/table/{code}/reveal")
    leader.post(f"/table/{code}/score", data={})
    page = leader.get("/panel/plan").text
    assert 'value="Ana, Bui"' in page
    assert "in training" in page


@pytest.fixture
def held(tasted, site):
    """The leader, with the session of the set kept."""
    leader, code, flight = tasted
    leader.post(f"/table/{code}/reveal")
    leader.post(f"/table/{code}/score", data={"by": "QA"})
    return leader, code, flight


def session_row(page, number):
    begins = page.index(f'<li id="session-{number}"')
    return html.unescape(page[begins : page.index("</form>", begins)])


def test_a_kept_session_is_taken_out_with_who_and_why_and_counted_again(held, site):
    leader, _, flight = held
    row = session_row(leader.get("/panel").text, 1)
    assert "Week 1" in row
    assert f"{2 * len(flight)} cups; 2 tasters; QA" in row
    out = leader.post("/panel/session/1/remove", data={"by": "KM", "why": "the kettle was dirty"})
    assert str(out.url).endswith("/panel?out=1#session-1")
    assert "Session 1 no longer counts." in out.text
    assert "0 sessions kept" in out.text
    assert not kept(site.book)
    told = session_row(out.text, 1)
    assert f"Taken out on {datetime.date.today()} by KM:" in told
    assert "the kettle was dirty" in told
    again = leader.post(re.search(r'action="([^"]+)"', told)[1], data={"by": "KM", "why": "the wrong one"})
    assert "Session 1 counts again." in again.text
    assert "1 session kept" in again.text
    assert len(kept(site.book)) == 2 * len(flight)
    assert "Taken out" not in session_row(again.text, 1)
    assert len(sessions(site.book)) == 3, "nothing is ever wiped out"


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"by": "", "why": "the kettle was dirty"}, "somebody must stand for it"),
        ({"by": "KM", "why": " "}, "without a reason"),
    ],
)
def test_a_session_is_not_taken_out_unsigned_or_without_a_reason_and_the_form_keeps_what_was_typed(
    held, site, sent, told
):
    leader, _, _ = held
    answer = leader.post("/panel/session/1/remove", data=sent)
    assert answer.status_code == 422
    row = session_row(answer.text, 1)
    assert told in row
    assert '<details class="sure" open>' in row
    assert f'value="{sent["by"] or sent["why"]}"' in row
    assert kept(site.book)


def test_a_session_that_is_not_there_or_out_already_is_refused(held):
    leader, _, _ = held
    signed = {"by": "KM", "why": "mixed up"}
    assert "no session 7 is kept" in leader.post("/panel/session/7/remove", data=signed).text
    leader.post("/panel/session/1/remove", data=signed)
    twice = leader.post("/panel/session/1/remove", data=signed)
    assert twice.status_code == 422
    assert "taken out already" in twice.text


def test_a_session_kept_anew_since_is_not_counted_twice(held, site):
    leader, code, _ = held
    signed = {"by": "KM", "why": "mixed up"}
    leader.post("/panel/session/1/remove", data=signed)
    leader.post(f"/table/{code}/score", data={"by": "QA"})
    refused = leader.post("/panel/session/2/remove", data=signed)
    assert refused.status_code == 422
    assert "kept anew, as session 3" in refused.text
    assert {one.session for one in kept(site.book)} == {3}


def test_who_only_reads_sees_the_sessions_and_no_form():
    assert not may("reader", "POST", "/panel/session/1/remove")
    assert may("desk", "POST", "/panel/session/1/remove")
