"""From firings to findings, and from findings to one ratio for each fault."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.findings.build import band, fact, rule, settings
from tracer.findings.finding import Finding
from tracer.findings.weigh import expected, findings, likelihood_ratios, signs_of

SETTINGS = settings()
STAGES = {"drying": ("slow_drying", "rewetting"), "transport": ("container_damp",)}


def found(rules, *facts) -> tuple[Finding, ...]:
    return findings(rules, facts, lambda stage: STAGES[stage], "plain")


def says(name, **then):
    return rule(name, [{"record": "r", "is": "yes"}], then)


YES = fact("r", "yes")


def ratio_of(rules, fault):
    return likelihood_ratios(found(rules, YES), SETTINGS)[fault]


def test_a_finding_says_what_on_which_facts_and_why():
    (one,) = found([says("damp_log", shows="rewetting", strength=band("often"), leak=band("seldom"))], YES)
    assert (one.rule, one.verb, one.targets, one.group) == ("damp_log", "shows", ("rewetting",), "damp_log")
    assert (one.facts, one.label, one.because) == ((YES,), "damp_log holds", "because of damp_log")


def test_a_stage_is_unfolded_into_its_faults():
    (one,) = found([says("sealed", stage="drying", verb="rules_out")], YES)
    assert (one.verb, one.targets, one.strength) == ("rules_out", ("slow_drying", "rewetting"), None)


def test_a_rule_with_several_conclusions_gives_one_finding_each_and_none_for_a_concluded_name():
    several = rule(
        "several",
        [{"record": "r", "is": "yes"}],
        {"concludes": "wet_spell"},
        {"favours": ["slow_drying", "rewetting"], "strength": band("weakly_for")},
        {"rules_out": "container_damp"},
    )
    assert [(one.verb, one.targets) for one in found([several], YES)] == [
        ("favours", ("slow_drying", "rewetting")),
        ("rules_out", ("container_damp",)),
    ]


def test_circumstances_of_different_groups_multiply():
    both = [says(name, favours="rewetting", strength=band("weakly_for")) for name in ("one", "two")]
    assert ratio_of(both, "rewetting").ratio == pytest.approx((2.25, 4, 9))


def test_the_ratio_of_a_sign_follows_from_its_leak_and_strength():
    # By hand: (1 - (1 - leak)(1 - strength)) / leak; the low end with the weak strength and the high leak.
    sign = says("sign", shows="rewetting", strength=band("often"), leak=band("seldom"))
    by_hand = [(1 - (1 - q) * (1 - p)) / q for p, q in ((0.4, 0.2), (0.5, 0.1), (0.6, 0.05))]
    assert ratio_of([sign], "rewetting").ratio == pytest.approx(by_hand)
    assert ratio_of([sign], "rewetting").before == (1, 1, 1)


def test_a_sign_that_the_fault_would_have_shown_and_has_not_leaves_the_rest_of_its_odds():
    missing = says("missing", would_show="rewetting", strength=band("often"))
    assert ratio_of([missing], "rewetting").before == pytest.approx((0.4, 0.5, 0.6))


def test_in_one_group_only_the_strongest_speaks_and_the_silent_ones_are_listed():
    weak = says("weak", favours="rewetting", strength=band("weakly_for"), group="damp")
    strong = says("strong", favours="rewetting", strength=band("moderately_for"), group="damp")
    combined = ratio_of([strong, weak], "rewetting")
    assert combined.ratio == pytest.approx((3, 5, 8))
    assert [one.finding.rule for one in combined.speaking] == ["strong"]
    assert [one.finding.rule for one in combined.silent] == ["weak"]


def test_the_strongest_may_speak_against():
    pro = says("pro", favours="rewetting", strength=band("moderately_for"), group="damp")
    contra = says("contra", favours="rewetting", strength=band("strongly_against"), group="damp")
    assert ratio_of([pro, contra], "rewetting").ratio == pytest.approx((0.02, 0.05, 0.1))


def test_a_sign_and_its_absence_about_as_telling_contradict_each_other():
    telling = says("telling", shows="rewetting", strength=band("often"), leak=band("seldom"), group="damp")
    unseen = says("unseen", would_show="rewetting", strength=band("often"), group="damp")
    seen = says("seen", shows="rewetting", strength=band("often"), leak=band("commonly"), group="damp")
    assert ratio_of([seen, unseen], "rewetting").contradicted
    assert not ratio_of([telling, unseen], "rewetting").contradicted


def test_a_contradiction_names_the_strongest_first():
    seen = says("seen", shows="rewetting", strength=band("often"), leak=band("commonly"), group="damp")
    unseen = says("unseen", would_show="rewetting", strength=band("often"), group="damp")
    [(first, other)] = ratio_of([unseen, seen], "rewetting").contradicted
    assert (first.rule, other.rule) == ("seen", "unseen")


def test_signs_of_one_group_share_the_rarest_leak_and_a_less_telling_one_keeps_its_ratio():
    telling = says("telling", shows="rewetting", strength=band("often"), leak=band("seldom"), group="damp")
    other = says("other", shows="container_damp", strength=band("often"), leak=band("commonly"), group="damp")
    made = found([telling, other], YES)
    [sign] = signs_of(made, likelihood_ratios(made, SETTINGS), SETTINGS)
    assert (sign.name, sign.leak, sign.trust) == ("damp", (0.05, 0.1, 0.2), 1.0)
    given = dict(sign.strengths)
    assert given["rewetting"] == (0.4, 0.5, 0.6)
    # Ratios by their own leak, (1 - (1 - q)(1 - p)) / q = r; then p = 1 - (1 - 0.1 r) / 0.9.
    ratios = [(1 - (1 - q) * (1 - p)) / q for p, q in ((0.4, 0.3), (0.5, 0.2), (0.6, 0.1))]
    assert given["container_damp"] == pytest.approx([1 - (1 - 0.1 * r) / 0.9 for r in ratios])


def test_a_group_is_silenced_for_one_fault_and_not_for_another():
    wide = says("wide", favours=["rewetting", "slow_drying"], strength=band("weakly_for"), group="damp")
    narrow = says("narrow", favours="rewetting", strength=band("moderately_for"), group="damp")
    assert ratio_of([wide, narrow], "slow_drying").ratio == pytest.approx((1.5, 2, 3))
    assert ratio_of([wide, narrow], "rewetting").ratio == pytest.approx((3, 5, 8))


def test_equally_strong_findings_of_a_group_do_not_depend_on_their_order():
    rules = [
        says(name, favours="rewetting", strength=band("weakly_for"), group="damp") for name in ("b", "a")
    ]
    assert [one.finding.rule for one in ratio_of(rules, "rewetting").weighed] == ["a", "b"]
    assert ratio_of(rules, "rewetting") == ratio_of(rules[::-1], "rewetting")


def test_rules_out_is_strong_but_never_nought():
    assert ratio_of([says("sealed", rules_out="container_damp")], "container_damp").ratio == (
        0.001,
        0.002,
        0.01,
    )


def test_an_unknown_ratio_is_listed_and_changes_nothing():
    combined = ratio_of([says("unsure", favours="rewetting", strength={"unknown": True})], "rewetting")
    assert combined.ratio == (1, 1, 1)
    assert len(combined.speaking) == 1


def test_a_fault_no_finding_bears_on_is_left_out():
    assert likelihood_ratios((), SETTINGS) == {}


def test_notes_normal_for_the_coffee_raise_their_own_chance_and_no_fault():
    rules = [
        says("natural", expects="fermented", strength=band("often")),
        says("anaerobic", expects=["fermented", "winey"], strength=band("often")),
        says("anaerobic_too", expects="winey", strength=band("rarely"), group="anaerobic"),
    ]
    some = found(rules, YES)
    assert likelihood_ratios(some, SETTINGS) == {}
    assert expected(some, SETTINGS)["fermented"] == pytest.approx((0.64, 0.75, 0.84))
    assert expected(some, SETTINGS)["winey"] == pytest.approx((0.4, 0.5, 0.6))


@pytest.mark.parametrize(
    ("then", "wrong"),
    [
        ({"shows": "rewetting", "strength": band("often")}, "a sign needs its leak"),
        (
            {"favours": "rewetting", "strength": band("weakly_for"), "leak": band("seldom")},
            "a sign needs its leak",
        ),
    ],
)
def test_a_sign_without_its_leak_and_a_leak_without_a_sign_are_refused(then, wrong):
    with pytest.raises(ValueError, match=wrong):
        rule("bad", [{"record": "r", "is": "yes"}], then)


def test_the_first_of_a_contradiction_may_speak_against():
    contra = says("a", favours="rewetting", strength=band("moderately_against"), group="damp")
    pro = says("b", favours="rewetting", strength=band("moderately_for"), group="damp")
    [(first, other)] = ratio_of([pro, contra], "rewetting").contradicted
    assert (first.rule, other.rule) == ("a", "b")
    assert ratio_of([pro, contra], "rewetting").ratio == (1, 1, 1)
    both = says("c", favours="rewetting", strength=band("moderately_against"), group="damp")
    assert not ratio_of([contra, both], "rewetting").contradicted


def test_a_finding_that_may_not_have_been_said_says_less():
    made = found([says("a", favours="rewetting", strength=band("moderately_for"))], YES)
    doubted = [replace(one, trust=0.5) for one in made]
    # 1 + t (r - 1) of 3, 5 and 8.
    assert likelihood_ratios(doubted, SETTINGS)["rewetting"].ratio == pytest.approx((2, 3, 4.5))


def test_a_warning_names_its_caution():
    made = found([says("a", warns="ochratoxin")], YES)
    assert [(one.verb, one.targets) for one in made] == [("warns", ("ochratoxin",))]
