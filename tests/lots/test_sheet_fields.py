"""Every thing people know has its place on the sheet, is read as meant, and is told where it moves nothing."""

from __future__ import annotations

import json
import re

import pytest

from tests.command import run
from tracer.findings.gathered import gather
from tracer.knowledge.load import load_or_fail
from tracer.knowledge.shipped import knowledge_folder
from tracer.lots.docs import files
from tracer.lots.read import parse_lot
from tracer.tracing import trace

BASE = load_or_fail()
CUPS = """
lot: FLD-1
cuppings:
  - on: 2026-03-09
    sample: arrival
    cups: 5
    tasters: [{taster: first, language: en, notes: [musty]}]
"""


def lot_of(extra: str, cups: str = CUPS):
    lot, issues = parse_lot(cups + extra, "lot.yaml", BASE)
    assert lot is not None, "\n".join(map(str, issues))
    return lot


def errors(extra: str, cups: str = CUPS) -> str:
    _, issues = parse_lot(cups + extra, "lot.yaml", BASE)
    return "\n".join(map(str, issues))


def row(extra: str, name: str):
    return next(one for one in lot_of(extra).records if one.record == name)


@pytest.fixture
def notes_of(tmp_path):
    """The notes of `tracer check` on a sheet."""

    def check(extra: str, cups: str = CUPS) -> str:
        (tmp_path / "lot.yaml").write_text(cups + extra, encoding="utf-8")
        done = run("check", str(tmp_path / "lot.yaml"))
        assert done.returncode == 0, done.stderr
        return done.stdout

    return check


def test_a_pattern_names_each_level_and_its_note():
    lot = lot_of("pattern: {of: musty, bags: outer, containers: 1 of 3, cups: 20 %, tanks: none}\n")
    found = {one.level: (one.share, one.found, one.among, one.of) for one in lot.pattern}
    assert found == {
        "bags": ("outer", None, None, "musty"),
        "containers": ("one", 1, 3, "musty"),
        "cups": ("some", 20, 100, "musty"),
        "tanks": ("none", None, None, "musty"),
    }


@pytest.mark.parametrize("said", ["scattered", "Sporadic", "now and then", "here and there"])
def test_scattered_and_sporadic_are_a_share_of_the_cups_in_a_note_and_in_a_pattern(said, notes_of):
    (found,) = lot_of(f"pattern: {{of: musty, cups: {said}}}\n").pattern
    assert (found.level, found.share) == ("cups", "some")
    cups = CUPS.replace("[musty]", f"[{{note: musty, cups: {said}}}]")
    assert f"'musty' with cups: {said.lower()}" in notes_of("", cups)


def test_several_patterns_may_stand_side_by_side():
    lot = lot_of("pattern:\n  - {of: musty, bags: outer}\n  - {of: smoke, table: all}\n")
    assert [(one.of, one.level) for one in lot.pattern] == [("musty", "bags"), ("smoke", "table")]


def test_a_share_that_cannot_be_is_an_error_with_its_place():
    told = errors("pattern: {containers: 4 of 3, cups: 130 %, bags: sideways}\n")
    assert "4 of 3 cannot be" in told
    assert "130 % cannot be" in told
    assert "'sideways' is no share" in told
    assert told.count("lot.yaml:8:") >= 3


def test_a_contact_is_known_by_its_name_in_other_languages():
    lot = lot_of(
        "contact:\n  - {with: cebolla, stage: transport, how: beside}\n  - {with: purple goo, smell: smoke}\n"
    )
    assert [(one.material, one.smell) for one in lot.contact] == [("onions", None), (None, "smoke")]


def test_a_comparison_says_with_what_and_what_it_shows():
    (one,) = lot_of("comparisons: [{with: other_container, shows: clean, by: the importer}]\n").comparisons
    assert (one.with_, one.shows, one.by) == ("other_container", "clean", "the importer")
    assert "needs with and shows" in errors("comparisons: [{with: other_container}]\n")


@pytest.mark.parametrize(
    ("written", "low", "high", "about"),
    [
        ("36 h", None, None, False),
        ("30 to 40 h", 30, 40, False),
        ("> 30 h", 30, None, False),
        ("up to 2 days", None, 48, False),
        ("about 36 h", 36, 36, True),
        ("no less than 30 h", 30, None, False),
    ],
)
def test_a_row_takes_bounds_ranges_and_about(written, low, high, about):
    amount = row(f"history: {{processing: {{tank_hours: '{written}'}}}}\n", "tank_hours").amount
    if low is None and high is None:
        assert amount is None
        return
    assert amount is not None
    assert (amount.low, amount.high, amount.about) == (low, high, about)


def test_a_count_may_be_told_without_a_figure():
    found = row("green: {mouldy_beans: some}\n", "mouldy_beans")
    assert found.amount is not None
    assert found.amount.word == "some"


def test_witnesses_who_contradict_settle_nothing():
    found = row(
        "history: {drying: {rain_on_coffee: [{value: yes, by: the farm}, {value: no, by: the exporter}]}}\n",
        "rain_on_coffee",
    )
    assert found.value is None
    assert [(one.by, one.written) for one in found.witnesses] == [("the farm", "yes"), ("the exporter", "no")]


def test_witnesses_who_agree_count_once():
    found = row(
        "history: {drying: {rain_on_coffee: [{value: yes, by: the farm}, {value: yes, by: the exporter}]}}\n",
        "rain_on_coffee",
    )
    assert found.value == "yes"


def test_a_duration_follows_from_two_days(ready):
    lot = lot_of("history: {transport: {loaded: 2026-01-10, discharged: 2026-02-19}}\n")
    assert {one.name: one.value for one in gather(lot, BASE, ready).facts}["days_at_sea"] == 40


def test_what_the_laboratory_did_and_did_not_find_is_kept():
    lot = lot_of(
        "laboratory:\n"
        "  - {compound: '2,4,6-trichloroanisole', value: [1, 4], unit: ng/L, matrix: brew, result: raised}\n"
        "  - {compound: geosmin, value: detected, matrix: green}\n"
        "  - {compound: ochratoxin a, value: not detected, matrix: green}\n"
        "  - {compound: unobtainol, value: 4, unit: ug/kg}\n"
    )
    found = [(one.compound, one.result, one.known) for one in lot.laboratory]
    assert found == [
        ("tca", "raised", True),
        ("geosmin", "detected", True),
        ("ota", "below_limit", True),
        ("unobtainol", None, False),
    ]
    assert lot.laboratory[0].amount is not None


def test_several_samples_in_time_keep_their_scores_and_neighbours():
    lot = lot_of(
        "",
        """
lot: TWO-1
cuppings:
  - {on: 2026-01-05, sample: pre_shipment, cups: 5, score: 84, tasters: [{taster: a, language: en, notes: [clean]}]}
  - on: 2026-03-09
    sample: arrival
    bench: second roast
    cups: 5
    score: 79.5
    beside: [{name: LOT-12, notes: [clean]}]
    tasters: [{taster: a, language: en, notes: ['musty cups 2 and 4', {note: smoky, cups: 3}]}]
""",
    )
    assert [one.score for one in lot.cuppings] == [84, 79.5]
    assert lot.cuppings[1].bench == "second roast"
    assert lot.cuppings[1].beside[0].name == "LOT-12"


@pytest.mark.parametrize(
    ("language", "line", "cups"),
    [
        ("en", "earthy cups 2 and 4", (2, 4)),
        ("es", "papa en taza 3", (3,)),
        ("de", "erdig in Tasse 1 und 5", (1, 5)),
        ("pt", "terroso nas xícaras 2 e 3", (2, 3)),
    ],
)
def test_numbers_of_cups_are_read_from_a_line(language, line, cups, base, ready):
    from tracer.words.reading import read_words

    found = read_words(line, ready.vocabulary, (language,))
    assert [one.which for one in found if one.descriptor] == [cups]


def test_check_tells_unknown_ambiguous_corrected_and_foreign_words(notes_of):
    told = notes_of(
        "",
        CUPS.replace("notes: [musty]", "notes: [zorblat, mof, phenollic, bitter, {note: attic}, mohoso]"),
    )
    assert "'zorblat' is no word known here" in told
    assert "'phenollic' is read as" in told
    assert "'bitter' is read by its usual meaning" in told
    assert "'attic' may mean" in told
    assert "'mohoso' may mean" in told
    assert "No word of the taster's language is known here; in Spanish" in told


def test_check_tells_what_will_not_be_weighed_and_what_does_not_go_together(notes_of):
    told = notes_of(
        "declared: [anaerobix]\n"
        "normal: [harvest]\n"
        "remarks: [sample bag torn]\n"
        "contact: [{with: purple goo}]\n"
        "history:\n"
        "  drying: {rain_on_coffee: no}\n"
        "  transport: {loaded: 2099-12-25}\n"
        "laboratory: [{compound: tca, value: 4, unit: zz/L, matrix: brew, result: raised}]\n"
        "said: [{by: the exporter, language: en, text: 'It rained on the parchment twice. The moon was full.'}]\n"
    )
    for wanted in (
        "the style 'anaerobix' is not known here",
        "not weighed: nothing unusual: harvest",
        "not weighed: remark 'sample bag torn'",
        "'purple goo' is no material of the knowledge base",
        "2099-12-25 is still to come",
        "'zz/L' is no unit known here",
        "the sentence 'The moon was full' is read only as text",
        "the sheet says rain_on_coffee: no, but 'It rained on the parchment twice' seems to say yes",
    ):
        assert wanted in told
    assert "0 errors" in told


def test_trace_ends_with_what_was_not_weighed(tmp_path):
    (tmp_path / "lot.yaml").write_text(
        CUPS + "remarks: [sample bag torn]\ncontact: [{with: jute sacks, stage: transport}]\n",
        encoding="utf-8",
    )
    done = run("trace", str(tmp_path / "lot.yaml"))
    told = done.stdout.split("On the sheet, not weighed")[1]
    assert "sample bag torn" in told
    assert "jute sacks" in told
    report = json.loads(run("trace", str(tmp_path / "lot.yaml"), "--json").stdout)
    assert {one["kind"] for one in report["not_weighed"]} >= {"remark", "contact"}


def test_cup_numbers_that_are_read_as_a_count_are_told_and_others_not(base, ready):
    def told(other: str) -> list[str]:
        text = f"lot: A\ncuppings: [{{cups: 20, tasters: [{{taster: a, notes: [{{note: musty, cups: [1]}}]}}, {{taster: b, notes: [{{note: musty, cups: {other}}}]}}]}}]\n"
        sheet, _ = parse_lot(text, "lot.yaml", base)
        return [one.what for one in trace(sheet, base, ready).not_weighed]

    assert told("[1]") == []
    assert told("1") == ["which cups had Musty"]


@pytest.mark.parametrize(
    ("cups", "told"),
    [
        ("all", "all cups, 1 taster"),
        ("2", "2 cups, of how many is not said, 1 taster"),
        ("1 of 6", "1 of 6 cups, 1 taster"),
    ],
)
def test_a_sheet_that_does_not_say_how_many_cups_there_were_is_told_no_number_and_no_share(
    base, ready, cups, told
):
    text = f"lot: A\ncuppings: [{{tasters: [{{taster: a, notes: [{{note: musty, cups: {cups}}}]}}]}}]\n"
    sheet, issues = parse_lot(text, "lot.yaml", base)
    assert sheet, issues
    report = trace(sheet, base, ready)
    assert report.notes[0].cups == told
    said = " ".join(report.sampling)
    if cups != "1 of 6":
        assert "does not say how many cups there were: 5, as usual, are taken" in said
    assert ("stand for a share" in said) == (cups == "1 of 6")


@pytest.mark.parametrize(
    "name", ["4-ethyl-2-methoxyphenol", "2,6-dimethoxyphenol", "syringol", "2-methoxyphenol"]
)
def test_both_names_of_a_compound_s_label_are_known(name):
    (result,) = lot_of(f"laboratory: [{{compound: '{name}', result: raised}}]\n").laboratory
    assert result.known


def test_a_name_with_commas_without_quotes_is_told_to_be_quoted():
    told = errors("laboratory: [{compound: 2,4,6-trichloroanisole, result: raised}]\n")
    assert "Put the whole name in quotes: '2,4,6-trichloroanisole'" in told


@pytest.mark.parametrize(
    ("section", "name", "written", "value"),
    [
        ("history: {transport: {leak_reported: %s}}", "leak_reported", "no", "none"),
        ("green: {damaged_beans: %s}", "damaged_beans", "present", "yes"),
        ("green: {damaged_beans: %s}", "damaged_beans", "some", "yes"),
        ("green: {damaged_beans: %s}", "damaged_beans", "none", "no"),
    ],
)
def test_no_and_present_stand_where_none_and_yes_are_meant(section, name, written, value):
    assert row(section % written + "\n", name).value == value


def test_a_reading_without_a_day_is_told_how_it_is_taken_and_one_of_the_end_not():
    undated = "history: {drying: {readings: [{moisture: 40 %, method: meter}]}}\n"
    assert "so it stands in the order of the sheet" in errors(undated)
    assert errors(undated.replace("40 %", "11 %, at: end")) == ""


def test_an_answer_that_a_row_stands_in_for_is_told_with_that_row(base, ready):
    extra = "history: {origin_storage: {store_humidity: 45 %}}\nanswers: {ask_store: damp}\n"
    report = trace(lot_of(extra), base, ready)
    (answer,) = [one for one in report.not_weighed if one.kind == "answer"]
    assert "45 %" in answer.because
    assert "ask which is right" in answer.because


def test_a_confirmed_id_that_is_no_proposal_is_an_error_with_the_near_one():
    told = errors("said: [{by: a, language: en, text: It rained., confirmed: [said_rain_on_cofee]}]\n")
    assert "'said_rain_on_cofee' is no proposal" in told
    assert "Did you mean 'said_rain_on_coffee'?" in told


def test_the_reference_page_and_the_editor_schema_are_those_of_the_code():
    for path, text in files(knowledge_folder()).items():
        assert path.read_text(encoding="utf-8") == text, "run: python -m tracer.lots.docs"


def test_the_editor_schema_takes_every_shipped_sheet_and_no_wrong_field():
    import yaml

    jsonschema = pytest.importorskip("jsonschema")

    from tracer.knowledge.shipped import scenarios_folder
    from tracer.lots.sheet import schema

    made = json.loads(json.dumps(schema(BASE.stages, BASE.records)))
    judge = jsonschema.Draft202012Validator(made)
    for path in sorted(scenarios_folder().rglob("*.yaml")):
        text = re.sub(r"(?<=[{ ,])on:", "'on':", path.read_text(encoding="utf-8"))
        data = json.loads(json.dumps(yaml.safe_load(text), default=str))
        assert not [error.message for error in judge.iter_errors(data)], path.name
    assert list(judge.iter_errors({"lot": "A", "cupings": []}))
