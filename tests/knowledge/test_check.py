"""The check of the knowledge: one bad entry for each thing that can be wrong, told with its place and mend."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from tracer.inference.chain import one_table
from tracer.inference.density import density_issues, largest_tables
from tracer.issues import has_errors
from tracer.knowledge.cache import load_cached
from tracer.knowledge.check import check, counts
from tracer.knowledge.citations import older_priors
from tracer.knowledge.load import load, load_or_fail
from tracer.knowledge.scale import prior
from tracer.knowledge.shipped import knowledge_folder
from tracer.words.kept import vocabulary_of
from tracer.words.reading import read_words

FAULT = """
- id: zz_new
  label: made up
  stage: drying
  definition: A made-up fault.
  prior: {band: rare, basis: judgement}
  causes:
    - {compound: mould_volatiles, spread: patches, strength: {band: often, basis: judgement}}
"""
RULE = """
- id: zz_rule
  label: a made-up rule
  when: {all: [{record: layer, above: 4}]}
  then:
    - {favours: rewetting, strength: {band: weakly_for, basis: judgement}}
  because: A reason.
"""
MEMBER = """
- id: zz_member
  label: made-up member
  part_of: tca
  chemical_class: made up
  survives_roasting: unknown
  handling: never_prepare
"""
PHRASE = """
- id: said_zz
  record: rain_on_coffee
  value: 'yes'
  words: {en: [[zzrain]]}
  example: {en: It was zzrain.}
"""


def test_a_figure_of_a_house_that_says_not_what_it_is_a_share_of_keeps_its_meaning_and_is_told(tmp_path):
    (tmp_path / "faults").mkdir()
    (tmp_path / "faults" / "own.yaml").write_text(
        "- change: rewetting\n  prior: {low: 0.01, best: 0.03, high: 0.1, basis: casebook}\n  by: QA\n  on: 2026-01-01\n  why: own cases\n"
    )
    base = load_or_fail(houses=[tmp_path])
    assert prior(base.faults["rewetting"], base.settings).best == pytest.approx(0.03)
    [told] = [one for one in older_priors(base) if "rewetting" in one.message]
    assert told.level == "note"
    assert not list(older_priors(load_or_fail())), "every shipped figure says what it is a share of"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(knowledge_folder(), tmp_path / "knowledge")
    return tmp_path / "knowledge"


def told(folder: Path) -> str:
    base, issues = load(folder)
    issues = [*issues, *(check(base) if base else [])]
    return "\n".join(str(issue) for issue in issues if issue.level == "error")


def test_the_shipped_knowledge_has_no_errors(base):
    assert not has_errors(check(base))


@pytest.mark.parametrize(
    ("file", "text", "message", "mend"),
    [
        ("faults/zz.yaml", FAULT.replace("label:", "labl:"), "a fault has no field 'labl' here", "Did you mean 'label'?"),
        ("faults/zz.yaml", FAULT.replace("  definition: A made-up fault.\n", ""), "the field 'definition' is missing", "FIELDS.md"),
        ("faults/zz.yaml", FAULT.replace("zz_new", "Zz New"), "an id is lower-case", "FIELDS.md"),
        ("faults/zz.yaml", FAULT.replace("zz_new", "rewetting"), "the id 'rewetting' is taken at", "unique over all kinds"),
        ("faults/zz.yaml", FAULT.replace("mould_volatiles", "mould_volatile"), "not defined in compounds", "Did you mean 'mould_volatiles'?"),
        ("faults/zz.yaml", FAULT.replace("mould_volatiles", "octenol"), "a member of the group", "Link to 'mould_volatiles'."),
        ("faults/zz.yaml", FAULT.replace("band: often", "band: oftne"), "'oftne', which is not defined in link_bands", "Did you mean 'often'?"),
        ("faults/zz.yaml", FAULT.replace("basis: judgement}}", "basis: study}}"), "basis study and no citation", "Cite the source"),
        ("faults/zz.yaml", FAULT.replace(", basis: judgement}}", "}}"), "a figure needs its basis", ""),
        ("faults/zz.yaml", FAULT.replace("band: often", "low: 0.5"), "low and high come together", ""),
        ("faults/zz.yaml", FAULT, "no rule or question bears on 'zz_new' by name", "Add one"),
        ("faults/zz.yaml", "faults: []", "a knowledge file is a list", "- id:"),
        ("compounds/zz.yaml", MEMBER, "but its group 'tca' only smell_only", "on the group"),
        ("phrases/zz.yaml", PHRASE.replace("rain_on_coffee", "rain_on_cofee"), "not defined in records", "Did you mean 'rain_on_coffee'?"),
        ("phrases/zz.yaml", PHRASE.replace("  value: 'yes'\n", ""), "give value: what it says, or takes", ""),
        ("rules/zz.yaml", RULE.replace("favours: rewetting, strength: {band: weakly_for, basis: judgement}", "warns: x, favours: rewetting"), "exactly one of", ""),
        ("faultz/zz.yaml", FAULT, "'faultz' is no kind of knowledge", "Did you mean 'faults'?"),
        ("rules/zz.yaml", RULE.replace("record: layer", "record: layr"), "not defined in records", "Did you mean 'layer'?"),
        ("rules/zz.yaml", RULE.replace("above: 4", ""), "a record needs a test", ""),
        ("rules/zz.yaml", RULE.replace("{record: layer, above: 4}", "{finding: nowhere}"), "not defined in findings", ""),
        ("rules/zz.yaml", RULE.replace("favours: rewetting", "favours: rewetting, shows: rewetting"), "give exactly one of", ""),
        (
            "rules/zz.yaml",
            RULE.replace("{record: layer, above: 4}", "{finding: zz_b}").replace("- {favours: rewetting, strength: {band: weakly_for, basis: judgement}}", "- {concludes: zz_a}")
            + RULE.replace("zz_rule", "zz_rule_2").replace("{record: layer, above: 4}", "{finding: zz_a}").replace("- {favours: rewetting, strength: {band: weakly_for, basis: judgement}}", "- {concludes: zz_b}"),
            "a ring: ",
            "Break it",
        ),
        (
            "descriptors/zz.yaml",
            "- id: zz_note\n  label: x\n  group: unspecific\n  modality: [aroma]\n  definition: x\n  words: {en: [musty]}\n",
            "'musty' (en) is claimed by",
            "List it in ambiguities/",
        ),
        (
            "descriptors/zz.yaml",
            "- id: zz_note\n  label: x\n  group: unspecific\n  modality: [aroma]\n  definition: x\n  words: {en: [zzword]}\n",
            "nothing evokes 'zz_note'",
            "evokes",
        ),
    ],
)  # fmt: skip
def test_a_bad_entry_is_told_with_its_place_and_mend(folder, file, text, message, mend):
    path = folder / file
    path.parent.mkdir(exist_ok=True)
    path.write_text(text.lstrip())
    found = told(folder)
    assert message in found
    assert mend in found
    assert f"{path}:" in found or "taken at" in found


def test_faults_that_nothing_tells_apart_are_named(folder):
    twin = FAULT.replace("zz_new", "zz_twin")
    (folder / "faults" / "zz.yaml").write_text((FAULT + twin).lstrip())
    assert "nothing distinguishes 'zz_new' from 'zz_twin'" in told(folder)


def test_all_problems_are_told_at_once(folder):
    (folder / "faults" / "zz.yaml").write_text(FAULT.replace("label:", "labl:").lstrip())
    (folder / "rules" / "zz.yaml").write_text(RULE.replace("above: 4", "").lstrip())
    found = told(folder)
    assert "labl" in found
    assert "a record needs a test" in found


def test_a_fault_without_a_golden_lot_is_warned_of(folder):
    (folder / "faults" / "zz.yaml").write_text(FAULT.lstrip())
    base, _ = load(folder)
    assert any("zz_new' has no golden scenario" in str(issue) for issue in check(base))


def test_a_golden_lot_that_is_not_there_is_an_error_with_the_near_one(folder):
    (folder / "faults" / "zz.yaml").write_text((FAULT + "  golden: [slow_drying_mold]\n").lstrip())
    found = told(folder)
    assert "the fault 'zz_new' names the golden lot 'slow_drying_mold', which is not there" in found
    assert "slow_drying_mould" in found


def test_a_house_keeps_its_golden_lots_beside_its_faults(folder):
    (folder / "faults" / "zz.yaml").write_text((FAULT + "  golden: [zz_lot]\n").lstrip())
    (folder.parent / "scenarios").mkdir()
    (folder.parent / "scenarios" / "zz_lot.yaml").write_text("lot: ZZ\n")
    assert "zz_lot" not in told(folder)


def test_nobody_counts_by_judgement_and_a_leak_is_cited_like_any_figure(folder):
    counted = RULE.replace("band: weakly_for", "count: 3/9")
    (folder / "rules" / "zz.yaml").write_text(counted.lstrip())
    assert "'zz_rule' has the count 3/9 with basis judgement" in told(folder)
    sign = "shows: rewetting, leak: {count: 3/9, basis: study}, strength: {band: often, basis: judgement}"
    leak = RULE.replace("favours: rewetting, strength: {band: weakly_for, basis: judgement}", sign)
    (folder / "rules" / "zz.yaml").write_text(leak.lstrip())
    assert "'zz_rule' has a figure with basis study and no citation" in told(folder)


def test_a_question_whose_answers_do_not_sum_to_one_is_told_the_sum(folder):
    path = folder / "enquiries" / "drying.yaml"
    text = path.read_text(encoding="utf-8")
    one = "otherwise: {raised: 0.05, not_raised: 0.95}"
    assert one in text
    path.write_text(text.replace(one, "otherwise: {raised: 0.05, not_raised: 0.9}", 1), encoding="utf-8")
    assert "`otherwise` must be above 0 for each answer and sum to 1, not 0.95" in told(folder)


def test_a_question_by_letter_without_words_in_a_language_is_warned_of(base):
    asked = next(one for one in base.enquiries.values() if one.kind == "question" and one.ask_of == "carrier")
    bare = asked.model_copy(update={"in_words": {"es": "x"}})
    found = check(replace(base, enquiries={**base.enquiries, asked.id: bare}))
    assert [one.message for one in found if one.level == "warning"] == [
        f"'{asked.id}' has no `in_words` in fr, pt"
    ]


def test_citations_of_texts_that_were_read_without_a_place_in_them_are_one_note(base):
    (note,) = [one for one in check(base) if "do not say where in the text" in one.message]
    assert note.level == "note"


def test_the_readme_says_truly_how_many_rules_and_faults_name_a_source(base):
    def cited(entries):
        return sum(bool(one.cites) for one in entries.values()) / len(entries)

    assert 0.70 < cited(base.faults) < 0.82, "three of four faults"
    assert 0.42 < cited(base.rules) < 0.50, "nearly half of the rules"


def test_the_density_guard_refuses_nothing_of_the_shipped_knowledge_and_warns_of_a_tangle(base, ready):
    network = ready.plan.of(one_table(base)).network
    assert {issue.level for issue in density_issues(network, base.settings.limits.largest_table)} <= {
        "warning"
    }
    (tangle,) = density_issues(network, 5.0)
    assert tangle.level == "warning"
    assert max(largest_tables(network, draws=10)) < 24


def test_the_cache_gives_back_the_same_knowledge(base):
    first, second = load_cached(), load_cached()
    assert first.sha256 == second.sha256 == base.sha256
    assert second.faults == base.faults
    assert second.rules == base.rules
    assert second.descriptors == base.descriptors
    assert second.settings == base.settings
    assert not second.places, "read from the cache"


def test_a_damaged_cache_is_read_over(base, tmp_path, monkeypatch):
    monkeypatch.setenv("TRACER_CACHE_DIR", str(tmp_path))
    load_cached()
    file = next(one for one in tmp_path.glob("*.json") if '"faults"' in one.read_text(encoding="utf-8"))
    file.write_text('{"sha256": "' + base.sha256 + '", "faults": 3}')
    assert load_cached().faults == base.faults


def test_a_cache_that_cannot_be_written_is_no_error(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("x")
    monkeypatch.setenv("TRACER_CACHE_DIR", str(tmp_path / "file" / "below"))
    assert load_cached().faults


def test_counts_name_every_kind(base):
    assert counts(base)["faults"] == len(base.faults)


HOUSE = "- change: rewetting\n  label: wetted again\n  by: a\n  on: 2026-01-01\n  why: own words\n"


def house(tmp_path: Path, name: str, text: str) -> Path:
    folder = tmp_path / name / "faults"
    folder.mkdir(parents=True)
    (folder / "own.yaml").write_text(text)
    return tmp_path / name


def test_a_house_change_keeps_both_places(tmp_path):
    base = load_or_fail(houses=[house(tmp_path, "one", HOUSE)])
    assert base.faults["rewetting"].label == "wetted again"
    (change,) = base.changes
    assert change.shipped.file.endswith("drying.yaml")
    assert change.house.line == 2


def test_two_houses_may_not_change_the_same_field(tmp_path):
    base, issues = load(houses=[house(tmp_path, "one", HOUSE), house(tmp_path, "two", HOUSE)])
    assert base is None
    assert "is changed here and at" in str(issues[0])


def test_a_list_is_extended_and_shortened(tmp_path):
    text = (
        "- change: rewetting\n  remedy: {add: [cup it again]}\n  by: a\n  on: 2026-01-01\n  why: own habit\n"
    )
    base = load_or_fail(houses=[house(tmp_path, "one", text)])
    assert base.faults["rewetting"].remedy[-1] == "cup it again"
    assert len(base.faults["rewetting"].remedy) > 1


def test_a_retired_fault_is_gone_and_its_uses_are_told(tmp_path):
    text = "- retire: rewetting\n  by: a\n  on: 2026-01-01\n  why: never here\n"
    base, _ = load(houses=[house(tmp_path, "one", text)])
    assert base is not None
    assert "rewetting" not in base.faults
    assert any("names 'rewetting', which is not defined" in str(issue) for issue in check(base))


def test_an_overlay_on_an_id_that_is_gone_suggests_one(tmp_path):
    base, issues = load(houses=[house(tmp_path, "one", HOUSE.replace("rewetting", "rewettin"))])
    assert base is None
    assert "Did you mean 'rewetting'?" in str(issues[0])


def test_a_change_that_nobody_signed_is_refused(tmp_path):
    base, issues = load(houses=[house(tmp_path, "one", HOUSE.replace("  by: a\n", ""))])
    assert base is None
    assert "needs by" in str(issues[0])


def test_a_likeness_may_stand_under_two_notes_and_is_then_asked(folder):
    entry = "- {{id: zz_{0}, language: en, note: {0}, words: [zzplace]}}\n"
    (folder / "words" / "zz.yaml").write_text(entry.format("musty") + entry.format("earthy"))
    assert "zzplace" not in told(folder)
    base, _ = load(folder)
    (reading,) = read_words("smells like zzplace", vocabulary_of(base), ("en",))
    assert reading.descriptor is None
    assert set(reading.candidates) == {"musty", "earthy"}
