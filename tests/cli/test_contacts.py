"""A lot whose source is what it met, through every verb and the page: the fault is in no file of the knowledge."""

from __future__ import annotations

import json

import pytest

from tests.command import run

FAULT = "contact_onions_transport"
SHEET = """
lot: ON-7
process: washed
cuppings:
  - sample: arrival
    cups: 5
    tasters: [{taster: a, language: en, notes: [{note: onion, cups: 5}]}]
contact: [{with: onions, stage: transport, how: beside}]
"""


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("contact")
    (folder / "lot.yaml").write_text(SHEET, encoding="utf-8")
    return folder, {"TRACER_CASEBOOK": str(folder / "book.sqlite")}


def test_trace_why_ask_letter_and_report_know_it(desk):
    folder, env = desk
    report = json.loads(run("trace", "lot.yaml", "--json", cwd=folder, **env).stdout)
    assert report["sources"][0]["fault"] == FAULT
    for words in (("trace",), ("why",), ("ask",), ("letter", "--by", "2027-01-20"), ("check",)):
        done = run(words[0], "lot.yaml", *words[1:], cwd=folder, **env)
        assert done.returncode == 0, (words, done.stderr)
    assert "onions" in run("why", "lot.yaml", FAULT, cwd=folder, **env).stdout
    done = run("why", "lot.yaml", "contact_onions_harvest", cwd=folder, **env)
    assert done.returncode == 1
    assert FAULT in done.stderr
    done = run("report", "--html", "page.html", "lot.yaml", cwd=folder, **env)
    assert done.returncode == 0, done.stderr
    assert "tainted by onions" in (folder / "page.html").read_text(encoding="utf-8")


def test_a_case_of_it_is_kept_closed_found_again_and_teaches_no_figure(desk):
    folder, env = desk
    assert run("trace", "lot.yaml", "--keep", "--by", "QA", cwd=folder, **env).returncode == 0
    closed = run("close", "1", "--fault", FAULT, "--how", "record", "--by", "QA", cwd=folder, **env)
    assert closed.returncode == 0, closed.stderr
    wrong = run(
        "close",
        "1",
        "--fault",
        "contact_moonshine_transport",
        "--how",
        "belief",
        "--by",
        "QA",
        cwd=folder,
        **env,
    )
    assert wrong.returncode == 1
    for words in (
        ("cases",),
        ("cases", "common", "--source", FAULT),
        ("cases", "common", "--stage", "transport"),
        ("cases", "learn"),
    ):
        done = run(*words, cwd=folder, **env)
        assert done.returncode == 0, (words, done.stderr)
        assert "Traceback" not in done.stderr


def test_the_page_shows_it_explains_it_prints_it_and_offers_it_at_closing(base, tmp_path):
    from starlette.testclient import TestClient

    from tests.page.conftest import OWN
    from tracer.page.app import application
    from tracer.page.keeping import keep_sheet
    from tracer.page.site import Site

    site = Site(base, tmp_path / "book.sqlite", address="http://testserver")
    number = keep_sheet(site, SHEET, {}, "QA").number
    client = TestClient(application(site), headers=OWN)
    page = client.get(f"/lot/{number}").text
    assert f'value="{FAULT}"' in page
    for address in (f"/lot/{number}/why/{FAULT}", f"/lot/{number}/print"):
        found = client.get(address)
        assert found.status_code == 200, address
        assert "onions" in found.text


def test_the_page_shows_cases_that_read_like_it_and_the_answer_without_them(base, tmp_path):
    from starlette.testclient import TestClient

    from tests.page.conftest import OWN
    from tracer.page.app import application
    from tracer.page.keeping import keep_sheet
    from tracer.page.site import Site

    site = Site(base, tmp_path / "book.sqlite", address="http://testserver")
    number = keep_sheet(site, SHEET, {}, "QA").number
    client = TestClient(application(site), headers=OWN)
    whole, bare = (client.get(f"/lot/{number}{more}").text for more in ("", "?without=precedents"))
    assert "Cases that read like this" in whole
    assert "?without=precedents" in whole
    assert "Published cases are left out here." in bare
    report, other = site.traced(number).report, site.traced(number, cases=False).report
    assert report.stages[0].probability != other.stages[0].probability
