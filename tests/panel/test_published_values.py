"""Every check value of checks.yaml, each with its source beside it there."""

from __future__ import annotations

from itertools import pairwise, product
from pathlib import Path
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
import yaml

from tracer.knowledge.load import load_or_fail
from tracer.panel import (
    agreement,
    discrimination,
    drift,
    order,
    pooling,
    recognition,
    thresholds,
    weighing,
)
from tracer.panel.discrimination import METHODS, Method
from tracer.rate import Rate

FOLDER = Path(__file__).parent
CHECKS = {
    check["id"]: check for check in yaml.safe_load((FOLDER / "checks.yaml").read_text(encoding="utf-8"))
}
LISTED = yaml.safe_load((FOLDER / "flavourings.yaml").read_text(encoding="utf-8"))
NAMES = {
    "triangle": "triangle",
    "3-AFC": "three_afc",
    "2-AFC": "paired",
    "duo-trio": "duo_trio",
    "tetrad": "tetrad",
    "2-of-5": "two_of_five",
}


def fraction(text: Any) -> float:
    top, _, bottom = str(text).partition("/")
    return float(top) / float(bottom or 1)


def guessing(inputs: dict[str, Any]) -> Method:
    if inputs.get("test") in NAMES:
        return METHODS[NAMES[inputs["test"]]]
    return Method("any", "", fraction(inputs["guess"]), "")


def of(method: str) -> list[Any]:
    return [pytest.param(check, id=check["id"]) for check in CHECKS.values() if check["method"] == method]


def near(found: Any, check: dict[str, Any], expected: Any = None) -> None:
    expected = check["expected"] if expected is None else expected
    assert found == pytest.approx(expected, abs=check["tolerance"] + 1e-12), check["source"]


@pytest.mark.parametrize("check", of("critical_number"))
def test_critical_numbers_are_those_of_the_printed_tables(check):
    inputs = check["inputs"]
    if "alphas" not in inputs:
        assert (
            discrimination.critical_number(inputs["n"], guessing(inputs), inputs["alpha"])
            == check["expected"]
        )
        return
    method = {
        "crit-half-two-sided": METHODS["paired_two_sided"],
        "crit-half": METHODS["duo_trio"],
        "crit-tenth": METHODS["two_of_five"],
    }.get(check["id"], METHODS["triangle"])
    for trials, row in check["expected"].items():
        found = [discrimination.critical_number(int(trials), method, alpha) for alpha in inputs["alphas"]]
        assert found == row, (trials, check["source"])


@pytest.mark.parametrize("check", of("exact_p"))
def test_exact_tail_probabilities(check):
    if check["id"] == "two-stage-triangle":
        near([discrimination.at_least(15, 30, 1 / 3), discrimination.at_least(11, 17, 1 / 3)], check)
        return
    near(
        discrimination.at_least(
            check["inputs"]["correct"], check["inputs"]["n"], fraction(check["inputs"]["guess"])
        ),
        check,
    )


@pytest.mark.parametrize("check", of("power_exact"))
def test_power_is_exact(check):
    inputs, method = check["inputs"], guessing(check["inputs"])
    right = (
        discrimination.right_by_share(inputs["pd"], method)
        if "pd" in inputs
        else discrimination.right_by_distance(inputs["dprime"], method)
    )
    near(discrimination.power(inputs["n"], method, right, inputs["alpha"]), check)


@pytest.mark.slow
@pytest.mark.parametrize("check", of("sample_size_first"))
def test_the_trials_needed_are_the_first_that_reach_the_power(check):
    inputs = check["inputs"]
    if check["id"] in ("n-triangle-pd", "n-duotrio-pd"):
        method = METHODS["triangle" if "triangle" in check["id"] else "duo_trio"]
        cases = [
            (method, discrimination.right_by_share(float(share), method), power, wanted)
            for share, row in check["expected"].items()
            for power, wanted in zip((0.8, 0.9, 0.95), row, strict=True)
        ]
    elif check["id"] == "n-dprime-table":
        cases = [
            (
                METHODS[NAMES[test]],
                discrimination.right_by_distance(float(d), METHODS[NAMES[test]]),
                power,
                wanted,
            )
            for test, rows in check["expected"].items()
            for d, row in rows.items()
            for power, wanted in zip((0.8, 0.9), row, strict=True)
        ]
    else:
        method = guessing(inputs)
        right = (
            discrimination.right_by_share(inputs["pd"], method)
            if "pd" in inputs
            else discrimination.right_by_distance(inputs["dprime"], method)
        )
        cases = [(method, right, inputs["power"], check["expected"])]
    for method, right, power, wanted in cases:
        found = discrimination.trials_needed(method, right, power, inputs["alpha"])
        assert found is not None
        if isinstance(wanted, dict):
            assert found == (wanted["first"], wanted["stable"]), check["source"]
        else:
            assert found[0] == wanted, (method.id, power, check["source"])


@pytest.mark.parametrize("check", of("pc_from_dprime"))
def test_the_psychometric_functions(check):
    if check["id"] != "psyfun-grid":
        near(
            discrimination.right_by_distance(
                check["inputs"]["dprime"], METHODS[NAMES[check["inputs"]["test"]]]
            ),
            check,
        )
        return
    for test, row in check["expected"].items():
        if test in NAMES and test != "2-of-5":  # no distance is defined here for it
            found = [
                discrimination.right_by_distance(d, METHODS[NAMES[test]]) for d in check["inputs"]["dprime"]
            ]
            assert found == pytest.approx(row, abs=1e-4)


def test_distances_from_right_answers():
    check = CHECKS["psyinv-tetrad-.8"]
    near(discrimination.distance(0.8, METHODS["tetrad"]), check)
    check = CHECKS["rescale-triangle-pd.2"]
    right = discrimination.right_by_share(0.2, METHODS["triangle"])
    assert right == pytest.approx(check["expected"]["pc"], abs=1e-6)
    # The printed value comes from a root finder that stops within 2e-5.
    assert discrimination.distance(right, METHODS["triangle"]) == pytest.approx(
        check["expected"]["dprime"], abs=2e-5
    )
    check = CHECKS["rescale-triangle-d.9"]
    near(
        discrimination.share_who_tell(
            discrimination.right_by_distance(0.9, METHODS["triangle"]), METHODS["triangle"]
        ),
        check,
    )
    check = CHECKS["rescale-tetrad-pd"]
    found = [
        discrimination.distance(discrimination.right_by_share(share, METHODS["tetrad"]), METHODS["tetrad"])
        for share in (0.6, 0.7)
    ]
    near(found, check)


@pytest.mark.parametrize("check", of("dprime_and_se"))
def test_distance_and_its_error(check):
    inputs, method = check["inputs"], METHODS[NAMES[check["inputs"]["test"]]]
    near(discrimination.distance(inputs["correct"] / inputs["n"], method), check, check["expected"]["dprime"])
    near(
        discrimination.distance_error(inputs["correct"], inputs["n"], method), check, check["expected"]["se"]
    )


def test_exact_intervals_and_similarity():
    check = CHECKS["exact-ci-10of15"]
    low, high = Rate(10, 6).quantile(0.025), Rate(11, 5).quantile(0.975)
    near([low, high], check, check["expected"]["pc"])
    method = METHODS["three_afc"]
    near(
        [discrimination.share_who_tell(low, method), discrimination.share_who_tell(high, method)],
        check,
        check["expected"]["pd"],
    )
    distances = [discrimination.distance(low, method), discrimination.distance(high, method)]
    assert distances == pytest.approx(check["expected"]["dprime_3afc"], abs=2e-5)  # the same root finder
    check = CHECKS["similarity-3afc"]
    near(discrimination.similarity(4, 15, method, 0.2), check, check["expected"]["p"])
    check = CHECKS["ci-9of12"]
    near(
        [Rate(9, 4).quantile(0.025), Rate(10, 3).quantile(0.975)], check, check["expected"]["clopper_pearson"]
    )
    near(list(Rate(9.5, 3.5).interval(0.95)), check, check["expected"]["jeffreys"])


def test_best_estimate_thresholds_of_a_published_exercise():
    check = CHECKS["bet-six-assessors"]
    found = thresholds.group_threshold(
        check["inputs"]["concentrations_g_per_L"],
        {k: [bool(x) for x in v] for k, v in check["inputs"]["answers"].items()},
    )
    for taster, value in check["expected"]["individual"].items():
        near(found.individual[taster], check, value)
    near(found.group, check, check["expected"]["group"])
    near(found.spread, check, check["expected"]["sd_log10_n_minus_1"])
    assert found.at_the_ends == ("A4",)


def test_series_runs_and_detection():
    check = CHECKS["series-factor3"]
    near(sorted(thresholds.series(40.5, 3, 6), reverse=True), check)
    check = CHECKS["guess-streak"]
    near([discrimination.at_least(k, k, 1 / 3) for k in check["inputs"]["k"]], check)
    check = CHECKS["two-thirds"]
    near(discrimination.right_by_share(0.5, METHODS["three_afc"]), check)


def counted(inputs: dict[str, Any]) -> recognition.Counts:
    return recognition.Counts(
        inputs["hits"], inputs["signal"] - inputs["hits"], inputs["fa"], inputs["noise"] - inputs["fa"]
    )


@pytest.mark.parametrize("check", of("dprime_raw"))
def test_sensitivity_without_correction(check):
    inputs, expected = check["inputs"], check["expected"]
    hit, false_alarm = inputs["hits"] / inputs["signal"], inputs["fa"] / inputs["noise"]
    near(recognition.sensitivity(hit, false_alarm), check, expected["dprime"])
    if "zH" in expected:
        near(
            [NormalDist().inv_cdf(hit), NormalDist().inv_cdf(false_alarm)],
            check,
            [expected["zH"], expected["zF"]],
        )
    if "c" in expected:
        near(recognition.criterion(hit, false_alarm), check, expected["c"])


@pytest.mark.parametrize("check", of("dprime_loglinear"))
def test_sensitivity_after_the_loglinear_correction(check):
    expected = check["expected"]
    hit, false_alarm = recognition.loglinear(counted(check["inputs"]))
    near(recognition.sensitivity(hit, false_alarm), check, expected["dprime"])
    if "H" in expected:
        near([hit, false_alarm], check, [expected["H"], expected["F"]])
    if "c" in expected:
        near(recognition.criterion(hit, false_alarm), check, expected["c"])


def test_recognition_summaries():
    check = CHECKS["pass-rule-oc"]
    for rule, row in check["expected"].items():
        needed, cups = map(int, rule.split("/"))
        near([recognition.passes((needed, cups), p) for p in (0.5, 0.6, 0.7, 0.8, 0.9)], check, row)
    check = CHECKS["report-lr"]
    for case, ratios in check["expected"].items():
        hits, alarms = case.split(",")
        hit, alarm = (
            Rate(0.5, 0.5).after(int(x.split("/")[0]), int(x.split("/")[1])).mean for x in (hits, alarms)
        )
        near([hit / alarm, (1 - hit) / (1 - alarm)], check, ratios)


@pytest.mark.parametrize("check", of("krippendorff_alpha"))
def test_alpha_of_published_examples(check):
    table, expected = check["inputs"]["observers_x_units"], check["expected"]
    if not isinstance(expected, dict):
        near(agreement.krippendorff(table), check)
        return
    for level in ("nominal", "ordinal", "interval"):
        near(agreement.krippendorff(table, level), check, expected[level])


def test_tails_and_averages_over_time():
    check = CHECKS["p-chart-12"]
    near([drift.lower_tail(x, 12, 0.75) for x in check["inputs"]["x"]], check)
    check = CHECKS["half-life"]
    near([drift.recall(t, 60) for t in (30, 90)], check, check["expected"]["recall"])


def test_williams_square_equals_a_published_one_and_is_balanced():
    assert [list(row) for row in order.williams(6)] == CHECKS["williams-6"]["expected"]
    check = CHECKS["williams-properties"]
    for index, n in enumerate(check["inputs"]["n"]):
        rows = order.williams(n)
        assert len(rows) == check["expected"]["sequences"][index]
        follows = [pair for row in rows for pair in pairwise(row)]
        assert {follows.count(pair) for pair in product(range(1, n + 1), repeat=2) if pair[0] != pair[1]} == {
            check["expected"]["each_ordered_pair"][index]
        }
        for place in range(n):
            column = [row[place] for row in rows]
            assert {column.count(one) for one in range(1, n + 1)} == {
                check["expected"]["each_position"][index]
            }


def test_dawid_skene_on_the_data_of_1979():
    # Also the converged result of crowd-kit 1.4.2, DawidSkene(n_iter=300, tol=-1e9); its default call stops too early.
    check = CHECKS["dawid-skene-1979"]
    data = check["inputs"]["data_by_patient"]
    votes = np.zeros((len(data), 5, 4))
    for i, row in enumerate(data.values()):
        for k, marks in enumerate(row):
            for mark in str(marks):
                votes[i, k, int(mark) - 1] += 1
    fit = pooling.dawid_skene(votes)
    near(list(fit.shares), check, check["expected"]["class_marginals"])
    assert fit.log_likelihood == pytest.approx(check["expected"]["log_likelihood"], abs=1e-4)
    for k in range(5):
        near(
            fit.confusion[k].ravel().tolist(),
            check,
            np.ravel(check["expected"]["error_rates_true_by_reported"][f"observer_{k + 1}"]).tolist(),
        )


def caries() -> np.ndarray:
    patterns = list(product((0, 1), repeat=5))
    rows = []
    for pattern, count in zip(patterns, CHECKS["caries-two-class"]["inputs"]["counts"], strict=True):
        rows += [pattern] * count
    return np.eye(2)[np.array(rows)]


def test_dawid_skene_on_five_dentists():
    check = CHECKS["caries-two-class"]
    fit = pooling.dawid_skene(caries())
    near(fit.shares[1], check, check["expected"]["prevalence"])
    near(fit.confusion[:, 1, 1].tolist(), check, check["expected"]["sensitivity"])
    near(fit.confusion[:, 0, 1].tolist(), check, check["expected"]["false_positive"])
    assert fit.log_likelihood == pytest.approx(check["expected"]["log_likelihood"], abs=1e-4)


def test_priors_keep_a_tiny_panel_from_certainty():
    check = CHECKS["tiny-panel"]
    votes = np.eye(2)[np.array(check["inputs"]["lots_x_tasters"])]
    bare = pooling.dawid_skene(votes)
    assert bare.lots[:, 1] == pytest.approx(check["expected"]["ml_posterior"], abs=1e-3)
    prior = np.tile(np.array([[9.0, 2.0], [3.0, 8.0]]), (4, 1, 1))
    fit = pooling.dawid_skene(votes, (2.0, 2.0), prior)
    assert ((fit.lots > 0.0001) & (fit.lots < 0.9999)).all()
    assert fit.lots[:, 1] == pytest.approx(check["expected"]["map_posterior"], abs=0.02)
    assert pooling.enough(votes)


def test_rates_are_updated_as_beta_laws():
    check = CHECKS["beta-update"]
    for case, expected in check["expected"].items():
        prior, counts = case.split(";")
        a, b = map(float, prior.split(","))
        k, n = map(int, counts.split("/"))
        rate = Rate(a, b).after(k, n)
        near(rate.mean, check, expected["mean"])
        near(list(rate.interval()), check, expected["ci90"])


def test_weighing_and_diluting():
    stock = weighing.Stock(10, 0.98, 100)
    near(stock.strength, CHECKS["stock-1"], CHECKS["stock-1"]["expected"]["ug_per_mL"])
    check = CHECKS["aliquot-ug"]
    near(1000 * 2.5 * 3 * 1 / stock.strength, check, check["expected"]["aliquot_uL"])
    check = CHECKS["uncertainty"]
    given = check["inputs"]
    parts = [
        given["balance_mg"][0] / given["balance_mg"][1],
        given["flask_mL"][0] / given["flask_mL"][1],
        *given["pipettes"],
        given["final_flask"][0] / given["final_flask"][1],
    ]
    near(weighing.relative_error(parts), check)
    check = CHECKS["aliquot-ng"]
    third = stock.strength / 1000 / 100
    near(1000 * third, check, check["expected"]["stock3_ng_per_mL"])
    near(0.004 * 3 / third, check, check["expected"]["aliquot_mL"])


def test_every_check_here_is_used():
    text = Path(__file__).read_text(encoding="utf-8")
    for check in CHECKS.values():
        assert (
            f'"{check["id"]}"' in text
            or f'of("{check["method"]}")' in text
            or check["id"] in ("units", "caries-label-switch")
        ), check["id"]


def test_no_substance_outside_the_inventory_is_called_food_grade():
    base = load_or_fail()
    listed = {row["cas"]: row["listed"] for row in LISTED}
    for compound in base.compounds.values():
        if compound.handling.startswith("food_grade") and listed.get(compound.cas) is False:
            pytest.fail(f"{compound.id} is called {compound.handling}, but is not on the inventory")
