"""Each finding by itself: which are asked about, and that the likeliest stage and source of each are told."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tracer.explain import by_note as module
from tracer.explain.by_note import by_note
from tracer.inference.network import Traced

BASE = SimpleNamespace(
    descriptors={
        name: SimpleNamespace(label=name.title())
        for name in ("musty", "smoky", "earthy", "n4", "n5", "n6", "n7")
    },
    stages={"drying": SimpleNamespace(label="Drying"), "store": SimpleNamespace(label="Store")},
    faults={name: SimpleNamespace(id=name, label=name.title()) for name in ("rain", "fire", "damp")},
    faults_of=lambda stage: {"drying": ("rain", "fire"), "store": ("damp",)}[stage],
)
WHOLE = SimpleNamespace(fault={"rain": (0,), "fire": (1, 2), "damp": (3,)})
SMELL = SimpleNamespace(record="green_smells_musty", label="the green smells musty")


@pytest.fixture
def asked(monkeypatch):
    found = []

    def probabilities(network, evidence, finding, sets):
        found.append((finding, sets))
        # Drying, store, fire, damp.
        return [[0.2, 0.7, 0.1, 0.6]] if finding.heard == frozenset({5}) else [[0.8, 0.1, 0.75, 0.05]]

    monkeypatch.setattr(module, "source_probabilities", probabilities)
    return found


def told(reported, vectors, heard, signs=(), smelled=None, faults=("fire", "damp")):
    weighed = SimpleNamespace(
        reported=reported,
        vectors=vectors,
        traced=Traced(frozenset(heard), frozenset(signs)),
        smelled=smelled or {},
        network=None,
        evidence=None,
    )
    return by_note(BASE, SimpleNamespace(weighed=weighed, whole=WHOLE), faults)


def test_every_note_that_is_traced_has_its_likeliest_stage_and_source(asked):
    musty, smoky = told(
        ("musty", "smoky", "earthy"), {"musty": (5, 9), "smoky": (6,), "earthy": (7,)}, {5, 6}
    )
    assert [finding for finding, _ in asked] == [Traced(frozenset({5})), Traced(frozenset({6}))]
    assert asked[0][1] == [frozenset({0, 1, 2}), frozenset({3}), frozenset({1, 2}), frozenset({3})]
    shown = [[getattr(one, name) for name in one.__dataclass_fields__] for one in (musty, smoky)]
    assert shown == [
        ["musty", "Musty", "Store", 0.7, "damp", "Damp", 0.6],
        ["smoky", "Smoky", "Drying", 0.8, "fire", "Fire", 0.75],
    ]


def test_a_smell_of_the_green_that_is_traced_is_one_of_them(asked):
    found = told(("musty",), {"musty": (5,)}, {5}, {2, 4}, {2: SMELL, 3: SMELL})
    assert [one.label for one in found] == ["Musty", "the green smells musty"]
    assert asked[1][0] == Traced(signs=frozenset({2}))


def test_one_finding_alone_is_not_told_apart_nor_anything_without_a_source(asked):
    assert told(("musty",), {"musty": (5,)}, {5}) == ()
    assert told(("musty", "smoky"), {"musty": (5,)}, {5, 6}) == ()
    assert told(("musty", "smoky"), {"musty": (5,), "smoky": (6,)}, {5, 6}, faults=()) == ()
    assert asked == []


def test_so_many_are_told_at_most(asked):
    names = tuple(BASE.descriptors)
    many = told(names, {name: (at,) for at, name in enumerate(names)}, range(7))
    assert len(many) == 6
