"""The season on the desk is that of the casebook, in the reader's language, to look at, to print and as a table."""

from __future__ import annotations

import csv
import io

from tests.page.conftest import example
from tests.page.test_desk import SHEET
from tracer.page.roles import may


def keep(client, sheet):
    answer = client.post("/lots/text", data={"sheet": sheet})
    assert answer.status_code == 200, answer.text


def test_an_empty_casebook_says_so_and_leads_to_the_first_lot(leader):
    shown = leader.get("/season")
    assert shown.status_code == 200
    assert "No lot was cupped in these days" in shown.text
    assert 'href="/lots/new"' in shown.text


def test_the_season_counts_what_is_kept_and_warns_of_claim_days(leader):
    keep(leader, SHEET)
    keep(leader, SHEET.replace("NEN-120", "NEN-121").replace("2026-11-20", "2026-10-02"))
    shown = leader.get("/season").text
    assert "Altura Verde" in shown
    assert "NEN-120" in shown
    assert "Claim days" in shown
    assert "<svg" in shown, "shares with their intervals"


def test_two_days_part_the_season_and_the_files_hold_the_same_lots(leader):
    keep(leader, SHEET)
    keep(leader, SHEET.replace("NEN-120", "NEN-121").replace("2026-11-20", "2026-10-02"))
    late = "since=2026-11-01&until=2026-11-30"
    rows = list(csv.reader(io.StringIO(leader.get(f"/season.csv?{late}").text.lstrip("\ufeff"))))
    every = list(csv.reader(io.StringIO(leader.get("/season.csv").text.lstrip("\ufeff"))))
    assert (len(rows), len(every)) == (2, 3), "a head, and a row a lot"
    assert "NEN-120" in rows[1]
    printed = leader.get(f"/season.html?{late}")
    assert printed.text.startswith("<!doctype html>")
    assert "NEN-120" in printed.text
    assert "NEN-121" not in printed.text
    assert "attachment" in printed.headers["content-disposition"]


def test_a_day_that_is_none_is_told_in_the_form_and_nothing_is_lost(leader):
    shown = leader.get("/season?since=31.12.2026&until=2026-12-31")
    assert shown.status_code == 422
    assert "is not a day" in shown.text
    assert 'value="2026-12-31"' in shown.text
    assert leader.get("/season.csv?since=soon").status_code == 422


def test_the_season_speaks_the_readers_language(leader):
    keep(leader, SHEET)
    leader.get("/language/es")
    shown = leader.get("/season").text
    assert "Catado desde" in shown
    assert "Claim days" not in shown


def test_what_stands_on_a_sheet_is_shown_as_text(leader):
    keep(leader, SHEET.replace("Altura Verde", "'<script>alert(1)</script>'"))
    assert "<script>alert" not in leader.get("/season").text


def test_whoever_reads_lots_reads_the_season(leader):
    example(leader)
    assert may("reader", "GET", "/season")
    assert may("reader", "GET", "/season.csv")
