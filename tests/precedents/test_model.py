"""The text model of cases against a general library, and what it may and may not do in a diagnosis."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sklearn.naive_bayes import ComplementNB

from tests.command import run
from tracer.findings.gathered import listener
from tracer.knowledge.shipped import knowledge_folder
from tracer.lots.attached import example_path
from tracer.lots.read import read_lot
from tracer.precedents.model import stages_of
from tracer.precedents.read import for_marks, marks_of
from tracer.precedents.shipped import model_of, readings
from tracer.tracing import prepare, trace


@pytest.fixture(scope="module")
def model(base):
    return model_of(base)


@pytest.mark.parametrize("kind", ["understood", "words"])
def test_scores_are_those_of_complement_naive_bayes(base, model, kind):
    own_weights = getattr(model, kind)
    cases = [case for case in base.precedents.values() if not case.gives_away]
    marks = readings(base)
    rows, labels, weights = [], [], []
    for case in cases:
        for stage in (where := stages_of(case, model.stages)):
            row = np.zeros(len(own_weights.columns))
            row[[own_weights.columns[mark][0] for mark in marks[case.id] if mark in own_weights.columns]] = 1
            rows.append(row)
            labels.append(model.stages.index(stage))
            weights.append(1 / len(where))
    library = ComplementNB(alpha=base.settings.precedents.smoothing).fit(rows, labels, sample_weight=weights)
    for case in cases[::40]:
        own, _ = own_weights.scores(marks[case.id])
        row = np.zeros((1, len(own_weights.columns)))
        row[0, [own_weights.columns[mark][0] for mark in marks[case.id] if mark in own_weights.columns]] = 1
        theirs = library.predict_joint_log_proba(row)[0]
        assert own - own.max() == pytest.approx(theirs - theirs.max(), abs=1e-9)


def test_every_case_was_read_and_a_few_read_anew_come_out_the_same(base):
    kept = readings(base)
    more = for_marks(base)
    ready = listener(more)
    assert set(kept) == set(base.precedents)
    for case in list(base.precedents.values())[::90]:
        assert set(marks_of(case, more, ready)) == kept[case.id], case.id


def test_the_lean_of_cases_is_bounded_and_nothing_known_leans_nowhere(base, model):
    law = base.settings.precedents
    for case in list(base.precedents.values())[::60]:
        leaning = model.leaning(readings(base)[case.id], law)
        assert all(np.exp(-law.cap) - 1e-9 <= one <= np.exp(law.cap) + 1e-9 for one in leaning.values())
    assert model.leaning((), law) == pytest.approx(dict.fromkeys(model.stages, 1.0))


def test_cases_left_out_with_their_group_are_not_in_the_model(base):
    case = next(iter(base.precedents.values()))
    assert case.id not in model_of(base, (case.group,)).cases


def test_a_lot_reads_most_like_itself(base, model):
    marks = readings(base)
    for case in list(base.precedents.values())[::50]:
        alike = model.alike(marks[case.id], 3)
        if len(marks[case.id] & model.rare.keys()) > 4:
            assert alike[0].likeness == pytest.approx(1.0)
            assert all(set(one.shared) <= marks[case.id] for one in alike)


def test_no_figure_word_or_rule_of_the_knowledge_names_a_case(base):
    for path in knowledge_folder().rglob("*.yaml"):
        if path.parent.name != "precedents":
            named = re.findall(r"\bcase_[a-z]\w*", path.read_text(encoding="utf-8"))
            assert not set(named) & set(base.precedents), path


def test_a_lot_is_traced_with_cases_beside_it_and_without_them(base, ready):
    lot, _ = read_lot(example_path("past_crop"), base)
    told, alone = trace(lot, base, ready), trace(lot, base, prepare(base, precedents=False))
    assert told.alike
    assert all(line.source and line.fault and line.shared for line in told.alike)
    assert not alone.alike
    assert any(weight.kind == "cases" for weight in told.sources[0].weights)
    assert not any(weight.kind == "cases" for source in alone.sources for weight in source.weights)
    assert all(source.low - 1e-9 <= source.probability <= source.high + 1e-9 for source in told.sources)


def test_a_part_that_there_is_not_cannot_be_left_out():
    done = run("trace", "--example", "container_damp", "--without", "precedent")
    assert done.returncode == 1
    assert "did you mean precedents" in done.stderr.lower().replace("'", "")
    assert "Traceback" not in done.stderr


def test_the_cases_can_be_left_out_of_many_lots_too(tmp_path):
    lots = tmp_path / "lots"
    lots.mkdir()
    (lots / "a.yaml").write_text(
        example_path("quarrelling_tasters").read_text(encoding="utf-8"), encoding="utf-8"
    )
    both = [run("trace", str(lots), *words).stdout for words in ((), ("--without", "precedents"))]
    assert both[0] != both[1]
    refused = run("trace", str(lots), "--without", "precidents")
    assert refused.returncode == 1
    assert "Did you mean 'precedents'?" in refused.stderr
