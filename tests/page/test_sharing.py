"""A link to one report: read by whoever has it, nothing else opened by it, withdrawn by one tap."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from tests.page.conftest import OWN, example
from tracer.casebook import shared
from tracer.casebook.file import opened
from tracer.casebook.transfer import export_lines, import_lines
from tracer.issues import InputError
from tracer.page.app import application


def made(leader, number):
    page = leader.post(f"/lot/{number}/share", data={"by": "QA"})
    assert page.status_code == 200, page.text
    return re.search(r"/shared/[\w-]+", page.text)[0]


@pytest.fixture
def kept(site):
    """A site with keys, its leader, and a case kept by the leader."""
    site.keys = {"leader": "L" * 20, "reader": "R" * 20}
    app = application(site)
    leader = TestClient(app, headers=OWN)
    leader.get("/?key=" + "L" * 20)
    return app, leader, example(leader)


def test_who_has_the_link_reads_the_report_without_a_key_and_nothing_else(kept):
    app, leader, number = kept
    link = made(leader, number)
    stranger = TestClient(app, headers=OWN)
    answer = stranger.get(link)
    assert answer.status_code == 200
    assert "SVK-31" in answer.text
    assert "<form" not in answer.text
    assert "<script" not in answer.text
    assert [
        stranger.get(path).status_code for path in ("/", "/lots", f"/lot/{number}", f"/lot/{number}/print")
    ] == [403] * 4


def test_a_withdrawn_link_opens_nothing_and_another_stays(kept, site):
    app, leader, number = kept
    first, second = made(leader, number), made(leader, number)
    links = shared.links_of(site.book, number)
    assert [one.by for one in links] == ["QA", "QA"]
    leader.post(f"/lot/{number}/share/back", data={"link": str(links[0].id)})
    stranger = TestClient(app, headers=OWN)
    assert [stranger.get(link).status_code for link in (first, second)] == [404, 200]
    assert leader.post(f"/lot/{number}/share/back", data={"link": str(links[0].id)}).status_code == 422
    assert stranger.get("/shared/nothing").status_code == 404


def test_the_secret_itself_is_not_kept(kept, site):
    _, leader, number = kept
    secret = made(leader, number).rsplit("/", 1)[1]
    with opened(site.book) as book:
        rows = book.execute("SELECT * FROM shared_link").fetchall()
    assert len(rows) == 1
    assert all(secret not in str(cell) for row in rows for cell in row)


def test_only_those_who_may_change_a_case_make_a_link_and_they_sign(kept):
    app, leader, number = kept
    reader = TestClient(app, headers=OWN)
    reader.get("/?key=" + "R" * 20)
    assert reader.post(f"/lot/{number}/share", data={"by": "QA"}).status_code == 403
    assert leader.post(f"/lot/{number}/share", data={"by": " "}).status_code == 422


def test_a_link_to_no_case_is_refused(tmp_path):
    with pytest.raises(InputError, match="no case 7 is kept"):
        shared.share(tmp_path / "book.sqlite", 7, "QA")


def test_links_and_their_withdrawal_go_with_an_export(kept, site, tmp_path):
    _, leader, number = kept
    first, second = (made(leader, number).rsplit("/", 1)[1] for _ in range(2))
    shared.withdraw(site.book, number, shared.links_of(site.book, number)[0].id, "QA")
    export, other = tmp_path / "book.jsonl", tmp_path / "other.sqlite"
    export.write_text("\n".join(export_lines(site.book)), encoding="utf-8")
    import_lines(other, export)
    assert [shared.case_of(other, secret) for secret in (first, second)] == [None, number]
