"""Sensible at the edges, and equal to scipy, statsmodels and scikit-learn where these can say it."""

from __future__ import annotations

import datetime
import itertools
import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracer.casebook.sessions import Kept
from tracer.knowledge.load import load_or_fail
from tracer.panel import agreement, discrimination
from tracer.panel.blind import Sample, blind_set
from tracer.panel.cards import candidates, card, refusal, threshold_of
from tracer.panel.recognition import Counts, loglinear, score
from tracer.panel.reliability import default_rates, measured_panel
from tracer.panel.standing import standings
from tracer.panel.weighing import Stock, suitable_mass
from tracer.rate import Rate, below

BASE = load_or_fail()
HIT, ALARM = default_rates(BASE)
shapes = st.floats(0.05, 300)


@settings(deadline=None)
@given(x=st.floats(0, 1), a=shapes, b=shapes)
def test_the_beta_law_equals_scipy(x, a, b):
    special = pytest.importorskip("scipy.special")
    assert below(x, a, b) == pytest.approx(float(special.betainc(a, b, x)), abs=1e-10)


@settings(deadline=None, max_examples=50)
@given(a=shapes, b=shapes, p=st.floats(0.001, 0.999))
def test_quantiles_equal_scipy(a, b, p):
    stats = pytest.importorskip("scipy.stats")
    assert Rate(a, b).quantile(p) == pytest.approx(float(stats.beta.ppf(p, a, b)), abs=1e-7)


@given(n=st.integers(1, 60), k=st.integers(0, 60))
def test_tails_equal_scipy(n, k):
    stats = pytest.importorskip("scipy.stats")
    k = min(k, n)
    assert discrimination.at_least(k, n, 1 / 3) == pytest.approx(
        float(stats.binom.sf(k - 1, n, 1 / 3)), abs=1e-12
    )


def test_intervals_of_proportions_equal_statsmodels():
    proportion = pytest.importorskip("statsmodels.stats.proportion")
    for k, n in ((0, 5), (3, 7), (9, 12), (12, 12)):
        low, high = proportion.proportion_confint(k, n, alpha=0.05, method="jeffreys")
        assert Rate(k + 0.5, n - k + 0.5).interval(0.95) == pytest.approx((low, high), abs=1e-7)


counts = st.builds(Counts, *[st.integers(0, 40)] * 4)


@given(counts)
def test_no_count_whatever_gives_certainty_or_an_error(some):
    one = score(some, HIT, ALARM)
    for rate in (one.hit, one.false_alarm):
        low, high = rate.interval()
        assert 0 < low < high < 1
    assert all(0 < rate < 1 for rate in loglinear(some))
    assert np.isfinite([one.sensitivity, one.criterion]).all()
    assert one.leaning in ("even", "misses", "shouts", "unclear")


@given(counts, st.integers(1, 10))
def test_more_hits_never_lower_the_rate(some, more):
    better = Counts(some.hits + more, some.misses, some.false_alarms, some.correct_rejections)
    assert score(better, HIT, ALARM).hit.mean >= score(some, HIT, ALARM).hit.mean


@settings(deadline=None, max_examples=40)
@given(
    samples=st.integers(1, 8),
    tasters=st.integers(1, 8),
    blanks=st.integers(0, 4),
    repeats=st.integers(0, 4),
    seed=st.integers(0, 10**6),
)
def test_a_blind_set_is_whole_and_gives_nothing_away(samples, tasters, blanks, repeats, seed):
    served = [Sample(f"s{i}", ("musty",), last=i % 3 == 2) for i in range(samples)]
    made = blind_set("set", served, [f"t{i}" for i in range(tasters)], blanks, repeats, seed)
    assert made == blind_set("set", served, [f"t{i}" for i in range(tasters)], blanks, repeats, seed)
    codes = [cup.code for cup in made.cups]
    assert len(set(codes)) == len(codes)
    assert all(len(code) == 3 and code.isdigit() for code in codes)
    for taster in made.tasters():
        row = made.of(taster)
        assert len(row) == samples + blanks + min(repeats, samples)
        assert sum(cup.repeat for cup in row) == min(repeats, samples)
        late = [cup.sample.last for cup in row]
        assert late == sorted(late)
        assert [cup.place for cup in row] == list(range(1, len(row) + 1))


def test_a_hundred_tasters_still_have_their_own_codes():
    made = blind_set("set", [Sample("a", ("musty",))] * 10, [f"t{i}" for i in range(100)], 2, 0, 1)
    for taster in made.tasters():
        codes = [cup.code for cup in made.of(taster)]
        assert len(set(codes)) == len(codes)


@settings(deadline=None, max_examples=60)
@given(
    multiple=st.floats(0.5, 30), volume=st.floats(0.1, 10), mass=st.floats(5, 100), index=st.integers(0, 200)
)
def test_every_card_puts_the_amount_asked_for_into_the_cup(multiple, volume, mass, index):
    usable = [c for c in BASE.compounds.values() if refusal(c) is None and threshold_of(c)]
    compound = usable[index % len(usable)]
    threshold = threshold_of(compound)
    assert threshold
    made = card(compound, "note", threshold, multiple, volume, Stock(mass, 0.98, 100), BASE.settings.panel)
    strength = 1000 * mass * 0.98 / 100
    for step in made.steps[1:-1]:
        strength /= float(step.text.split(" 1:")[1].split(":")[0])
    aliquot = float(made.steps[-1].text.split("Put ")[1].split(" uL")[0].replace(",", ""))
    assert aliquot / 1000 * strength == pytest.approx(threshold[0] * multiple * volume, rel=2e-3)
    assert aliquot >= BASE.settings.panel.smallest_volume * 0.999
    if made.carrier > BASE.settings.panel.most_carrier:
        assert any("carrier" in text for text in made.warnings)
    assert made.cautions
    assert " = " in made.steps[-1].check


def test_what_may_not_be_prepared_is_refused_with_its_reason():
    for compound in BASE.compounds.values():
        because = refusal(compound)
        if compound.handling in ("smell_only", "never_prepare", "never_mixture") or not compound.identified:
            assert because
            with pytest.raises(ValueError):
                card(compound, "note", (1.0, "mine"), 3, 1, Stock(10, 1, 100), BASE.settings.panel)


@pytest.mark.parametrize("note", ["petroleum_fuel", "phenolic", "musty"])
def test_a_note_lists_what_is_not_prepared_beside_what_is(note):
    allowed, refused = candidates(BASE, note)
    assert refused
    assert all(refusal(compound) is None for compound in allowed)
    assert all(one.because for one in refused)


def cup(
    day: int, taster: str, given_: tuple[str, ...], named: tuple[str, ...], session: int = 1, number: int = 0
) -> Kept:
    return Kept(
        session,
        datetime.date(2026, 1, 1) + datetime.timedelta(days=day),
        taster,
        str(100 + number),
        f"s{number}",
        given_,
        named,
        3.0,
        False,
    )


def test_an_old_calibration_fades_toward_the_average():
    cups = [cup(0, "Ana", ("musty",), ("musty",), number=i) for i in range(20)]
    fresh, old, ancient = (
        measured_panel(cups, BASE, datetime.date(2026, 1, 1) + datetime.timedelta(days=days), ["Ana"]).of(
            "ana", "musty"
        )
        for days in (0, 180, 4000)
    )
    means = [Rate(*rates.hit).mean for rates in (fresh, old, ancient) if rates]
    assert means[0] > means[1] > means[2] == pytest.approx(HIT.mean, abs=1e-3)


def test_a_session_after_the_cupping_does_not_count():
    cups = [cup(30, "Ana", ("musty",), (), number=i) for i in range(20)]
    assert not measured_panel(cups, BASE, datetime.date(2026, 1, 15), ["Ana"]).rates


def test_a_taster_who_never_finds_a_note_is_thought_unable_to_smell_it():
    cups = [cup(0, "Bui", ("musty",), (), number=i) for i in range(12)]
    rates = measured_panel(cups, BASE, datetime.date(2026, 1, 2), ["Bui"]).of("Bui", "musty")
    assert rates
    assert rates.cannot_smell > 0.9
    found = [*cups, cup(0, "Bui", ("musty",), ("musty",), number=40)]
    assert (
        measured_panel(found, BASE, datetime.date(2026, 1, 2), ["Bui"]).of("Bui", "musty").cannot_smell == 0
    )


def test_a_sudden_fall_raises_the_alarm_and_chance_does_not():
    generator = random.Random(4)

    def session(number: int, rate: float) -> list[Kept]:
        return [
            cup(30 * number, "Ana", ("musty",), ("musty",) if generator.random() < rate else (), number, i)
            for i in range(12)
        ]

    steady = [one for number in range(4) for one in session(number, 0.85)]
    assert not standings(steady, BASE, datetime.date(2026, 6, 1))[0].alarm
    assert standings([*steady, *session(5, 0.1)], BASE, datetime.date(2026, 7, 1))[0].alarm


@given(
    st.lists(
        st.tuples(st.sampled_from(["musty", "phenolic", ""]), st.sampled_from(["musty", "phenolic", ""])),
        min_size=1,
        max_size=25,
    )
)
def test_the_standing_of_any_taster_can_be_told(rows):
    cups = [cup(i, "Ana", (g,) if g else (), (n,) if n else (), 1, i) for i, (g, n) in enumerate(rows)]
    [one] = standings(cups, BASE, datetime.date(2026, 3, 1))
    assert one.cups == len(rows)
    assert all(0 < s.hit.mean < 1 for _, s in one.scores)


def test_alpha_is_none_where_nothing_can_differ_and_1_where_all_agree():
    assert agreement.krippendorff([[True, True], [True, True]]) is None
    assert agreement.krippendorff([[True, False, True], [True, False, True]]) == pytest.approx(1.0)
    low, high = agreement.interval([[1, 0, 1, 0, 1, 1, 0, 0], [1, 0, 1, 0, 1, 0, 0, 1]]) or (0, 0)
    assert -1 <= low <= high <= 1


@settings(deadline=None, max_examples=40)
@given(multiple=st.floats(1, 10), volume=st.floats(0.1, 5), index=st.integers(0, 200))
def test_a_stock_chosen_for_the_user_keeps_the_carrier_within_its_limit(multiple, volume, index):
    usable = [c for c in BASE.compounds.values() if refusal(c) is None and threshold_of(c)]
    compound = usable[index % len(usable)]
    threshold = threshold_of(compound)
    assert threshold
    needed = threshold[0] * multiple * volume
    mass = suitable_mass(needed, volume, Stock(10, 0.98, 100), BASE.settings.panel)
    made = card(compound, "note", threshold, multiple, volume, Stock(mass, 0.98, 100), BASE.settings.panel)
    assert mass >= 10
    assert made.carrier <= BASE.settings.panel.most_carrier * 1.001
    assert not any("e+" in step.text + step.check for step in made.steps)


def test_a_note_that_stops_tasting_is_never_recommended_for_training_in_the_cup():
    from tracer.render.panel import nothing_to_prepare

    for descriptor in BASE.descriptors.values():
        if descriptor.stop_tasting:
            told = str(nothing_to_prepare(descriptor.label, True, []).renderables[0])
            assert "spit" not in told
            assert "none is tasted" in told


@given(
    samples=st.integers(3, 7), tasters=st.integers(1, 12), repeats=st.integers(1, 2), seed=st.integers(0, 999)
)
def test_a_repeat_never_stands_next_to_its_twin_where_there_is_room(samples, tasters, repeats, seed):
    served = [Sample(f"s{i}", ("musty",)) for i in range(samples)]
    made = blind_set("set", served, [f"t{i}" for i in range(tasters)], 2, repeats, seed)
    for taster in made.tasters():
        row = made.of(taster)
        assert all(one.sample != other.sample for one, other in itertools.pairwise(row))


def test_the_multiple_of_a_rate_is_the_geometric_mean_of_those_served_and_none_where_none_was_written():
    served = [
        replace(cup(0, "Ana", ("musty",), ("musty",), number=n), multiple=m) for n, m in enumerate((1, 100))
    ]
    day = datetime.date(2026, 1, 1)
    assert measured_panel(served, BASE, day, ["Ana"]).of("Ana", "musty").multiple == pytest.approx(10)
    unwritten = [replace(one, multiple=None) for one in served]
    assert measured_panel(unwritten, BASE, day, ["Ana"]).of("Ana", "musty").multiple is None
