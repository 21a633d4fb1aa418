"""Lots traced together: what they share, and how each moves the others."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from tracer.batch.together import place_prior, shared_places, trace_together
from tracer.inference.rows import evaluate, one_row
from tracer.lots.read import parse_lot
from tracer.tracing import trace, weighed

CONTAINER = "custody: {transport: container HILU 400211-3}\n"


@pytest.fixture(scope="module")
def lot(base):
    def made(name, note="", text="", cups=3):
        notes = f"{{note: {note}, cups: {cups}}}" if note else "clean"
        sheet = f"lot: {name}\ncuppings: [{{sample: arrival, cups: 5, tasters: [{{taster: a, notes: [{notes}]}}]}}]\n"
        found, issues = parse_lot(sheet + text, f"{name}.yaml", base)
        assert found, issues
        return found

    return made


def chance(found, fault, place="container HILU 400211-3"):
    return next((one.probability for one in found.common if (one.fault, one.place) == (fault, place)), 0.0)


def test_two_musty_lots_of_one_container_point_to_it_more_than_either_alone(base, ready, lot):
    lots = [lot("A", "musty", CONTAINER), lot("B", "musty", CONTAINER)]
    found = trace_together(lots, base, ready)
    alone = next(s for s in trace(lots[0], base, ready).sources if s.fault == "container_condensation")
    shared = {one.fault for one in found.common if one.place == "container HILU 400211-3"}
    for moved in found.lots:
        assert moved.source in shared
        assert moved.probability > 1.25 * alone.probability
    assert chance(found, "container_condensation") > alone.probability


def test_a_clean_lot_of_the_container_speaks_against_it(base, ready, lot):
    lots = [lot("A", "musty", CONTAINER), lot("B", "musty", CONTAINER)]
    without = trace_together(lots, base, ready)
    clean = trace_together([*lots, lot("C", "", CONTAINER), lot("D", "", CONTAINER)], base, ready)
    assert chance(clean, "container_condensation") < chance(without, "container_condensation")


def test_lots_that_share_nothing_stay_as_they_are_alone(base, ready, lot):
    lots = [lot("A", "musty", CONTAINER), lot("B", "musty", "custody: {transport: another}\n")]
    found = trace_together(lots, base, ready)
    assert found.shared == ()
    for one, moved in zip(lots, found.lots, strict=True):
        report = trace(one, base, ready)
        assert moved.probability == pytest.approx(report.sources[0].probability, abs=1e-9)
        assert moved.stage_probability == pytest.approx(report.stages[0].probability, abs=1e-9)


def test_the_order_of_the_sheets_changes_nothing(base, ready, lot):
    lots = [
        lot("A", "musty", CONTAINER),
        lot("B", "smoky", "exporter: Upper Valley\n"),
        lot("C", "mouldy", CONTAINER + "exporter: Upper Valley\n"),
    ]
    forth, back = trace_together(lots, base, ready), trace_together(lots[::-1], base, ready)
    assert {(c.place, c.fault): c.probability for c in forth.common} == pytest.approx(
        {(c.place, c.fault): c.probability for c in back.common}, abs=1e-9
    )


def test_the_hypotheses_are_weighed_as_the_formula_says(base, ready, lot):
    """By hand from each lot's network with the faults of the stage set on or off one by one."""
    lots = [lot("A", "musty", CONTAINER), lot("B", "mouldy", CONTAINER)]
    found = trace_together(lots, base, ready)
    law, faults = base.settings.together, base.faults_of("transport")
    ones = [weighed(one, base, ready, engine="plain", elsewhere=("musty", "mouldy")) for one in lots]
    prior = {f: float(ones[0].whole.prior[1, ones[0].whole.main(f)]) for f in faults}
    place = {f: place_prior(prior[f], law.shared, law.reach) for f in faults}

    def evidence(one, world):
        """P(evidence | world) with every fault of the stage at its chance in that world, by new priors."""
        numbers = one.weighed.network.numbers
        new = np.array(numbers.prior)
        scale = 1.0
        for f in faults:
            node = one.whole.main(f)
            own = law.reach if f in world else prior[f] * (1 - law.shared) / (1 - place[f])
            ratio = new[0, node] / (1 - new[0, node]) * (1 - prior[f]) / prior[f]
            scale *= (own * ratio + 1 - own) / (prior[f] * ratio + 1 - prior[f])
            new[0, node] = own * ratio / (own * ratio + 1 - own)
        network = one.weighed.network.with_numbers(replace(numbers, prior=new))
        return scale * float(evaluate(network, one.weighed.evidence, one_row(network))[0])

    singles = [frozenset(), *(frozenset([f]) for f in faults)]

    def weight(world):
        odds = np.prod([place[f] / (1 - place[f]) for f in world])
        return odds * np.prod([evidence(one, world) for one in ones])

    leading = sorted(singles[1:], key=lambda w: -weight(w))[: law.leading]
    worlds = [*singles, *(a | b for a, b in combinations(leading, 2))]
    weights = np.array([weight(w) for w in worlds])
    weights /= weights.sum()
    assert found.none == pytest.approx(weights[0], abs=1e-9)
    for one in found.common:
        by_hand = sum(p for p, w in zip(weights, worlds, strict=True) if one.fault in w)
        assert one.probability == pytest.approx(by_hand, abs=1e-9)


def test_the_prior_of_a_single_lot_stays_what_it_was(base):
    law = base.settings.together
    for prior in (0.003, 0.03, 0.15):
        place = place_prior(prior, law.shared, law.reach)
        rest = prior * (1 - law.shared) / (1 - place)
        assert place * law.reach + (1 - place) * rest == pytest.approx(prior, abs=1e-12)


def test_a_table_with_a_name_and_a_day_is_shared(base, lot):
    sheet = "lot: %s\ncuppings: [{sample: arrival, bench: north room, on: 2026-03-02, cups: 5, tasters: [{taster: a, notes: [chlorine]}]}]\n"
    lots = [parse_lot(sheet % name, "x.yaml", base)[0] for name in ("A", "B")]
    assert {stage for stage, _ in shared_places(lots, base)} == set(base.settings.verdicts.bench_stages)
