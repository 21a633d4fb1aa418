"""The gate: foreign names, foreign forms, wrong keys, too much at once, and paths that lead out."""

from __future__ import annotations

import datetime
import re

import pytest
from starlette.testclient import TestClient

from tests.casebook.test_tables import FACTS
from tests.page.conftest import OWN, example
from tracer.casebook import cases, tables
from tracer.issues import InputError
from tracer.page.app import application
from tracer.page.guard import LARGE, SMALL
from tracer.page.site import Site


def test_a_foreign_name_that_points_here_is_refused(leader):
    assert leader.get("/", headers={"host": "evil.example"}).status_code == 421
    assert leader.get("/", headers={"host": "127.0.0.1:8080"}).status_code == 200
    assert leader.get("/", headers={"host": "[::1]:8080"}).status_code == 200
    assert leader.get("/", headers={"host": "["}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://testserver.evil.example"},
        {"origin": "http://testserver", "sec-fetch-site": "cross-site"},
        {"origin": "http://testserver", "sec-fetch-site": "same-site"},
        {},
    ],
)
def test_a_form_of_another_site_is_refused_and_changes_nothing(site, headers):
    client = TestClient(application(site))
    answer = client.post("/lots/example", data={"name": "container_damp"}, headers=headers)
    assert answer.status_code == 403
    assert cases.count(site.book) == 0


def test_other_methods_are_refused(leader):
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        assert leader.request(method, "/lots").status_code == 405


@pytest.fixture
def locked(base, tmp_path):
    return Site(
        base,
        tmp_path / "casebook.sqlite",
        keys={"leader": "right-key", "desk": "desk-key", "reader": "reader-key"},
        address="http://testserver",
    )


def test_with_a_key_nothing_of_the_leader_s_opens_without_it(locked):
    app = application(locked)
    taster, leader = TestClient(app, headers=OWN), TestClient(app, headers=OWN)
    code = None
    assert leader.get("/?key=right-key").status_code == 200
    assert "right-key" not in str(leader.get("/").url)
    cookie = leader.cookies.jar.__dict__["_cookies"]["testserver.local"]["/"]["tracer_leader"]
    assert cookie.has_nonstandard_attr("HttpOnly")
    assert cookie.get_nonstandard_attr("SameSite").lower() == "strict"
    number = example(leader)
    code = str(leader.post("/table/new", data={"lot": "A", "on": "2026-11-25", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    for path in (
        "/",
        "/lots",
        f"/lot/{number}",
        f"/lot/{number}/print",
        "/panel",
        "/chains",
        "/card",
        "/drill",
        "/?key=wrong",
        "/?key=",
    ):
        assert taster.get(path).status_code == 403, path
    for path in ("/table/new", f"/table/{code}", f"/table/{code}/sheet", f"/table/{code}/mine"):
        assert taster.get(path).status_code == 403, path
    for path in (
        "/table/new",
        f"/table/{code}/reveal",
        f"/table/{code}/free",
        "/lots/text",
        "/lots/example",
        "/panel/score",
        "/drill",
    ):
        assert taster.post(path).status_code == 403, path
    assert tables.table(locked.book, code).shown == frozenset()
    assert taster.get("/join").status_code == 200
    assert taster.post("/join", data={"code": code, "taster": "Ana", "language": "es"}).status_code == 200
    assert taster.get(f"/table/{code}/mine").json()["revision"] == 0
    other = str(leader.post("/table/new", data={"lot": "B", "on": "2026-11-25", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    assert taster.get(f"/table/{other}/mine").status_code == 403


def test_a_guesser_is_made_to_wait_and_the_right_code_still_opens_behind_the_same_address(browser, site):
    code = tables.open_table(site.book, FACTS, "")
    client = browser()
    answers = [
        client.post("/join", data={"code": f"AAAAA{n % 7}", "taster": "x"}).status_code for n in range(31)
    ]
    assert set(answers[:30]) == {422}
    assert answers[30] == 429
    assert client.post("/join", data={"code": code, "taster": "Ana"}).status_code == 200


def test_a_code_has_too_many_forms_to_be_guessed_while_it_opens():
    tries = 1000 * tables.OPEN_HOURS * 3600
    assert tries / len(tables.CODE) ** tables.LETTERS < 1e-3


def test_nobody_new_sits_down_at_a_table_that_is_revealed_or_of_yesterday(browser, site, monkeypatch):
    code, old = tables.open_table(site.book, FACTS, ""), tables.open_table(site.book, FACTS, "")
    ana, stranger = browser(), browser()
    ana.post("/join", data={"code": code, "taster": "Ana"})
    tables.reveal(site.book, code)
    assert "revealed" in stranger.post("/join", data={"code": code, "taster": "Someone"}).text
    assert stranger.get(f"/table/{code}/taste").url.path == f"/join/{code}"
    later = datetime.datetime.now(datetime.UTC) + datetime.timedelta(hours=tables.OPEN_HOURS + 1)
    monkeypatch.setattr(tables, "now", lambda: later.isoformat(timespec="seconds"))
    assert "has run out" in stranger.post("/join", data={"code": old, "taster": "Someone"}).text


def test_a_table_has_so_many_seats_and_a_freed_one_can_be_taken(site):
    code = tables.open_table(site.book, FACTS, "")
    seats = [tables.sit(site.book, code, f"taster {n}")[0] for n in range(tables.MOST_SEATS)]
    with pytest.raises(InputError, match="all seats"):
        tables.sit(site.book, code, "one more")
    tables.free(site.book, code, seats[0].id)
    tables.sit(site.book, code, "one more")


def test_a_state_with_cups_or_samples_that_the_table_has_not_is_refused(browser, site):
    code = tables.open_table(site.book, FACTS, "")
    ana = browser()
    ana.post("/join", data={"code": code, "taster": "Ana"})

    def answer(note, sample=0):
        sent = {"revision": 1, "sample": sample, "tasted": {"notes": [{"words": "musty", **note}]}}
        return ana.post(f"/table/{code}/mine", json=sent).status_code

    assert answer({"cups": [6]}) == 422
    assert answer({"how_many": 6}) == 422
    assert answer({"cups": [5]}, sample=1) == 422
    assert answer({"cups": [5]}) == 200


def test_a_device_that_saves_without_end_is_slowed_and_what_it_sent_before_stays(browser, site):
    code = tables.open_table(site.book, FACTS, "")
    ana = browser()
    ana.post("/join", data={"code": code, "taster": "Ana"})
    site.saves.most = 5
    answers = [
        ana.post(f"/table/{code}/mine", json={"revision": n, "tasted": {"done": n % 2 == 0}}).status_code
        for n in range(1, 8)
    ]
    assert answers == [200] * 5 + [429] * 2
    assert ana.get(f"/table/{code}/mine").json()["revision"] == 5


@pytest.mark.parametrize(
    ("key", "path", "status"),
    [
        ("desk-key", "/lots", 200),
        ("desk-key", "/table/new", 403),
        ("desk-key", "/casebook/backup", 403),
        ("reader-key", "/lots", 200),
        ("reader-key", "/panel", 200),
        ("reader-key", "/table/new", 403),
        ("right-key", "/table/new", 200),
        ("right-key", "/casebook/backup", 200),
    ],
)
def test_each_key_opens_what_its_role_needs(locked, key, path, status):
    client = TestClient(application(locked), headers=OWN)
    client.get(f"/?key={key}")
    assert client.get(path).status_code == status


def test_who_only_reads_changes_nothing_and_the_desk_keeps_lots_but_leads_no_table(locked):
    app = application(locked)
    reader, desk = TestClient(app, headers=OWN), TestClient(app, headers=OWN)
    reader.get("/?key=reader-key")
    desk.get("/?key=desk-key")
    assert reader.post("/lots/example", data={"name": "container_damp"}).status_code == 403
    number = example(desk)
    assert reader.get(f"/lot/{number}").status_code == 200
    code = tables.open_table(locked.book, FACTS, "")
    assert desk.post(f"/table/{code}/reveal").status_code == 403
    assert tables.table(locked.book, code).shown == frozenset()


def test_files_of_the_page_are_kept_by_the_browser_and_everything_comes_compressed(leader):
    page = leader.get("/lots")
    assert page.headers["content-encoding"] == "gzip"
    assert page.headers["cache-control"] == "no-store"
    address = re.search(r'href="(/static/page.css\?v=[0-9a-f]+)"', page.text)[1]
    style = leader.get(address)
    assert "immutable" in style.headers["cache-control"]
    assert style.headers["content-encoding"] == "gzip"
    stale = leader.get("/static/page.css?v=000000000000")
    assert stale.headers["cache-control"] == "no-cache"
    assert leader.get("/static/page.css", headers={"if-none-match": stale.headers["etag"]}).status_code == 304


def test_the_back_up_is_the_casebook_whole(leader, site, tmp_path):
    number = example(leader)
    copy = tmp_path / "copy.sqlite"
    copy.write_bytes(leader.get("/casebook/backup").content)
    assert cases.whole(copy, number).sheet == cases.whole(site.book, number).sheet


def test_a_form_that_is_too_large_is_refused_whether_or_not_it_says_so(leader):
    assert leader.post("/lots/text", content=b"x" * (SMALL + 1)).status_code == 413

    def chunks():
        for _ in range(SMALL // 1000 + 10):
            yield b"x" * 1000

    headers = {"content-type": "application/x-www-form-urlencoded"}
    assert leader.post("/lots/text", content=chunks(), headers=headers).status_code == 413
    assert leader.post("/table/ABC/mine", content=chunks()).status_code == 413
    assert (
        leader.post("/lots/upload", headers={"content-length": str(LARGE + 1)}, content=b"").status_code
        == 413
    )


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e/app.py",
        "/static/....//app.py",
        "/static//etc/passwd",
        "/static/..%5capp.py",
        "/lot/../static/page.css/../../../etc/passwd",
        "/lot/1%00/print",
        "/lot/99999999999999999999999999",
        "/lot/-1",
    ],
)
def test_no_path_leads_out_of_the_page(leader, path):
    answer = leader.get(path)
    assert answer.status_code in (400, 404, 405, 422)
    assert "root:" not in answer.text
    assert "import" not in answer.text


@pytest.mark.parametrize(
    "name",
    [
        "../../escaped.csv",
        "..\\..\\escaped.csv",
        "/tmp/escaped.csv",
        "C:\\escaped.csv",
        "a/../../escaped.csv",
    ],
)
def test_a_file_is_kept_under_its_bare_name_whatever_it_is_called(leader, site, tmp_path, name):
    sheet = "lot: A\ncuppings: [{cups: 5, table: escaped.csv}]\n"
    files = [("files", ("lot.yaml", sheet)), ("files", (name, b"taster,note\nAna,musty\n"))]
    answer = leader.post("/lots/upload", files=files)
    assert answer.status_code == 200
    assert set(cases.whole(site.book, 1).files) == {"escaped.csv"}


def test_a_sheet_cannot_read_a_file_of_this_machine(leader, site, tmp_path):
    secret = tmp_path / "secret.csv"
    secret.write_text("taster,note\nsecret-person,musty\n")
    for table in (str(secret), f"../{secret.name}", f"../../../../..{secret}"):
        answer = leader.post(
            "/lots/text", data={"sheet": f"lot: A\ncuppings: [{{cups: 5, table: '{table}'}}]"}
        )
        assert answer.status_code == 422
        assert "secret-person" not in answer.text
    assert leader.post("/lots/example", data={"name": "../../README"}).status_code == 422


@pytest.mark.parametrize(
    "back", ["//evil.example", "http://evil.example", "/\\evil.example", "javascript:alert(1)", "/a\nb"]
)
def test_the_choice_of_language_leads_nowhere_else(leader, back):
    answer = leader.get("/language/es", params={"back": back}, follow_redirects=False)
    assert answer.headers["location"] == "/"
    assert (
        leader.get("/language/es", params={"back": "/lots?lot=a"}, follow_redirects=False).headers["location"]
        == "/lots?lot=a"
    )
