"""What a hint offers is taken as it is typed, and what was typed is told as it was, in every language of the screens."""

from __future__ import annotations

import re

import pytest

from tests.command import run

SPOKEN = pytest.mark.parametrize("language", ["en", "es", "pt"])
SHEET = """lot: HINT-1
process: {process}
cuppings:
  - on: 2026-03-10
    sample: {sample}
    cups: 5
    tasters:
      - taster: Ana
        language: es
        notes:
          - {{note: caballo, cups: 2, means: {means}}}
"""
SOUND = {"process": "washed", "sample": "arrival", "means": "unknown"}


@pytest.fixture
def told(tmp_path, language):
    """A run in a language over a casebook of its own, and all that it said."""

    def command(*words):
        done = run("--language", language, *words, TRACER_CASEBOOK=str(tmp_path / "casebook.sqlite"))
        return done.stdout + done.stderr

    return command


@pytest.fixture
def sheet(tmp_path):
    """The path of a lot sheet with some of its values changed."""

    def written(**changed):
        text = SHEET.format_map({**SOUND, **changed})
        path = tmp_path / "lot.yaml"
        path.write_text(text.replace(", means: unknown", ""), encoding="utf-8")
        return str(path)

    return written


def offered(text, of):
    """The ids a hint names, of the ids there are."""
    found = [word for word in re.findall(r"\w+", text) if word in set(of)]
    assert found, text
    return dict.fromkeys(found)


@SPOKEN
@pytest.mark.parametrize("field", ["process", "sample"])
def test_every_choice_offered_for_a_field_of_the_sheet_is_taken(told, sheet, field):
    from tracer.lots.form import PROCESSES
    from tracer.lots.form_cupping import SAMPLES

    hint = told("check", sheet(**{field: "flurbish"})).split("flurbish", 1)[1]
    choices = {"process": PROCESSES, "sample": SAMPLES}[field]
    assert set(offered(hint, choices)) == set(choices)
    for one in choices:
        assert f"'{one}'" not in told("check", sheet(**{field: one}))


@SPOKEN
def test_every_meaning_offered_for_a_word_is_taken(told, sheet, base):
    hint = told("check", sheet())
    meanings = [*offered(hint, base.descriptors), *offered(hint, ["innocent"])]
    assert "leathery" in meanings
    for one in meanings:
        assert "'caballo'" not in told("check", sheet(means=one))


@SPOKEN
def test_every_way_to_confirm_and_every_answer_offered_is_taken_and_wrong_ones_stay_as_typed(
    told, sheet, base
):
    from tracer.casebook.cases import HOW

    told("trace", sheet(), "--keep", "--by", "Ana")
    refused = told("close", "1", "--by", "Ana", "--how", "smoke", "--fault", "slow")
    assert "'slow'" in refused
    assert "'smoke'" in refused
    assert set(offered(refused, HOW)) == set(HOW)
    for how in HOW:
        closed = told("close", "1", "--by", "Ana", "--how", how, "--fault", "none", "--again")
        assert "error" not in closed.replace("erro:", "error:"), closed
    question = base.enquiries["test_smell_green"]
    answers = offered(told("answer", "1", f"{question.id}=slow", "--by", "Ana"), question.answers)
    assert set(answers) == set(question.answers)
    for one in answers:
        assert f"'{one}'" not in told("answer", "1", f"{question.id}={one}", "--by", "Ana")


@SPOKEN
def test_every_answer_that_ask_lists_bears_the_id_it_is_given_by(told, sheet, base):
    listed = told("ask", sheet())
    asked = [base.enquiries[one] for one in offered(listed, base.enquiries)]
    for enquiry in asked:
        for answer in enquiry.answers:
            assert f"[{answer}]" in listed


@SPOKEN
def test_every_stage_offered_is_shown(told, base):
    hint = told("show", "flurbish")
    assert set(offered(hint, base.stages)) == set(base.stages)
    for stage in base.stages:
        assert "'" + stage + "'" not in told("show", stage)


@SPOKEN
def test_a_source_is_cited_by_its_name_although_its_name_is_a_word(told):
    assert "buttery" in told("panel", "card", "musty")
