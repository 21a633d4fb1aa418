"""What a page asks of a phone on a slow line, and of the server over a large casebook: counted in bytes and steps, not in seconds."""

from __future__ import annotations

import contextlib
import re

import pytest

from tests.page.test_desk import kept
from tests.page.test_tongues import SCREENS, filled  # noqa: F401
from tracer.casebook import desk
from tracer.casebook.desk import SORTS, STATES, Wanted, catch_up, find
from tracer.casebook.file import opened
from tracer.page.offline import OfflineWords, _everyday

MOST_BYTES, MOST_REQUESTS = 60_000, 4
_PARTS = re.compile(r'<(?:link rel="(?:stylesheet|icon)" href|script src|img src)="([^"]+)"')
STEPS = 100
"""Steps of the database between two counts."""
MANY = 5_000


def over_the_line(client, path, language):
    """Bytes of an answer as they are sent."""
    headers = {"accept-encoding": "gzip", "accept-language": language}
    with client.stream("GET", path, headers=headers) as answer:
        assert answer.status_code in (200, 422), path
        return sum(map(len, answer.iter_raw()))


@pytest.mark.parametrize("language", ["en", "es", "pt"])
def test_the_first_screen_of_every_page_is_light(filled, browser, language):  # noqa: F811
    leader, places = filled
    taster = browser()
    taster.post("/join", data={"code": places["table"], "taster": "Ana", "language": language})
    screens = [(leader, screen.format_map(places)) for screen in SCREENS]
    heavy = {}
    for client, path in [*screens, (taster, f"/table/{places['table']}/taste")]:
        page = client.get(path, headers={"accept-language": language}).text
        parts = [path, *dict.fromkeys(_PARTS.findall(page))]
        size = sum(over_the_line(client, part, language) for part in parts)
        if len(parts) > MOST_REQUESTS or size > MOST_BYTES:
            heavy[path] = len(parts), size
    assert heavy == {}


def test_the_words_for_no_connection_come_after_the_page_and_are_kept_by_the_browser(browser, site):
    leader, taster = browser(), browser()
    code = str(leader.post("/table/new", data={"lot": "A", "on": "2026-11-28", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    taster.post("/join", data={"code": code, "taster": "Ana", "language": "es"})
    page = taster.get(f"/table/{code}/taste?language=es", headers={"accept-language": "pt"}).text
    address = re.search(r'"offline_whole": ?"([^"]+)"', page)[1]
    assert address.startswith("/words/pt-es-en.json?v=")
    answer = taster.get(address)
    assert "immutable" in answer.headers["cache-control"]
    assert answer.json()["words"]["mohoso"] == "mouldy"
    assert "gasolina" in answer.json()["stops"]
    assert "immutable" not in taster.get(address.partition("?")[0]).headers.get("cache-control", "")


def stops(phrases, said):
    """What the page does with the words of a line: the longest phrase that stops anywhere in it."""
    words = said.split()
    return any(
        " ".join(words[start:end]) in phrases
        for start in range(len(words))
        for end in range(start + 1, len(words) + 1)
    )


@pytest.mark.parametrize("language", ["es", "pt", "ja"])
def test_the_page_itself_knows_every_word_of_the_taster_s_language_that_stops(base, site, language):
    words = OfflineWords(base, site.ready.vocabulary.stops)
    brought = set(words.first([language], language)["stops"])
    everyday = [
        phrase
        for one, phrase, note in _everyday(base)
        if one == language and note in site.ready.vocabulary.stops
    ]
    assert len(everyday) > 2000
    assert [phrase for phrase in everyday if not stops(brought, phrase)] == []


def test_a_taster_s_page_brings_the_stop_words_of_the_language_chosen(browser, site):
    leader, taster = browser(), browser()
    code = str(leader.post("/table/new", data={"lot": "A", "on": "2026-11-28", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    taster.post("/join", data={"code": code, "taster": "Ana", "language": "es"})
    page = taster.get(f"/table/{code}/taste?language=es", headers={"accept-language": "pt"}).text
    assert "anticongelante" in page
    assert "anticongelante" not in taster.get(f"/table/{code}/taste?language=fr").text


@pytest.mark.parametrize("spoken", ["fr", "ja", "am"])
def test_the_tasting_page_is_light_with_the_stop_words_of_the_longest_lists(browser, spoken):
    leader, taster = browser(), browser()
    code = str(leader.post("/table/new", data={"lot": "A", "on": "2026-11-28", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    taster.post("/join", data={"code": code, "taster": "Ana", "language": spoken})
    path = f"/table/{code}/taste?language={spoken}"
    parts = [path, *dict.fromkeys(_PARTS.findall(taster.get(path).text))]
    assert sum(over_the_line(taster, part, "es") for part in parts) <= MOST_BYTES


def test_the_page_itself_knows_the_trade_s_own_words_that_stop(base, site):
    words = OfflineWords(base, site.ready.vocabulary.stops)
    first, whole = words.first(["es"], "es"), words.whole(["es"])
    for note in site.ready.vocabulary.stops:
        for spoken in base.descriptors[note].words.values():
            assert {one.lower() for one in spoken if one.isascii() and one.isalpha()} <= set(first["stops"])
    assert set(first["stops"]) < set(whole["stops"])
    assert first["denials"] == whole["denials"]


@pytest.fixture
def steps(monkeypatch):
    """Counts what the database does for the desk's list, in hundreds of its steps."""
    counted = [0]

    def one_more():
        counted[0] += 1

    @contextlib.contextmanager
    def counting(path, write=False):
        with opened(path, write=write) as book:
            book.set_progress_handler(one_more, STEPS)
            yield book

    monkeypatch.setattr(desk, "opened", counting)

    def of(book, wanted):
        counted[0] = 0
        find(book, wanted)
        return counted[0]

    return of


def grown(book, number, first=1):
    """Copies of the newest case, until there are so many, each with a lot's name of its own."""
    catch_up(book)
    with opened(book, write=True) as file:
        for table, own in (("lot_case", "id"), ("standing", "lot_case")):
            columns = [row[1] for row in file.execute(f"PRAGMA table_info({table})")]
            there = file.execute(f"SELECT max({own}) FROM {table}").fetchone()[0]
            chosen = ", ".join(
                {own: "n.value", "id": "n.value", "lot": "'LOT-' || n.value"}.get(column, f"s.{column}")
                for column in columns
            )
            file.execute(
                f"WITH RECURSIVE n(value) AS (SELECT {there + 1} UNION ALL SELECT value + 1 FROM n WHERE value < {number}) "
                f"INSERT INTO {table} ({', '.join(columns)}) SELECT {chosen} FROM n, {table} s WHERE s.{own} = {first}"
            )


@pytest.mark.parametrize(
    "wanted",
    [
        Wanted("musty"),
        Wanted("altura verde musty nen"),
        Wanted("nothing like this"),
        *(Wanted("nen", state=state) for state in STATES),
        *(Wanted("musty", sort=sort) for sort in SORTS),
    ],
    ids=lambda one: f"{one.words} {one.state} {one.sort}",
)
def test_a_search_over_five_thousand_cases_works_in_proportion(leader, site, steps, wanted):
    kept(leader)
    grown(site.book, MANY // 10)
    few = steps(site.book, wanted)
    grown(site.book, MANY)
    many = steps(site.book, wanted)
    assert find(site.book, Wanted()).total == MANY
    assert many <= 12 * max(few, 20), "ten times the cases, about ten times the work"
    assert many * STEPS <= 250 * MANY, "a bounded number of steps a case"
