"""The gate: foreign names, foreign forms, wrong keys, too much at once, and paths that lead out."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from tests.casebook.test_tables import FACTS
from tests.page.conftest import OWN, example
from tracer.casebook import cases, tables
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
    return Site(base, tmp_path / "casebook.sqlite", keys={"leader": "right-key", "desk": "desk-key", "reader": "reader-key"}, address="http://testserver")


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
    assert tables.table(locked.book, code).revealed is None
    assert taster.get("/join").status_code == 200
    assert taster.post("/join", data={"code": code, "taster": "Ana", "language": "es"}).status_code == 200
    assert taster.get(f"/table/{code}/mine").json()["revision"] == 0
    other = str(leader.post("/table/new", data={"lot": "B", "on": "2026-11-25", "cups": "5"}).url).rsplit(
        "/", 1
    )[1]
    assert taster.get(f"/table/{other}/mine").status_code == 403


def test_wrong_codes_close_the_door_for_a_while(browser, site):
    code = tables.open_table(site.book, FACTS, "")
    client = browser()
    answers = [
        client.post("/join", data={"code": f"AAAAA{n % 7}", "taster": "x"}).status_code for n in range(31)
    ]
    assert set(answers[:30]) == {422}
    assert answers[30] == 429
    assert client.post("/join", data={"code": code, "taster": "Ana"}).status_code == 429


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
