"""What the pages show is the report and nothing else; what they take is what the command line takes."""

from __future__ import annotations

import datetime
import html
import json
import re

import pytest

from tests.command import run as tracer
from tests.page.conftest import example
from tests.workbook import workbook
from tracer.casebook import cases, tables
from tracer.casebook.answers import with_answers
from tracer.casebook.tasting import sheet_text, sheet_values
from tracer.lots.attached import example_path
from tracer.lots.read import read_lot
from tracer.page.messages import LANGUAGES, catalogue
from tracer.tracing import trace

PAGES = (
    "/",
    "/lots",
    "/table/new",
    "/join",
    "/chains",
    "/chains?term=musty",
    "/chains?term=tca",
    "/chains?term=transport",
    "/chains?term=container_sweat",
    "/chains?term=zzzz",
    "/panel",
    "/card",
    "/card?note=potato",
    "/card?note=petrol",
    "/card?note=nonsense",
    "/drill",
    "/drill?person=Ana",
    "/nowhere",
)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("path", PAGES)
def test_every_page_answers_in_every_language(leader, path, language):
    answer = leader.get(path, headers={"accept-language": language})
    assert answer.status_code in (200, 404, 422)
    assert f'<html lang="{language}">' in answer.text
    assert answer.text.count("<h1") == 1
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert "style=" not in answer.text


@pytest.mark.parametrize(
    "part", ["", "/letter?by=2026-12-20", "/print", "/sheet", "/known", "/log", "/why/container_condensation"]
)
def test_every_page_of_a_lot_answers(leader, base, part):
    number = example(leader, "log_sea_passage")
    assert leader.get(f"/lot/{number}{part}").status_code == 200


def shown(text):
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


def test_the_answer_is_that_of_the_command_line(leader, base):
    number = example(leader)
    lot, _ = read_lot(example_path("container_damp"), base)
    report = trace(lot, base)
    page = shown(leader.get(f"/lot/{number}").text)
    assert report.verdict_text in page
    for source in report.sources:
        assert re.search(
            rf"{re.escape(source.label)}\s+{base.stages[source.stage].label}\s+{source.probability:.2f}", page
        )
    for stage in report.stages:
        assert re.search(rf"{stage.label}\s+{stage.probability:.2f}\s+{re.escape(stage.ask_of)}", page)
    assert f"{report.none_of_these:.2f}" in page


def test_stages_stand_in_the_order_of_the_chain(leader, base):
    page = leader.get(f"/lot/{example(leader)}").text
    chain = page[page.index('<ol class="chain">') : page.index("</ol>", page.index('<ol class="chain">'))]
    places = [chain.index(f">{stage.label}<") for stage in base.stages.values()]
    assert places == sorted(places)


def test_what_if_is_the_trace_of_the_lot_with_that_answer_and_keeps_nothing(leader, site, base):
    number = example(leader)
    lot, _ = read_lot(example_path("container_damp"), base)
    question = trace(lot, base).asks[0]
    answer = question.answers[-1].answer
    supposed = trace(with_answers(lot, [cases.Received("", "", question.id, answer, "")], base), base)
    page = shown(leader.get(f"/lot/{number}?if={question.id}:{answer}").text)
    assert supposed.verdict_text in page
    assert f"{supposed.sources[0].label} {supposed.sources[0].probability:.2f}" in page
    assert cases.whole(site.book, number).received == ()


def test_an_answer_recorded_moves_the_lot_and_a_closing_stands(leader, site, base):
    number = example(leader)
    enquiry = next(iter(site.traced(number).report.asks))
    sent = {"question": enquiry.id, "answer": enquiry.answers[0].answer, "by": "QA", "note": "by mail"}
    assert leader.post(f"/lot/{number}/answer", data=sent).status_code == 200
    assert [(r.enquiry, r.by) for r in cases.whole(site.book, number).received] == [(enquiry.id, "QA")]
    closing = {"fault": "not_found", "how": "belief", "by": "QA"}
    assert leader.post(f"/lot/{number}/close", data=closing).status_code == 200
    assert cases.whole(site.book, number).case.closed == "not_found"
    assert leader.post(f"/lot/{number}/answer", data={**sent, "by": ""}).status_code == 422
    assert (
        leader.post(f"/lot/{number}/close", data={"fault": "x", "how": "y", "by": ""}).text.count("<code>")
        == 3
    )


def test_the_letter_is_that_of_the_command_line(leader):
    number = example(leader)
    page = leader.get(f"/lot/{number}/letter?by=2026-12-20&language=es&sender=QA").text
    letter = html.unescape(re.search(r'<textarea id="letter"[^>]*>(.*?)</textarea>', page, re.DOTALL)[1])
    told = tracer(
        "letter", "--example", "container_damp", "--by", "2026-12-20", "--language", "es", "--sender", "QA"
    )
    assert letter.strip() == told.stdout.strip()


def test_the_print_view_is_that_of_the_command_line(leader, tmp_path):
    number = example(leader)
    tracer("report", "--example", "container_damp", "--html", str(tmp_path / "lot.html"))
    shown_page = leader.get(f"/lot/{number}/print").text
    page_alone = re.sub(r'<nav class="bar-above">.*?</script>', "", shown_page, flags=re.DOTALL)
    written = (tmp_path / "lot.html").read_text()
    assert page_alone == re.sub(r"<meta http-equiv=.*?>", "", written)
    assert written == leader.get(f"/lot/{number}/report.html").text


def test_errors_of_a_sheet_are_those_of_the_command_line(leader, tmp_path, site):
    sheet = "lot: A\nprocess: wet\nhistory:\n  transport: {moisture_now: 112 %}\ncuppings: 7\n"
    path = tmp_path / "lot.yaml"
    path.write_text(sheet)
    told = tracer("check", str(path)).stderr
    answer = leader.post("/lots/upload", files=[("files", ("lot.yaml", sheet))])
    assert answer.status_code == 422
    page = shown(answer.text)
    lines = [line for line in told.splitlines() if "error:" in line]
    assert lines
    for line in lines:
        place, _, message = line.removeprefix(f"{tmp_path}/").partition(" error: ")
        assert place.rstrip(":") in page
        assert message in page
    assert cases.count(site.book) == 0


def test_a_sheet_sent_by_hand_comes_back_whole_with_its_errors(leader):
    sheet = "lot: A\nprocess: wet   # my remark\n"
    answer = leader.post("/lots/text", data={"sheet": sheet, "lot": "A"})
    assert answer.status_code == 422
    assert "# my remark" in answer.text


def test_a_correction_replaces_a_case_and_takes_over_files_and_answers(leader, site):
    number = example(leader, "log_sea_passage")
    asked = site.traced(number).report.asks[0]
    leader.post(
        f"/lot/{number}/answer", data={"question": asked.id, "answer": asked.answers[0].answer, "by": "QA"}
    )
    kept = cases.whole(site.book, number)
    answer = leader.post(
        "/lots/text", data={"sheet": kept.sheet + "\nexporter: Someone\n", "replaces": str(number)}
    )
    assert answer.status_code == 200
    new = cases.whole(site.book, int(str(answer.url).rsplit("/", 1)[1]))
    assert new.files == kept.files
    assert [(r.enquiry, r.answer) for r in new.received] == [(asked.id, asked.answers[0].answer)]
    assert cases.whole(site.book, number).case.replaced


def test_what_is_known_goes_into_the_sheet_and_only_that_moves(leader, site, base):
    number = example(leader)
    before = sheet_values(cases.whole(site.book, number).sheet)
    page = leader.get(f"/lot/{number}/known").text
    fields = {
        name: html.unescape(value)
        for name, value in re.findall(r'<input name="([^"]+)" value="([^"]*)"', page)
    }
    assert any(name.startswith("record:") for name in fields)
    record = next(
        r
        for r in base.records.values()
        if r.section == "history" and r.stage == "drying" and r.kind == "number"
    )
    low, high = record.possible
    answer = leader.post(
        f"/lot/{number}/known", data={f"record:{record.id}": f"{(low + high) / 2:g}", "exporter": "Someone"}
    )
    assert answer.status_code == 200, shown(answer.text)
    after = sheet_values(cases.whole(site.book, number + 1).sheet)
    assert after["history"]["drying"].pop(record.id) == f"{(low + high) / 2:g}"
    assert after.pop("exporter") == "Someone"
    after["history"] = {stage: values for stage, values in after["history"].items() if values}
    assert after == before


def test_cupping_tables_come_as_csv_or_workbook_and_join_a_kept_lot(leader, site):
    rows = [["taster", "note", "cups", "of"], ["Ana", "musty", 2, 5]]
    csv = "\n".join(",".join(map(str, row)) for row in rows).encode()
    head = {"lot": "KAR-1", "on": "2026-03-09", "sample": "arrival", "cups": "5"}
    first = leader.post("/lots/table/upload", data=head, files={"files": ("cups.csv", csv)})
    assert first.status_code == 200, shown(first.text)
    assert "Musty" in first.text
    head = {"case": "1", "on": "2026-03-11", "sample": "arrival", "cups": "5"}
    second = leader.post("/lots/table/upload", data=head, files={"files": ("cups.csv", workbook(rows))})
    assert second.status_code == 200, shown(second.text)
    lot = site.traced(2).lot
    assert [str(cupping.on) for cupping in lot.cuppings] == ["2026-03-09", "2026-03-11"]
    assert set(cases.whole(site.book, 2).files) == {"cups.csv", "cups-2.csv"}


def test_a_logger_file_is_looked_at_confirmed_and_counts(leader, site):
    number = example(leader)
    start = datetime.datetime(2026, 1, 4)
    rows = [
        f"{start + datetime.timedelta(hours=hour)},{25 - hour % 9},{60 + hour % 20}" for hour in range(300)
    ]
    log = ("\n".join(["Time,Temp C,RH %", *rows])).encode()
    looked = leader.post(f"/lot/{number}/log", data={"step": "look"}, files={"files": ("sea.csv", log)})
    assert looked.status_code == 200
    assert "300 rows" in looked.text
    confirmed = {
        "step": "add", "stage": "transport", "where": "air", "time": "Time", "temperature": "Temp C", "humidity": "RH %",
        "degrees": "C", "dates": "year_first", "decimal": "point",
    }  # fmt: skip
    read = leader.post(
        f"/lot/{number}/log", data={**confirmed, "step": "read"}, files={"files": ("sea.csv", log)}
    )
    assert read.status_code == 200
    assert "2026-01-04 00:00 to 2026-01-16 11:00" in read.text
    assert "<svg" in read.text
    assert 'value="add"' in read.text
    assert cases.count(site.book) == number, "shown, and not kept"
    added = leader.post(f"/lot/{number}/log", data=confirmed, files={"files": ("sea.csv", log)})
    assert added.status_code == 200, shown(added.text)
    assert [log.file for log in site.traced(number + 1).lot.logs] == ["sea.csv"]
    wrong = leader.post(
        f"/lot/{number}/log", data={**confirmed, "temperature": "Tmp"}, files={"files": ("sea.csv", log)}
    )
    assert wrong.status_code == 422
    assert "has no column" in shown(wrong.text)
    swapped = (
        "\n".join(
            [
                "Time,Temp C",
                *(f"{day:02d}/{month:02d}/2026 08:00,20" for month in (1, 2) for day in range(1, 29)),
            ]
        )
    ).encode()
    read = leader.post(
        f"/lot/{number}/log",
        data={**confirmed, "step": "read", "humidity": "", "dates": "month_first"},
        files={"files": ("swapped.csv", swapped)},
    )
    assert "could not be used" in read.text, "a wrong order of day and month is seen before anything is kept"
    assert re.search(r"rows, [^;]+; (5[0-9]) % could", read.text)
    assert 'value="month_first" selected' in read.text, "what was chosen stays chosen"
    assert (
        leader.post(f"/lot/{number}/log", data={"step": "look"}, files={"files": ("a.csv", b"x")}).status_code
        == 422
    )


def test_the_panel_is_scored_on_the_page_and_weighs_in_the_next_trace(leader, site, tmp_path):
    tracer(
        "panel",
        "set",
        "--note",
        "musty@3",
        "--note",
        "potato@3",
        "--taster",
        "Ana",
        "--out",
        str(tmp_path / "s"),
        "--repeats",
        "1",
    )
    key, answers = (tmp_path / "s" / "key.csv").read_bytes(), (tmp_path / "s" / "answers.csv").read_text()
    lines = answers.splitlines()
    filled = "\n".join([lines[0], *(line.replace(",,", ",musty,", 1) for line in lines[1:])])
    sent = leader.post(
        "/panel/score",
        data={"on": "2026-11-20", "name": "week 12", "by": "QA"},
        files={"key": ("key.csv", key), "answers": ("answers.csv", filled.encode())},
    )
    assert sent.status_code == 200, shown(sent.text)
    assert "Ana" not in leader.get("/panel").text, "a score is seen before it is kept"
    again = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', sent.text))
    assert again["step"] == "keep"
    kept = leader.post("/panel/score", data=again, files={"none": ("none", b"")})
    assert kept.status_code == 200, shown(kept.text)
    assert "Ana" in leader.get("/panel").text
    twice = leader.post("/panel/score", data=again, files={"none": ("none", b"")})
    assert twice.status_code == 422
    bad = leader.post("/panel/score", data={"on": "x"}, files={"key": ("key.csv", b"a")})
    assert bad.status_code == 422


@pytest.mark.parametrize("kind", ["", "case"])
def test_a_drill_answer_is_kept_once_and_told(leader, site, kind):
    from tracer.casebook.sessions import drills

    before = len(drills(site.book, "Ana"))
    page = leader.get(f"/drill?person=Ana&kind={kind}").text
    card = re.search(r'name="card" value="([^"]+)"', page)[1]
    choice = html.unescape(re.search(r'name="choice" value="([^"]+)"', page)[1])
    answer = leader.post(
        "/drill", data={"person": "Ana", "card": html.unescape(card), "choice": choice, "kind": kind}
    )
    assert answer.status_code == 200
    leader.get(str(answer.url))
    assert len(drills(site.book, "Ana")) == before + 1
    assert leader.post("/drill", data={"person": "Ana", "card": "no", "choice": "x"}).status_code == 422


def test_a_card_that_stops_tasting_is_refused_with_its_reasons(leader):
    page = shown(leader.get("/card?note=petrol").text)
    assert "no reference is prepared" in page
    assert "Not prepared" in page
    assert "BEFORE YOU BEGIN" in shown(leader.get("/card?note=potato").text)


def test_two_tasters_are_blind_until_the_reveal_and_the_lot_is_traced_from_their_words(browser, site):
    leader, ana, bui = browser(), browser(), browser()
    sent = {"lot": "KAR-9", "on": "2026-11-25", "cups": "5", "sample": "arrival", "process": "washed"}
    code = str(leader.post("/table/new", data=sent).url).rsplit("/", 1)[1]
    for client, name, words in ((ana, "Ana", "moho"), (bui, "Bui", "mouldy")):
        assert (
            client.post("/join", data={"code": code.lower(), "taster": name, "language": ""}).status_code
            == 200
        )
        tasted = {"notes": [{"words": words, "means": "mouldy", "cups": [1, 2]}], "done": True}
        kept = client.post(f"/table/{code}/mine", json={"revision": 1, "tasted": tasted})
        assert kept.json() == {"revision": 1, "late": False}
    assert "moho" not in leader.get(f"/table/{code}").text
    data = re.search(r'id="data">(.*?)</script>', bui.get(f"/table/{code}/taste").text, re.DOTALL)[1]
    assert "moho" not in str(json.loads(data)["samples"])
    assert bui.get(f"/table/{code}/all").status_code == 422
    assert leader.post(f"/table/{code}/reveal").status_code == 200
    assert "moho" in bui.get(f"/table/{code}/all").text
    sheet = html.unescape(
        re.search(r"<textarea[^>]*>(.*?)</textarea>", leader.get(f"/table/{code}/sheet").text, re.DOTALL)[1]
    )
    assert sheet_values(sheet)["cuppings"][0]["tasters"][1] == {
        "taster": "Bui",
        "notes": [{"note": "mouldy", "cups": [1, 2]}],
    }
    kept = leader.post("/lots/text", data={"sheet": sheet, "code": code, "lot": "KAR-9"})
    assert kept.status_code == 200
    assert tables.table(site.book, code).case == 1
    assert [note.cups for note in site.traced(1).report.notes] == ["4 of 10 cups, 2 tasters"]
    again = leader.get(f"/table/{code}/sheet?add=1").text
    assert (
        len(
            sheet_values(html.unescape(re.search(r"<textarea[^>]*>(.*?)</textarea>", again, re.DOTALL)[1]))[
                "cuppings"
            ]
        )
        == 2
    )


def test_an_open_word_is_settled_on_the_page_with_the_taster_s_own_word_kept(leader, site):
    sheet = """
lot: A
cuppings:
  - cups: 5
    tasters:
      - {taster: Ana, notes: [musty, {note: moho, cups: 2}], not_found: [zzqq]}
      - taster: Bui
        notes:
          - moho
          - note: zzqqx
            cups: 1
"""
    leader.post("/lots/text", data={"sheet": sheet})
    for number in range(1, 5):
        word = site.traced(number).report.unmatched_words[0]
        assert word.place in leader.get(f"/lot/{number}").text
        answer = leader.post(f"/lot/{number}/settle", data={"place": word.place, "means": "mouldy"})
        assert answer.status_code == 200, shown(answer.text)
    report = site.traced(5).report
    assert not report.unmatched_words
    cups = {note.descriptor: note.cups for note in report.notes}
    assert cups == {"musty": cups["musty"], "mouldy": "3 of 10 cups, 2 tasters"}
    kept = sheet_values(cases.whole(site.book, 5).sheet)["cuppings"][0]["tasters"]
    assert kept[0]["notes"] == ["musty", {"note": "moho", "cups": 2, "means": "mouldy"}]
    assert kept[1]["notes"] == [
        {"note": "moho", "means": "mouldy"},
        {"note": "zzqqx", "cups": 1, "means": "mouldy"},
    ]
    for wrong in (
        {"place": "lot.yaml:1:1", "means": "mouldy"},
        {"place": "x", "means": "mouldy"},
        {"place": "lot.yaml:3:3", "means": "no"},
    ):
        assert leader.post("/lot/5/settle", data=wrong).status_code == 422


def test_words_are_read_by_the_matcher_of_the_lot_sheet(leader):
    found = leader.get(
        "/words", params={"text": "no earthy, slight phenolic in all cups, moho, mustty"}
    ).json()
    assert [(r["means"], r["found"], r["outcome"]) for r in found] == [
        ("earthy", False, "matched"),
        ("phenolic", True, "matched"),
        (None, True, "ambiguous"),
        ("musty", True, "misspelt"),
    ]
    assert found[1]["intensity"] == "slight"
    assert found[1]["cups"] == -1
    assert {one["id"] for one in found[2]["candidates"]} >= {"mouldy"}
    assert found[2]["ask"]


@pytest.mark.slow
def test_a_trace_on_the_page_with_eight_findings_is_made_anew_and_shown(leader, site, base):
    number = example(leader, "log_sea_passage")
    words = ["musty", "earthy", "baggy", "phenolic", "woody", "smoky", "sour", "rancid"]
    data = sheet_values(cases.whole(site.book, number).sheet)
    data["cuppings"] = [
        {
            "cups": 5,
            "sample": "arrival",
            "tasters": [{"taster": "Ana", "notes": [{"note": w, "cups": 2} for w in words]}],
        }
    ]
    answer = leader.post("/lots/text", data={"sheet": sheet_text(data), "replaces": str(number)})
    number = int(str(answer.url).rsplit("/", 1)[1])
    report = site.traced(number).report
    assert len(report.notes) == 8
    site._reports.clear()
    assert leader.get(f"/lot/{number}").status_code == 200


FAMILIES = (
    "to_",
    "sample_",
    "process_",
    "how_",
    "where_",
    "channel_",
    "dates_",
    "decimal_",
    "drill_",
    "kind_",
    "sort_",
    "state_",
    "badge_",
    "section_",
    "column_",
    "is_",
    "group_",
)
"""Messages whose key is put together from a choice."""


def test_the_catalogue_speaks_every_language_and_holds_what_is_used_and_nothing_else():
    from pathlib import Path

    from tracer.page import tasters

    folder = Path(tasters.__file__).parent
    used = set(tasters.SAID_BY_SCRIPT)
    for path in (*folder.glob("templates/*.html"), *folder.glob("*.py")):
        used |= set(re.findall(r"[\"']([a-z0-9_]+)[\"']", path.read_text(encoding="utf-8")))
    known = catalogue()
    assert all(set(texts) == set(LANGUAGES) for texts in known.values())
    assert not [key for key in known if key not in used and not key.startswith(FAMILIES)]
    asked = {
        key
        for path in folder.glob("templates/*.html")
        for key in re.findall(r"\bt\(\s*[\"']([a-z0-9_]+)[\"']\s*[,)]", path.read_text(encoding="utf-8"))
    }
    assert not asked - set(known)


@pytest.mark.parametrize("key", sorted(catalogue()))
def test_a_message_takes_the_same_values_in_every_language(key):
    fields = {frozenset(re.findall(r"\{(\w+)\}", text)) for text in catalogue()[key].values()}
    assert len(fields) == 1


def test_the_causes_stand_as_a_tree_of_text_where_the_picture_does_not_fit(leader, site):
    number = example(leader)
    page = leader.get(f"/lot/{number}").text
    tree = page[page.index('class="branches narrow"') :]
    tree = tree[: tree.index('class="whys"')]
    links = re.findall(r'href="#(why-[^"]+)"', tree)
    drawn = re.findall(r'href="#(why-[^"]+)" class="node', page)
    assert set(links) == set(drawn)
    assert links[0].startswith("why-stage-")
    first = site.traced(number).report.sources[0]
    assert tree.index(f"why-fault-{first.fault}") > tree.index(f"why-stage-{first.stage}")
