"""Networks written out by names, as the check nets are, built into arrays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tracer.inference.network import Evidence, Network, Numbers, Structure, Traced


@dataclass(frozen=True)
class Built:
    """A network with its evidence, and where each name went."""

    network: Network
    evidence: Evidence
    traced: Traced
    faults: tuple[str, ...]
    stages: Mapping[str, tuple[int, ...]]
    signs: tuple[str, ...]


def _places(pairs: list[tuple[str, str]]) -> dict[tuple[str, str], int]:
    return {pair: place for place, pair in enumerate(dict.fromkeys(pairs))}


def build(net: Mapping[str, Any]) -> Built:
    """A network from its written form: faults, links, leaks, signs, events, words, evidence and what is traced."""
    faults = {fault["id"]: place for place, fault in enumerate(net["faults"])}
    segment = {fault["id"]: fault["segment"] for fault in net["faults"]}
    compound = _places(
        [(link["compound"], segment[link["fault"]]) for link in net["fault_links"]]
        + [(leak["compound"], leak["segment"]) for leak in net.get("compound_leaks", ())]
    )
    note = _places(
        [
            (link["note"], seg)
            for name, seg in compound
            for link in net["note_links"]
            if link["compound"] == name
        ]
        + [(leak["note"], leak["segment"]) for leak in net.get("note_leaks", ())]
    )
    words = {word["id"]: place for place, word in enumerate(net.get("words", ()))}
    reach = {event["id"]: event["reach"] for event in net["events"]}
    wanted = [(one["note"], one["event"]) for one in net["evidence"].get("notes", ())]
    wanted += [(one["note"], one["event"]) for one in net["traced"] if "note" in one]
    wanted += [(name, word["event"]) for word in net.get("words", ()) for name in word["readings"]]
    heard = _places(wanted)
    note_links = [
        (place, note[link["note"], seg], link["law"])
        for (name, seg), place in compound.items()
        for link in net["note_links"]
        if link["compound"] == name
    ]
    signs = {sign["id"]: place for place, sign in enumerate(net.get("signs", ()))}
    sign_faults, sign_compounds = [], []
    for sign in net.get("signs", ()):
        for cause, chance in sign.get("causes", {}).items():
            sign_faults.append((signs[sign["id"]], faults[cause], chance))
        for one in sign.get("compounds", ()):
            sign_compounds.append(
                (signs[sign["id"]], compound[one["compound"], one["segment"]], one["by_state"])
            )
    word_links = [
        (words[word["id"]], heard[name, word["event"]], share)
        for word in net.get("words", ())
        for name, share in word["readings"].items()
    ]
    compound_leak, note_leak = (
        np.tile(np.eye(3)[0], (len(compound), 1)),
        np.tile(np.eye(3)[0], (len(note), 1)),
    )
    for leak in net.get("compound_leaks", ()):
        compound_leak[compound[leak["compound"], leak["segment"]]] = leak["law"]
    for leak in net.get("note_leaks", ()):
        note_leak[note[leak["note"], leak["segment"]]] = leak["law"]
    structure = Structure(
        tuple(faults),
        tuple("@".join(pair) for pair in compound),
        tuple("@".join(pair) for pair in note),
        tuple(tuple(note[name, seg] for seg in reach[event] if (name, seg) in note) for name, event in heard),
        tuple(
            (faults[link["fault"]], compound[link["compound"], segment[link["fault"]]])
            for link in net["fault_links"]
        ),
        tuple((c, d) for c, d, _ in note_links),
        tuple(signs),
        tuple((s, f) for s, f, _ in sign_faults),
        tuple((s, c) for s, c, _ in sign_compounds),
        tuple(words),
        tuple((w, h) for w, h, _ in word_links),
    )
    numbers = Numbers(
        np.array([[fault["prior"] for fault in net["faults"]]]),
        np.cumsum(np.array([link["law"] for link in net["fault_links"]]).reshape(-1, 3), axis=-1)[None],
        np.cumsum(compound_leak, axis=-1)[None],
        np.cumsum(
            np.array([[[1, 0, 0], law[1], law[2]] for _, _, law in note_links], dtype=float).reshape(
                -1, 3, 3
            ),
            axis=-1,
        )[None],
        np.cumsum(note_leak, axis=-1)[None],
        np.array([[sign["leak"] for sign in net.get("signs", ())]]).reshape(1, -1),
        np.array([[p for _, _, p in sign_faults]]).reshape(1, -1),
        np.array([[[0.0, *law] for _, _, law in sign_compounds]]).reshape(1, -1, 3),
        np.array([[u for _, _, u in word_links]]).reshape(1, -1),
        np.cumsum(
            np.array(
                [[1 - word["leak"], word["leak"] / 2, word["leak"] / 2] for word in net.get("words", ())]
            ).reshape(-1, 3),
            axis=-1,
        )[None],
    )
    given = net["evidence"]
    tested: dict[int, np.ndarray] = {}
    for one in given.get("compounds", ()):
        (seg,) = one["segments"]
        tested[compound[one["compound"], seg]] = np.array(one["likelihood"])
    evidence = Evidence(
        {heard[one["note"], one["event"]]: np.array(one["likelihood"]) for one in given.get("notes", ())},
        {
            words[word["id"]]: np.array(word["likelihood"])
            for word in net.get("words", ())
            if "likelihood" in word
        },
        {
            signs[name]: np.array([0.0, 1.0] if seen else [1.0, 0.0])
            for name, seen in given.get("signs", {}).items()
        },
        tested,
    )
    traced = Traced(
        frozenset(heard[one["note"], one["event"]] for one in net["traced"] if "note" in one),
        frozenset(signs[one["sign"]] for one in net["traced"] if "sign" in one),
    )
    stages: dict[str, tuple[int, ...]] = {}
    for fault in net["faults"]:
        stages[fault["stage"]] = (*stages.get(fault["stage"], ()), faults[fault["id"]])
    return Built(Network(structure, numbers), evidence, traced, tuple(faults), stages, tuple(signs))
