"""Laboratory results and answered tests on the compound as the latest sample had it, on a chain of three parts."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from tests.inference.written import build
from tracer.inference import measured as module
from tracer.inference.chain import ANY, LOT
from tracer.inference.measured import measured
from tracer.lots.lot import LaboratoryResult

LAW = SimpleNamespace(raised=[0.1, 0.8, 0.9], detected=[0.3, 0.8, 0.8], not_raised=[0.9, 0.4, 0.2])
SEGMENTS = ("0", "1", "2")
CHAIN = SimpleNamespace(
    segments=((("origin", LOT, ANY),), (("roast", "bench", ANY),), (("other", LOT, ANY),)),
    reach=((0, 1), (2,)),
)


def network(*segments):
    return build(
        {
            "faults": [{"id": f"f{s}", "stage": "x", "segment": s, "prior": 0.1} for s in segments],
            "fault_links": [
                {"fault": f"f{s}", "compound": c, "law": [0.2, 0.3, 0.5]}
                for s in segments
                for c in ("tca", "geosmin")
            ],
            "note_links": [
                {"compound": "tca", "note": "corky", "law": {1: [0.5, 0.4, 0.1], 2: [0.2, 0.2, 0.6]}}
            ],
            "events": [{"id": "arrival", "reach": list(segments)}],
            "evidence": {"notes": [{"note": "corky", "event": "arrival", "likelihood": [0.1, 0.5, 0.9]}]},
            "traced": [],
        }
    ).network


def compounds_of(net):
    found = {}
    for place, name in enumerate(net.structure.compounds):
        found.setdefault(name.partition("@")[0], []).append(place)
    return {name: tuple(places) for name, places in found.items()}


def weighed(results=(), tested=None, segments=SEGMENTS, chain=CHAIN):
    net = network(*segments)
    base = SimpleNamespace(
        settings=SimpleNamespace(laboratory=LAW, odour_activity=None),
        node=lambda name: "tca" if name == "chloroanisoles" else name,
    )
    whole = SimpleNamespace(compound=compounds_of(net))
    return net, *measured(base, whole, chain, net, results, tested or {})


def result(compound="tca", found="raised", matrix=None, **fields):
    return LaboratoryResult(compound, None, None, matrix, None, found, None, **fields)


@pytest.fixture(autouse=True)
def _no_figures(monkeypatch):
    monkeypatch.setattr(module, "activity", lambda base, one: one.value)
    monkeypatch.setattr(module, "likelihood", lambda times, law: np.array([1.0, times, times]))


def test_nothing_known_changes_nothing():
    for given in ((), (result(known=False),), (result(found=None),)):
        net, made, evidence, raised = weighed(given)
        assert made is net
        assert not evidence.heard
        assert not evidence.compounds
        assert raised == frozenset()


def test_a_compound_in_one_part_only_takes_the_likelihood_itself_unless_it_was_found():
    net, made, evidence, raised = weighed((result(found="not_raised"),), segments=("0",))
    assert made is net
    assert {node: list(vector) for node, vector in evidence.compounds.items()} == {0: [0.9, 0.4, 0.2]}
    assert raised == frozenset()


def test_what_was_found_is_the_most_of_the_parts_that_the_latest_sample_had():
    net, made, evidence, raised = weighed((result(),))
    before, after = net.structure, made.structure
    nodes = [place for place in compounds_of(net)["tca"] if before.compounds[place].endswith(("@0", "@1"))]
    assert after.notes == (*before.notes, *(f"measured tca@{place}" for place in nodes))
    own = (len(before.notes), len(before.notes) + 1)
    assert after.heard == (*before.heard, own)
    assert after.note_links == (*before.note_links, *zip(nodes, own, strict=True))
    node = len(before.heard)
    assert list(evidence.heard) == [node]
    assert evidence.heard[node].tolist() == LAW.raised
    assert raised == {node}
    assert not evidence.compounds
    assert made.numbers.note[0, -1].tolist() == [[1, 1, 1], [0, 1, 1], [0, 0, 1]]
    assert made.numbers.note.shape[1] == net.numbers.note.shape[1] + 2
    assert made.numbers.note_leak[0, -2:].tolist() == [[1, 1, 1]] * 2


def test_a_figure_of_the_green_has_nothing_of_the_bench():
    net, made, evidence, raised = weighed((result(matrix="green"),))
    assert len(made.structure.notes) == len(net.structure.notes) + 1
    assert made.structure.compounds[made.structure.note_links[-1][0]] == "tca@0"
    _, _, evidence, raised = weighed((result(found="not_raised", matrix="green"),))
    assert [list(v) for v in evidence.compounds.values()] == [LAW.not_raised]
    assert raised == frozenset()


def test_without_an_event_every_part_counts():
    net, made, _, _ = weighed((result(),), chain=SimpleNamespace(segments=CHAIN.segments, reach=()))
    assert len(made.structure.notes) == len(net.structure.notes) + 3


def test_the_results_are_weighed_by_their_words_or_figures():
    def vector(one, **more):
        return next(iter(weighed((one,), segments=("0",), **more)[2].heard.values())).tolist()

    assert vector(result(found="detected")) == LAW.detected
    figure = LaboratoryResult("tca", 4.0, "ng/l", None, None, "not_raised", None)
    assert vector(figure) == [1, 4, 4]
    low = LaboratoryResult("tca", 0.5, "ng/l", None, None, None, None)
    _, _, evidence, raised = weighed((low,), segments=("0",))
    assert evidence.compounds[0].tolist() == [1, 0.5, 0.5]
    assert raised == frozenset()


def test_of_two_results_on_one_compound_or_its_group_the_more_telling_speaks():
    strong, weak = (
        LaboratoryResult("tca", 9.0, "x", None, None, None, None),
        result("chloroanisoles", "detected"),
    )
    for given in ((strong, weak), (weak, strong)):
        _, _, evidence, _ = weighed(given, segments=("0",))
        assert [one.tolist() for one in evidence.heard.values()] == [[1, 9, 9]]
    twice = LaboratoryResult("tca", 9.0, "x", "green", None, None, None)
    net, made, _, _ = weighed((strong, twice))
    assert len(made.structure.notes) == len(net.structure.notes) + 2


def test_an_answered_test_is_a_ratio_on_the_compound_scaled_to_one():
    _, made, evidence, raised = weighed(tested={"tca": 4.0, "geosmin": 0.25}, segments=("0",))
    found = {made.structure.compounds[node]: vector.tolist() for node, vector in evidence.compounds.items()}
    assert found == {"tca@0": [0.25, 1, 1], "geosmin@0": [1, 0.25, 0.25]}
    assert raised == frozenset()
    net, made, evidence, raised = weighed(tested={"tca": 4.0})
    assert [one.tolist() for one in evidence.heard.values()] == [[0.25, 1, 1]]
    assert len(made.structure.notes) == len(net.structure.notes) + 2
    assert raised == frozenset()


def test_a_compound_that_the_latest_sample_did_not_have_is_left_out():
    net, made, evidence, raised = weighed((result(),), segments=("2",))
    assert made is net
    assert not evidence.heard
    assert not evidence.compounds
    assert raised == frozenset()


def test_two_compounds_have_a_node_each():
    net, made, evidence, raised = weighed((result(), result("geosmin", "not_raised")))
    first = len(net.structure.heard)
    assert list(evidence.heard) == [first, first + 1]
    assert raised == {first}
    assert weighed((result(), result("geosmin")))[3] == {first, first + 1}
    assert [len(one) for one in made.structure.heard[first:]] == [2, 2]
    assert made.structure.heard[-1] == (len(net.structure.notes) + 2, len(net.structure.notes) + 3)
