"""Hostile text in every field, nonsense at every address, and twenty tasters at once."""

from __future__ import annotations

import html
import re
from html.parser import HTMLParser

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from tests.page.conftest import OWN, at_once, example
from tracer.casebook import tables
from tracer.page.app import _routes, application
from tracer.page.site import Site

HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "'-alert(1)-'",
    "</textarea><script>alert(1)</script>",
    "</script><script>alert(1)</script>",
    "{{ 7*7 }}{% raw %}",
    "javascript:alert(1)",
    "[bold red]x[/]",
    "\u202egnp.exe",
    "<!--",
    "]]>",
)
ALLOWED_SCRIPTS = {
    "/static/copy.js",
    "/static/print.js",
    "/static/table.js",
    "/static/lot.js",
    "/static/log.js",
    "/static/tasting.js",
    "/static/taste_offline.js",
}


class Watch(HTMLParser):
    """Notes whatever could run, and text that the page made of a template's own signs."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if (
            tag == "script"
            and given.get("type") != "application/json"
            and (given.get("src") or "").partition("?")[0] not in ALLOWED_SCRIPTS
        ):
            self.found.append((tag, given))
        if tag in ("img", "iframe", "object", "embed", "base", "meta") and "onerror" in given:
            self.found.append((tag, given))
        self.found += [(tag, name) for name in given if name.startswith("on")]
        self.found += [
            (tag, value)
            for name, value in attrs
            if name in ("href", "src", "action")
            and (value or "").strip().lower().startswith(("javascript:", "data:"))
        ]


def safe(text):
    watch = Watch()
    watch.feed(text)
    assert not watch.found
    assert "49{%" not in text
    return text


@pytest.mark.parametrize("text", HOSTILE)
def test_no_field_of_a_sheet_runs_anything(leader, site, text):
    quoted = "'" + text.replace("'", "''") + "'"
    sheet = f"""
lot: {quoted}
origin: {quoted}
exporter: {quoted}
contract: {quoted}
crop: {quoted}
clocks: [{{what: {quoted}, clause: {quoted}, days: 3, from: 2026-01-01}}]
custody: {{harvest: {quoted}}}
cuppings:
  - {{cups: 5, drawn_by: {quoted}, tasters: [{{taster: {quoted}, notes: [{quoted}, musty, {{note: {quoted}, means: mouldy, when: {quoted}}}]}}]}}
said: [{{by: {quoted}, text: {quoted}}}]
"""
    answer = leader.post("/lots/text", data={"sheet": sheet, "lot": text, "by": text})
    assert answer.status_code == 200, html.unescape(re.sub("<[^>]+>", " ", answer.text))
    asked = site.traced(1).report.asks[0]
    sent = {"question": asked.id, "answer": asked.answers[0].answer, "by": text, "note": text}
    safe(leader.post("/lot/1/answer", data=sent).text)
    safe(leader.post("/lot/1/close", data={"fault": "none", "how": "record", "by": text, "note": text}).text)
    letter = {"by": "2026-12-20", "sender": text, "stage": asked.stage, "language": "en"}
    for path in (
        "/",
        "/lots",
        f"/lots?lot={text}",
        "/lot/1",
        "/lot/1/print",
        "/lot/1/sheet",
        "/lot/1/known",
        "/lot/1/cupping/1",
        "/season",
    ):
        safe(leader.get(path).text)
    safe(leader.get("/lot/1/letter", params=letter).text)
    broken = leader.post(
        "/lots/text", data={"sheet": f"lot: A\n{quoted}: 1", "lot": text, "code": text, "replaces": text}
    )
    assert broken.status_code == 422
    safe(broken.text)


@pytest.mark.parametrize("text", HOSTILE)
def test_no_field_of_a_table_runs_anything(browser, site, text):
    leader, taster = browser(), browser()
    facts = {
        "lot": text,
        "on": "2026-11-25",
        "cups": "5",
        "drawn_by": text,
        "species": text,
        "origin": text,
        "by": text,
    }
    made = leader.post("/table/new", data=facts)
    safe(made.text)
    code = str(made.url).rsplit("/", 1)[1]
    safe(taster.post("/join", data={"code": code, "taster": text, "language": text}).text)
    tasted = {"notes": [{"words": text, "cups": [1]}, {"words": text, "found": False}]}
    taster.post(f"/table/{code}/mine", json={"revision": 1, "tasted": tasted})
    safe(taster.get(f"/table/{code}/taste").text)
    leader.post(f"/table/{code}/reveal")
    for path in (f"/table/{code}", f"/table/{code}/sheet", f"/table/{code}/all", "/"):
        safe(leader.get(path).text)
    for path in (
        f"/chains?term={text}",
        f"/card?note={text}",
        f"/drill?person={text}",
        f"/join/{text}",
        f"/table/{text}",
    ):
        safe(leader.get(path).text)
    safe(
        leader.get("/card", params={"note": "potato", "compound": text, "threshold": text, "mass": text}).text
    )
    assert leader.get("/words", params={"text": text}).headers["content-type"] == "application/json"


def made(base, tmp_path_factory):
    """A page with a kept lot and a table, for addresses to be tried on."""
    site = Site(base, tmp_path_factory.mktemp("fuzz") / "casebook.sqlite", address="http://testserver")
    client = TestClient(application(site), headers=OWN)
    example(client)
    code = str(client.post("/table/new", data={"lot": "A", "on": "2026-11-25", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    client.post("/join", data={"code": code, "taster": "Ana"})
    site.tries.most = 10**9
    return client, code


@pytest.fixture(scope="module")
def fuzzed(base, tmp_path_factory):
    """One to try every address on; some of them free the seat."""
    return made(base, tmp_path_factory)


@pytest.fixture(scope="module")
def seated(base, tmp_path_factory):
    """One whose taster keeps the seat."""
    return made(base, tmp_path_factory)


ROUTES = [
    (route.path, method)
    for route in _routes()
    if hasattr(route, "methods")
    for method in route.methods
    if method != "HEAD"
]
WORDS = ["lot", "sheet", "code", "taster", "language", "on", "cups", "by", "note", "term", "person", "kind", "question", "answer", "fault", "how", "stage", "sender", "volume", "times", "compound", "threshold", "mass", "purity", "flask", "revision", "tasted", "add", "late", "replaces", "seat", "step", "if", "key", "back", "text", "name", "case", "choice", "card", "where", "time", "temperature", "degrees", "dates", "decimal", "timezone", "process", "sample", "was", "said", "times", "last", "blanks", "repeats", "smell_only", "tasters", "weeks", "start", "week", "link", "taster:0", "words:0:0", "cups:0:0", "intensity:0:0", "absent:0", "pattern:0:level", "pattern:0:share", "contact:0:with", "laboratory:0:value", "since", "until"]  # fmt: skip
texts = st.text(max_size=60) | st.sampled_from(
    [
        "1",
        "-1",
        "0",
        "1e999",
        "nan",
        "2026-11-25",
        "musty",
        "container_damp",
        "a:b",
        "9" * 40,
        "\x00",
        *HOSTILE,
    ]
)


@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.sampled_from(ROUTES), st.dictionaries(st.sampled_from(WORDS), texts, max_size=8), texts, st.booleans()
)
def test_no_request_whatever_makes_the_page_fail(fuzzed, route, fields, part, real):
    client, code = fuzzed
    (path, method), shown = route, part.replace("/", "").replace("?", "").replace("#", "") or "x"
    path = path.replace("{number:int}", "1").replace("{place:int}", "1")
    path = path.replace("{code}", code if real else shown).replace("{secret}", shown)
    path = path.replace("{fault}", shown).replace("{language}", shown)
    try:
        address = client.build_request("GET", path).url
    except Exception:  # the client refuses to send such an address at all
        return
    answer = client.get(address, params=fields) if method == "GET" else client.post(address, data=fields)
    assert answer.status_code < 500
    if "html" in answer.headers.get("content-type", ""):
        safe(answer.text)


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.binary(max_size=300)
    | st.recursive(
        st.none() | st.booleans() | st.floats() | texts,
        lambda i: st.lists(i) | st.dictionaries(texts, i),
        max_leaves=8,
    )
    .map(repr)
    .map(str.encode)
)
def test_nothing_sent_as_a_tasting_or_a_file_makes_the_page_fail(seated, raw):
    client, code = seated
    assert client.post(f"/table/{code}/mine", content=raw).status_code in (200, 422)
    for path, data in (
        ("/lots/upload", {}),
        ("/lots/table/upload", {"lot": "A"}),
        ("/lot/1/log", {"step": "look"}),
    ):
        for name in ("lot.yaml", "cups.csv", "a.xlsx"):
            answer = client.post(path, data=data, files={"files": (name, raw or b"x")})
            assert answer.status_code in (200, 422), (path, name)
    assert client.post(
        "/panel/score", data={"on": "2026-11-25"}, files={"key": ("k.csv", raw), "answers": ("a.yaml", raw)}
    ).status_code in (200, 422)


@pytest.mark.slow
def test_twenty_tasters_posting_at_once_lose_nothing(browser, site):
    leader = browser()
    code = str(leader.post("/table/new", data={"lot": "A", "on": "2026-11-25", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    wrong = []

    def taste(number):
        client = browser()
        client.post("/join", data={"code": code, "taster": f"taster {number}"})
        for revision in range(1, 9):
            notes = [{"words": f"note {n} of {number}", "cups": [1 + n % 5]} for n in range(revision)]
            answer = client.post(
                f"/table/{code}/mine", json={"revision": revision, "tasted": {"notes": notes}}
            )
            if answer.status_code != 200 or answer.json()["revision"] != revision:
                wrong.append(answer.text)

    at_once(taste, 20)
    assert not wrong
    leader.post(f"/table/{code}/reveal")
    found = {one.taster: one.counts.notes for one in tables.told(site.book, code)}
    assert len(found) == 20
    for number in range(20):
        assert [note.words for note in found[f"taster {number}"]] == [
            f"note {n} of {number}" for n in range(8)
        ]
