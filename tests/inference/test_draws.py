"""Draws of all figures, the guard on density and the checks of a network, worked by hand on a small one."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from tests.inference.written import build
from tracer.findings.weigh import Combined, Sign
from tracer.inference import density
from tracer.inference.assemble import Whole
from tracer.inference.draws import _within, drawn, interval, points
from tracer.inference.lot import damage
from tracer.inference.network import Evidence, Network, Numbers, Structure, Traced
from tracer.inference.tasters import MeasuredPanel, TasterRates

NET = {
    "faults": [
        {"id": "damp", "stage": "store", "segment": "lot", "prior": 0.1},
        {"id": "fire", "stage": "drying", "segment": "lot", "prior": 0.2},
    ],
    "fault_links": [
        {"fault": "damp", "compound": "mould", "law": [0.3, 0.3, 0.4]},
        {"fault": "fire", "compound": "smoke", "law": [0.1, 0.1, 0.8]},
    ],
    "compound_leaks": [{"compound": "mould", "segment": "lot", "law": [0.9, 0.05, 0.05]}],
    "note_links": [
        {"compound": "mould", "note": "musty", "law": {1: [0.5, 0.4, 0.1], 2: [0.2, 0.2, 0.6]}},
        {"compound": "mould", "note": "earthy", "law": {1: [0.6, 0.3, 0.1], 2: [0.2, 0.2, 0.6]}},
        {"compound": "smoke", "note": "smoky", "law": {1: [0.5, 0.4, 0.1], 2: [0.2, 0.2, 0.6]}},
    ],
    "note_leaks": [{"note": "musty", "segment": "lot", "law": [0.95, 0.03, 0.02]}],
    "signs": [
        {
            "id": "stain",
            "leak": 0.1,
            "causes": {"damp": 0.6, "fire": 0.3},
            "compounds": [{"compound": "mould", "segment": "lot", "by_state": [0.2, 0.5]}],
        },
        {"id": "smell", "leak": 0.05, "causes": {}},
    ],
    "words": [
        {
            "id": "dank",
            "event": "arrival",
            "leak": 0.02,
            "readings": {"musty": 0.5, "earthy": 0.3},
            "likelihood": [0.1, 0.5, 0.9],
        }
    ],
    "events": [{"id": "arrival", "reach": ["lot"]}],
    "evidence": {
        "notes": [
            {"note": name, "event": "arrival", "likelihood": [0.05, 0.6, 0.9]}
            for name in ("musty", "earthy", "smoky")
        ]
    },
    "traced": [{"note": "musty", "event": "arrival"}],
}


@pytest.fixture(scope="module")
def built():
    return build(NET)


# Points and ranges.


def test_points_step_by_the_roots_of_the_r_sequence():
    # x^(d+1) = x + 1: the golden ratio for one dimension, the plastic number for two (Roberts 2018, from memory).
    golden, plastic = (1 + 5**0.5) / 2, 1.324717957
    count = np.arange(1, 6)
    assert points(5, 1)[:, 0] == pytest.approx((0.5 + count / golden) % 1)
    assert points(5, 2)[:, 0] == pytest.approx((0.5 + count / plastic) % 1, abs=1e-7)
    assert points(5, 2)[:, 1] == pytest.approx((0.5 + count / plastic**2) % 1, abs=1e-7)
    assert points(7, 3).shape == (7, 3)


def test_the_best_value_is_the_middle_and_either_side_runs_evenly_to_its_end():
    u = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
    assert _within(u, 1.0, 3.0, 11.0).tolist() == [1, 2, 3, 7, 11]


def test_the_interval_is_from_10_to_90_percent():
    low, high = interval(np.column_stack([np.arange(11.0), np.arange(11.0) * 10]))
    assert (low.tolist(), high.tolist()) == ([1, 10], [9, 90])


def small(built, prior, law):
    return Whole(built.network, {"damp": (0,), "fire": (1,)}, {}, {}, {}, np.array(prior), np.array(law), {})


SPREAD = {
    "prior": [[0.05, 0.1], [0.1, 0.2], [0.4, 0.5]],
    "law": np.cumsum(
        [
            [[0.5, 0.2, 0.3], [0.4, 0.1, 0.5]],
            [[0.3, 0.3, 0.4], [0.1, 0.1, 0.8]],
            [[0.1, 0.3, 0.6], [0.0, 0.1, 0.9]],
        ],
        axis=2,
    ),
}


def ratio(*ends):
    return Combined("fire", ends, ends, ())


def test_every_figure_is_drawn_within_its_range_priors_leaks_and_ratios_in_their_logarithm(built):
    whole = small(built, **SPREAD)
    signs = (Sign("stain", (0.05, 0.1, 0.3), (("damp", (0.4, 0.6, 0.7)), ("fire", (0.1, 0.3, 0.8)))),)
    ratios = {"fire": ratio(0.5, 2.0, 6.0)}
    steady = np.array([3.0, 1.0])
    found = drawn(built.network, whole, ratios, signs, steady, 16).numbers
    u = points(16, 2 + 2 + 1 + 2 + 1)

    def between(u, low, best, high):
        return np.where(u < 0.5, low + (best - low) * 2 * u, best + (high - best) * (2 * u - 1))

    def logs(u, low, best, high):
        return np.exp(between(u, np.log(low), np.log(best), np.log(high)))

    damp = logs(u[:, 0], 0.05, 0.1, 0.4)
    fire = logs(u[:, 1], 0.1, 0.2, 0.5)
    odds = np.column_stack([damp / (1 - damp) * 3, fire / (1 - fire) * logs(u[:, 4], 0.5, 2.0, 6.0)])
    assert found.prior == pytest.approx(odds / (1 + odds))
    for link in (0, 1):
        for state in range(3):
            ends = SPREAD["law"][:, link, state]
            assert found.fault[:, link, state] == pytest.approx(between(u[:, 2 + link], *ends))
    assert found.sign_fault[:, 0] == pytest.approx(between(u[:, 5], 0.4, 0.6, 0.7))
    assert found.sign_fault[:, 1] == pytest.approx(between(u[:, 6], 0.1, 0.3, 0.8))
    assert found.sign_leak[:, 0] == pytest.approx(logs(u[:, 7], 0.05, 0.1, 0.3))
    assert found.sign_leak[:, 1].tolist() == [0.05] * 16
    assert found.sign_leak.shape == (16, 2)
    assert len(found) == 16


def test_without_ratios_or_signs_only_priors_and_links_are_drawn(built):
    whole = small(built, **SPREAD)
    found = drawn(built.network, whole, {}, (), np.ones(2)).numbers
    assert len(found) == 64
    u = points(64, 4)
    assert found.prior[:, 0] == pytest.approx(np.exp(_within(u[:, 0], *np.log([0.05, 0.1, 0.4]))))
    assert found.sign_fault is built.network.numbers.sign_fault
    assert found.sign_leak is built.network.numbers.sign_leak


# The guard on density.


@pytest.mark.parametrize(
    ("sizes", "level"),
    [
        ([5.0] * 11, None),
        ([4.0] * 9 + [6.0, 30.0], "warning"),
        ([4.0] * 10 + [30.0], None),
        ([4.0] * 9 + [20.0, 20.0], "warning"),
        ([4.0] * 9 + [20.1, 20.1], "error"),
    ],
)
def test_the_guard_looks_at_one_lot_in_ten_and_warns_beyond_the_limit(monkeypatch, sizes, level):
    monkeypatch.setattr(density, "largest_tables", lambda network: sizes)
    found = density.density_issues(None, 5.0)
    assert [issue.level for issue in found] == ([level] if level else [])
    if found:
        assert f"passes 2^{sizes[9]:.1f} entries (limit 2^5)" in found[0].message


def test_a_set_of_notes_starts_from_a_fault_and_takes_what_shares_its_compounds(monkeypatch, built):
    sets = []

    def table(network, evidence, traced):
        sets.append(tuple(evidence.heard))
        assert traced.heard == frozenset(evidence.heard)
        assert all(one.tolist() == [0.1, 0.55, 1.0] for one in evidence.heard.values())
        return SimpleNamespace(order=SimpleNamespace(log2_largest=-float(len(sets))))

    monkeypatch.setattr(density, "skeleton", table)
    assert density.largest_tables(built.network, 2, 0, 30) == [-float(n) for n in range(30, 0, -1)]
    assert len(sets) == 30
    assert all(len(one) == 2 for one in sets)
    # Musty and earthy hang on mould: a set that starts from damp holds both, one from fire smoky and one of them.
    assert {frozenset(one) for one in sets} == {frozenset({0, 1}), frozenset({0, 2}), frozenset({1, 2})}
    assert all(one[0] == 2 for one in sets if 2 in one)
    sets.clear()
    density.largest_tables(built.network, 1, 1, 3)
    assert [len(one) for one in sets] == [2, 2, 2]
    sets.clear()
    density.largest_tables(built.network)
    assert len(sets) == 40
    assert all(len(one) == 3 for one in sets)


def test_five_notes_are_taken_from_one_fault_that_makes_seven(monkeypatch):
    names = [f"n{at}" for at in range(7)]
    law = {1: [0.5, 0.4, 0.1], 2: [0.2, 0.2, 0.6]}
    wide = build(
        {
            "faults": [{"id": "f", "stage": "x", "segment": "lot", "prior": 0.1}],
            "fault_links": [{"fault": "f", "compound": "c", "law": [0.3, 0.3, 0.4]}],
            "note_links": [{"compound": "c", "note": name, "law": law} for name in names],
            "events": [{"id": "arrival", "reach": ["lot"]}],
            "evidence": {
                "notes": [{"note": n, "event": "arrival", "likelihood": [0.1, 0.5, 0.9]} for n in names]
            },
            "traced": [],
        }
    )
    sets = []

    def table(network, evidence, traced):
        sets.append(len(evidence.heard))
        return SimpleNamespace(order=SimpleNamespace(log2_largest=1.0))

    monkeypatch.setattr(density, "skeleton", table)
    density.largest_tables(wide.network)
    assert sets == [5] * 40
    sets.clear()
    density.largest_tables(wide.network, 4, 2, 2)
    assert sets == [6] * 2


def test_what_hangs_together_is_of_one_fault(monkeypatch):
    law = {1: [0.5, 0.4, 0.1], 2: [0.2, 0.2, 0.6]}
    pairs = [(fault, f"{fault}{at}") for fault in "abc" for at in (1, 2)]
    apart = build(
        {
            "faults": [{"id": f, "stage": "x", "segment": "lot", "prior": 0.1} for f in "abc"],
            "fault_links": [{"fault": f, "compound": f, "law": [0.3, 0.3, 0.4]} for f in "abc"],
            "note_links": [{"compound": f, "note": name, "law": law} for f, name in pairs],
            "events": [{"id": "arrival", "reach": ["lot"]}],
            "evidence": {
                "notes": [{"note": n, "event": "arrival", "likelihood": [0.1, 0.5, 0.9]} for _, n in pairs]
            },
            "traced": [],
        }
    )
    sets = set()

    def table(network, evidence, traced):
        sets.add(frozenset(evidence.heard))
        return SimpleNamespace(order=SimpleNamespace(log2_largest=1.0))

    monkeypatch.setattr(density, "skeleton", table)
    density.largest_tables(apart.network, 2)
    assert sets == {frozenset({0, 1}), frozenset({2, 3}), frozenset({4, 5})}


# The network itself.


def changed(built, **numbers):
    return Network(built.network.structure, replace(built.network.numbers, **numbers))


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("prior", "prior"),
        ("sign_leak", "leak of a sign"),
        ("sign_fault", "cause of a sign"),
        ("word", "share of a word"),
    ],
)
def test_a_chance_lies_from_0_to_1(built, name, word):
    shape = getattr(built.network.numbers, name).shape
    for fine in (0.0, 1.0):
        changed(built, **{name: np.full(shape, fine)})
    for wrong in (-0.01, 1.01):
        array = np.full(shape, 0.5)
        array[0, -1] = wrong
        with pytest.raises(ValueError, match=f"a {word} lies outside"):
            changed(built, **{name: array})


def test_a_law_rises_from_0_to_1_and_the_link_is_named(built):
    fault = built.network.numbers.fault
    for wrong in ([0.6, 0.5, 1.0], [-0.1, 0.5, 1.0], [0.1, 0.5, 0.9], [0.1, 0.5, 1.1]):
        array = fault.copy()
        array[0, 1] = wrong
        with pytest.raises(ValueError, match="fire -> smoke@lot: a law must be"):
            changed(built, fault=array)
    level = fault.copy()
    level[0, 1] = [0.5, 0.5, 1.0]
    changed(built, fault=level)
    for leak in ("compound_leak", "note_leak", "word_leak"):
        array = getattr(built.network.numbers, leak).copy()
        array[0, 0] = [0.5, 0.4, 1.0]
        with pytest.raises(ValueError, match="a leak: a law"):
            changed(built, **{leak: array})


def test_an_absent_cause_gives_nothing_and_a_stronger_one_never_less(built):
    note = built.network.numbers.note.copy()
    note[0, 0, 0] = [0.9, 1.0, 1.0]
    with pytest.raises(ValueError, match="mould@lot -> musty@lot: an absent cause"):
        changed(built, note=note)
    note = built.network.numbers.note.copy()
    note[0, 1, 2] = note[0, 1, 1] + [0.05, 0, 0]
    with pytest.raises(ValueError, match="mould@lot -> earthy@lot: a stronger cause"):
        changed(built, note=note)
    note[0, 1, 1:] = [[0.5, 0.4, 1.0], [0.2, 0.3, 1.0]]
    with pytest.raises(ValueError, match="mould@lot -> earthy@lot: a law must be"):
        changed(built, note=note)
    note[0, 1, 1] = note[0, 1, 2]
    changed(built, note=note)
    for law in ([0.1, 0.2, 0.5], [0.0, 0.5, 0.2]):
        with pytest.raises(ValueError, match="an absent compound gives no sign"):
            changed(built, sign_compound=np.array([[law]]))
    changed(built, sign_compound=np.array([[[0.0, 0.5, 0.5]]]))
    with pytest.raises(ValueError, match="cause of a sign by compound"):
        changed(built, sign_compound=np.array([[[0.0, 0.5, 1.5]]]))


def test_a_wrong_row_of_several_is_found(built):
    fault = np.repeat(built.network.numbers.fault, 3, axis=0)
    fault[2, 1] = [0.6, 0.5, 1.0]
    with pytest.raises(ValueError, match="fire -> smoke"):
        changed(built, fault=fault)


def test_links_are_grouped_by_where_they_lead(built):
    structure = built.network.structure
    assert structure.links_into_compound == ((0,), (1,))
    assert structure.links_into_note == ((0,), (1,), (2,))
    assert structure.links_into_word == ((0, 1),)
    assert structure.heard_of_note == ((0,), (1,), (2,))
    twice = Structure(("f",), ("c",), ("n", "m"), ((0, 1), (1,)), ((0, 0),), ((0, 0), (0, 1)))
    assert twice.heard_of_note == ((0,), (0, 1))


def test_rows_are_cut_from_what_has_rows_and_the_rest_stays_shared(built):
    numbers = replace(built.network.numbers, prior=np.array([[0.1, 0.2], [0.3, 0.4], [0.5, 0.6]]))
    assert len(numbers) == 3
    assert len(built.network.numbers) == 1
    cut = numbers.rows(1, 3)
    assert isinstance(cut, Numbers)
    assert cut.prior.tolist() == [[0.3, 0.4], [0.5, 0.6]]
    assert cut.fault is numbers.fault
    assert numbers.states == 3


def test_further_likelihoods_multiply_those_of_a_compound():
    first = Evidence(compounds={0: np.array([1.0, 2.0, 3.0])})
    both = first.and_compounds({0: np.array([2.0, 2.0, 2.0]), 1: np.array([1.0, 0.0, 0.0])})
    assert both.compounds[0].tolist() == [2, 4, 6]
    assert both.compounds[1].tolist() == [1, 0, 0]
    assert first.compounds[0].tolist() == [1, 2, 3]


def test_something_is_traced_where_a_note_or_a_sign_is():
    assert not Traced()
    assert Traced(frozenset({1}))
    assert Traced(frozenset(), frozenset({1}))


def test_a_network_that_changes_its_compounds_keeps_nothing_and_one_with_other_numbers_does(built):
    network = Network(built.network.structure, built.network.numbers)
    other = network.with_numbers(replace(network.numbers, prior=np.array([[0.3, 0.3]])))
    assert other.numbers.prior.tolist() == [[0.3, 0.3]]
    assert other._skeletons is network._skeletons
    grown = network.grown(replace(network.structure, signs=("a",)), network.numbers)
    assert grown.structure.signs == ("a",)
    assert grown._skeletons is network._skeletons
    apart = network.apart()
    assert not hasattr(apart, "_skeletons")
    assert (apart.structure, apart.numbers) == (network.structure, network.numbers)


# Small things of one lot.


def test_signs_on_the_beans_are_those_that_rest_on_a_record_of_damage():
    base = SimpleNamespace(
        records={
            "holes": SimpleNamespace(id="holes", damage=True),
            "rain": SimpleNamespace(id="rain", damage=False),
        }
    )

    def finding(verb, group, *facts):
        return SimpleNamespace(
            verb=verb, group=group, facts=tuple(SimpleNamespace(name=name) for name in facts)
        )

    found = damage(
        base,
        [
            finding("shows", "borer", "rain", "holes"),
            finding("shows", "wet", "rain"),
            finding("favours", "old", "holes"),
        ],
    )
    assert found == {"borer"}


def test_rates_of_a_taster_are_found_by_the_folded_name():
    rates = TasterRates((1.0, 2.0), (3.0, 4.0), 0.1)
    panel = MeasuredPanel({("jose", "musty"): rates})
    assert panel.of("José ", "musty") is rates
    assert panel.of("José", "earthy") is None
