"""The desk: lots are found by any word, lists are true after an answer, an answer can be taken back, a lot comes in by a form."""

from __future__ import annotations

import csv
import html
import io
import re
import zipfile

import pytest

from tests.command import run as tracer
from tests.page.conftest import at_once, example
from tracer.casebook import cases
from tracer.casebook.desk import Wanted, catch_up, find
from tracer.casebook.file import opened
from tracer.casebook.tasting import sheet_values
from tracer.lots.read import parse_lot
from tracer.tracing import trace

SHEET = """lot: NEN-120
exporter: Altura Verde
origin: Nariño
process: washed
custody: {transport: KLMU 204417-3}
clocks: [{what: quality claim, clause: section 12, days: 30, from: 2026-11-20}]
cuppings: [{on: 2026-11-20, sample: arrival, cups: 5, tasters: [{taster: Ana, notes: [{note: musty, cups: 3}]}]}]
"""


def kept(leader, sheet=SHEET, **more):
    answer = leader.post("/lots/text", data={"sheet": sheet, **more})
    assert answer.status_code == 200, shown(answer.text)
    return int(str(answer.url).rsplit("/", 1)[1])


def shown(text):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", text)))


def listed(leader, **asked):
    page = leader.get("/lots", params=asked).text
    return [int(number) for number in re.findall(r'class="lot" href="/lot/(\d+)"', page)]


def first_ask(site, number):
    return site.traced(number).report.asks[0]


@pytest.mark.parametrize(
    "words",
    ["Altura Verde", "altura", "nen-120", "NEN", "narino", "Nariño", "204417", "musty", "musty altura"],
)
def test_a_lot_is_found_by_any_word_of_it_whatever_its_case_or_accents(leader, words):
    number = kept(leader)
    kept(leader, "lot: OTH-1\ncuppings: [{cups: 5, tasters: [{taster: Bui, notes: [rancid]}]}]\n")
    assert listed(leader, q=words) == [number]


def test_a_lot_is_found_by_its_note_in_the_reader_s_language(leader):
    number = kept(leader)
    for language, word in (("es", "humedad"), ("pt", "bafio")):
        page = leader.get("/lots", params={"q": word}, headers={"accept-language": language}).text
        assert f'href="/lot/{number}"' in page
    assert listed(leader, q="zzzz") == []
    assert "No lot has all of these words" in leader.get("/lots?q=zzzz").text


def test_filters_keep_open_held_due_and_closed_apart(leader, site):
    due = kept(leader)
    stop = kept(leader, "lot: P\ncuppings: [{cups: 5, tasters: [{taster: Ana, notes: [petrol]}]}]\n")
    assert set(listed(leader, state="due")) == {due}
    assert stop in listed(leader, state="held")
    leader.post(f"/lot/{due}/close", data={"fault": "none", "how": "record", "by": "QA"})
    assert listed(leader, state="closed") == [due]
    assert listed(leader, state="open") == [stop]
    assert listed(leader, state="due") == []
    assert "Closed" in leader.get(f"/lot/{due}").text.split('class="answer"')[0]


def test_sorting_by_exporter_puts_lots_without_one_last(leader):
    bare = kept(leader, "lot: A\ncuppings: [{cups: 5, tasters: [{taster: Bui, notes: [rancid]}]}]\n")
    named = kept(leader)
    assert listed(leader, sort="exporter") == [named, bare]
    assert listed(leader, sort="newest") == [named, bare]
    assert listed(leader, sort="lot") == [bare, named]


def test_lists_say_what_the_case_says_after_an_answer(leader, site):
    number = example(leader, "container_damp")
    ask = first_ask(site, number)
    for answer in ask.answers:
        leader.post(f"/lot/{number}/answer", data={"question": ask.id, "answer": answer.answer, "by": "QA"})
        report = site.traced(number).report
        line = find(site.book, Wanted(examples=True)).lines[0]
        assert (line.stage, line.source) == (report.stages[0].stage, report.sources[0].fault)
        assert line.stage_probability == pytest.approx(report.stages[0].probability, abs=1e-5)
        assert line.probability == pytest.approx(report.sources[0].probability, abs=1e-5)
        one = cases.cases(site.book)[0]
        assert (one.source, one.probability) == (line.source, line.probability)


def test_an_answer_is_chosen_by_the_reader_and_what_it_moved_is_told(leader, site):
    number = kept(leader)
    ask = first_ask(site, number)
    page = leader.get(f"/lot/{number}").text
    assert '<select name="answer" required><option value="">' in page
    before = site.traced(number).report
    telling = max(ask.answers, key=lambda one: abs(one.top_stage_probability - before.stages[0].probability))
    said = {"question": ask.id, "answer": telling.answer, "by": "QA"}
    page = shown(leader.post(f"/lot/{number}/answer", data=said).text)
    after = site.traced(number).report
    first = before.sources[0]
    now = next((s.probability for s in after.sources if s.fault == first.fault), None)
    assert now is None or f"{first.label} : {first.probability:.2f} → {now:.2f}".replace(" :", ":") in page


def test_an_answer_taken_back_leaves_the_lot_as_it_was_and_stays_in_the_history(leader, site):
    number = kept(leader)
    before = site.traced(number).report
    ask = first_ask(site, number)
    said = {"question": ask.id, "answer": ask.answers[0].answer, "by": "QA"}
    leader.post(f"/lot/{number}/answer", data=said)
    assert leader.post(f"/lot/{number}/answer/back", data={"question": ask.id, "by": ""}).status_code == 422
    page = leader.post(f"/lot/{number}/answer/back", data={"question": ask.id, "by": "QA"})
    assert page.status_code == 200
    assert "taken back" in page.text
    after = site.traced(number).report
    assert [(s.fault, s.probability) for s in after.sources] == [
        (s.fault, s.probability) for s in before.sources
    ]
    assert ask.id in [one.id for one in after.asks]
    assert len(cases.whole(site.book, number).received) == 2
    again = leader.post(f"/lot/{number}/answer/back", data={"question": ask.id, "by": "QA"})
    assert again.status_code == 422
    corrected = kept(leader, SHEET + "species: arabica\n", replaces=str(number))
    assert cases.whole(site.book, corrected).received == ()


def test_the_command_line_takes_an_answer_back_too(tmp_path):
    tracer("trace", "--example", "container_damp", "--keep", "--by", "QA")
    tracer("answer", "1", "test_smell_green=nothing", "--by", "QA")
    back = tracer("answer", "1", "test_smell_green", "--take-back", "--by", "QA")
    assert back.returncode == 0, back.stderr
    assert "taken back" in back.stdout
    assert "taken back" in tracer("cases", "show", "1").stdout
    again = tracer("answer", "1", "test_smell_green", "--take-back", "--by", "QA")
    assert again.returncode == 1
    assert "no answer received" in again.stderr


def test_an_old_case_leads_to_the_new_one_and_back(leader):
    old = kept(leader)
    new = kept(leader, SHEET + "species: arabica\n", replaces=str(old))
    assert f'href="/lot/{new}"' in leader.get(f"/lot/{old}").text.split('class="answer"')[0]
    assert f'href="/lot/{old}"' in leader.get(f"/lot/{new}").text
    assert listed(leader) == [new]
    assert listed(leader, state="replaced") == [old]


def test_examples_stand_apart_and_can_be_thrown_away(leader, site):
    own, tried = kept(leader), example(leader)
    assert listed(leader) == [own]
    assert listed(leader, examples="1") == [tried]
    assert f'href="/lot/{tried}"' not in leader.get("/").text
    assert leader.post("/lots/examples/away").status_code == 200
    assert listed(leader, examples="1") == []
    assert listed(leader) == [own]


def test_a_pasted_message_counts_only_where_it_is_ticked(leader, site, base):
    text = "The container arrived with wet walls. We cupped 5 cups and found mould in 3 cups. Kind regards."
    sent = {"lot": "KAR-7", "exporter": "Altura Verde", "message": text, "by": "QA"}
    page = leader.post("/lots/new", data=sent).text
    assert cases.count(site.book) == 0
    assert "checked" not in page
    sure = re.sub(r"(?s)<details.*?</details>", "", page)
    marks = dict(
        (html.unescape(re.sub(r"<[^>]+>", "", told)).strip(), mark)
        for mark, told in re.findall(r'name="mark" value="(\w+)"><span>(.*?)</span></label>', sure)
    )
    mouldy = next(mark for told, mark in marks.items() if "Mouldy" in told)
    refused = leader.post("/lots/new", data={**sent, "step": "keep"})
    assert refused.status_code == 422
    assert text in html.unescape(refused.text)
    taken = leader.post("/lots/new", data={**sent, "step": "keep", "mark": mouldy})
    assert taken.status_code == 200, shown(taken.text)
    assert [note.descriptor for note in site.traced(1).report.notes] == ["mouldy"]
    sheet = sheet_values(cases.whole(site.book, 1).sheet)
    assert sheet["exporter"] == "Altura Verde"
    assert [one["text"] for one in sheet["said"]][2].startswith("Kind regards")
    assert [bool(one["confirmed"]) for one in sheet["said"]] == [False, True, False]


def test_a_lot_filled_in_by_hand_is_the_lot_of_the_same_sheet(leader, site, base):
    form = {
        "lot": "KAR-8", "exporter": "Serra Mansa", "process": "washed", "taster": "Ana", "on": "2026-11-20", "sample": "arrival", "cups": "5",
        "note": ["musty", "moho fuerte", ""], "note_cups": ["2", "", ""], "note_strength": ["slight", "", ""], "by": "QA",
    }  # fmt: skip
    answer = leader.post("/lots/new", data=form)
    assert answer.status_code == 200, shown(answer.text)
    lot, issues = parse_lot(
        "{lot: KAR-8, exporter: Serra Mansa, process: washed, cuppings: [{on: 2026-11-20, sample: arrival, cups: 5, tasters: [{taster: Ana,"
        " notes: [{note: musty, cups: 2, intensity: slight}, moho fuerte]}]}]}",
        "lot.yaml",
        base,
    )
    assert lot, issues
    one = {source.fault: source.probability for source in trace(lot, base).sources}
    assert {source.fault: source.probability for source in site.traced(1).report.sources} == one


def test_what_is_wrong_is_told_in_the_form_with_all_that_was_written(leader, site):
    form = {"lot": "KAR-9", "note": ["musty"], "note_cups": ["9"], "note_strength": [""], "cups": "5"}
    answer = leader.post("/lots/new", data=form)
    assert answer.status_code == 422
    assert 'value="musty"' in answer.text
    assert "lot.yaml" not in answer.text
    empty = leader.post("/lots/new", data={"lot": "", "message": ""})
    assert empty.status_code == 422
    assert cases.count(site.book) == 0


def test_what_is_taken_away_is_what_was_kept(leader, site):
    number = kept(leader)
    assert leader.get(f"/lot/{number}/sheet.yaml").text.strip() == SHEET.strip()
    rows = list(csv.DictReader(io.StringIO(leader.get(f"/lot/{number}/report.csv").text.lstrip("\ufeff"))))
    report = site.traced(number).report
    assert [row["id"] for row in rows if row["kind"] == "source"] == [s.fault for s in report.sources]
    rows = list(csv.DictReader(io.StringIO(leader.get("/lots.csv?q=altura").text.lstrip("\ufeff"))))
    assert [(row["lot"], row["exporter"]) for row in rows] == [("NEN-120", "Altura Verde")]
    logged = example(leader, "log_sea_passage")
    with zipfile.ZipFile(io.BytesIO(leader.get(f"/lot/{logged}/sheet.zip").content)) as taken:
        assert set(taken.namelist()) == {"lot.yaml", *cases.whole(site.book, logged).files}


def test_a_cell_of_a_list_runs_nothing(leader):
    kept(leader, SHEET.replace("NEN-120", "'=1+1'"))
    assert ",'=1+1," in leader.get("/lots.csv").text


def test_blank_sheet_and_table_are_read_back_without_a_fault(leader, base):
    assert leader.get("/lots/blank.yaml").text.startswith("#")
    table = leader.get("/lots/cuppings.csv").content
    head = {"lot": "BLK-1", "sample": "arrival", "cups": "5"}
    answer = leader.post("/lots/table/upload", data=head, files={"files": ("cups.csv", table)})
    assert answer.status_code == 200, shown(answer.text)


def test_the_headline_has_no_ids_and_no_bits_and_says_hold_once(leader, site):
    number = example(leader)
    page = leader.get(f"/lot/{number}").text
    report = site.traced(number).report
    answer = page[page.index('class="answer"') : page.index("</table>")]
    assert not [ask.id for ask in report.asks if ask.id in answer]
    assert "bits" not in page
    texts = {one.text for one in report.cautions if one.level == "hold"}
    assert texts
    assert all(html.unescape(page).count(text) == 1 for text in texts)


def test_a_printed_page_carries_lot_and_exporter_at_the_top_of_each(leader):
    page = leader.get(f"/lot/{kept(leader)}/print").text
    head = page[page.index('<table class="paper"') : page.index("</thead>")]
    assert "NEN-120" in head
    assert "Altura Verde" in head


def test_lists_catch_up_with_cases_that_were_kept_without_a_line(leader, site):
    numbers = [kept(leader), kept(leader, SHEET.replace("NEN-120", "NEN-121"))]
    with opened(site.book, write=True) as book:
        book.execute("DELETE FROM standing")
    assert sorted(listed(leader)) == numbers
    catch_up(site.book)
    with opened(site.book) as book:
        assert book.execute("SELECT count(*) FROM standing").fetchone()[0] == 2


@pytest.mark.parametrize(
    ("term", "language", "leads_to"),
    [
        ("container sweat", "en", "container_condensation"),
        ("musti", "en", "musty"),
        ("wodoy", "en", "woody"),
        ("humedad", "es", "musty"),
    ],
)
def test_a_chain_is_found_by_a_part_of_its_name_or_nearly_its_name(leader, term, language, leads_to):
    page = leader.get("/chains", params={"term": term}, headers={"accept-language": language})
    assert page.status_code == 200
    assert f"term={leads_to}" in page.text or f"note={leads_to}" in page.text
    assert "solvent" not in shown(page.text.split("<h2")[0]).lower()
    assert '<datalist id="terms">' in page.text


def test_the_same_sheet_sent_twice_is_kept_once_and_the_page_says_so(leader, site):
    number = kept(leader)
    again = leader.post("/lots/text", data={"sheet": SHEET})
    assert str(again.url).endswith(f"/lot/{number}?already=1")
    assert "This very sheet was kept already" in shown(again.text)
    form = {
        "lot": "TWO-1",
        "note": "musty",
        "note_cups": "",
        "note_strength": "",
        "on": "2026-03-09",
        "step": "keep",
    }
    first, second = (leader.post("/lots/new", data={**form, "by": "QA"}) for _ in range(2))
    assert "This very sheet was kept already" not in shown(first.text)
    assert "This very sheet was kept already" in shown(second.text)
    assert [one.lot for one in cases.cases(site.book)] == ["NEN-120", "TWO-1"]


def test_another_sheet_of_a_lot_is_named_on_its_page_with_how_a_lot_is_corrected(leader):
    first = kept(leader)
    assert "Other sheets of this lot" not in shown(leader.get(f"/lot/{first}").text)
    second = kept(leader, SHEET.replace("cups: 3", "cups: 4"), stands=f"another:{first}")
    page = leader.get(f"/lot/{second}").text
    assert "Other sheets of this lot are kept" in shown(page)
    assert f'href="/lot/{first}"' in page
    assert "mend it there" in shown(page)
    third = kept(leader, SHEET.replace("cups: 3", "cups: 5"), replaces=str(first))
    assert f'href="/lot/{first}"' not in leader.get(f"/lot/{second}").text.split("mend it there")[0]
    assert f'href="/lot/{third}"' in leader.get(f"/lot/{second}").text


def test_the_same_sheet_sent_by_two_at_once_is_kept_once(leader, site):
    at_once(lambda _: kept_text(leader), 3)
    assert len(cases.cases(site.book)) == 1


def kept_text(leader):
    assert leader.post("/lots/text", data={"sheet": SHEET}).status_code == 200
