"""Laboratory results and answered tests in the network: on the compound as the latest sample had it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tracer.inference.assemble import Whole
from tracer.inference.chain import LOT, Chain
from tracer.inference.network import Evidence, Network
from tracer.inference.odour_activity import activity, likelihood
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import LaboratoryResult

Array = NDArray[np.float64]
MEASURED = "measured "
"""Before the name of a compound, in the node of its result."""


def measured(
    base: KnowledgeBase,
    whole: Whole,
    chain: Chain,
    network: Network,
    results: Iterable[LaboratoryResult],
    tested: Mapping[str, float],
) -> tuple[Network, Evidence, frozenset[int]]:
    """Laboratory results and answered tests, on the compound as the latest sample had it: the most of its segments. A figure of
    the green has nothing of the bench.

    The last are the nodes of compounds that the laboratory found.
    """
    vectors = {node: np.array([1.0, ratio, ratio]) / max(1.0, ratio) for node, ratio in tested.items()}
    found_there: set[str] = set()
    unroasted: set[str] = set()
    law = base.settings.laboratory
    for result in results:
        if not result.known:
            continue
        node = base.node(result.compound)
        found = activity(base, result)
        if found is not None:
            vector = likelihood(found, base.settings.odour_activity)
        elif result.result is not None:
            laws = {"raised": law.raised, "detected": law.detected}
            vector = np.array(laws.get(result.result, law.not_raised))
        else:
            continue
        if vector[0] < vector[-1]:
            found_there.add(node)
        before = vectors.get(node)
        # Results on one compound or its group are one piece of evidence: the more telling one speaks.
        if before is None or np.ptp(np.log(vector)) > np.ptp(np.log(before)):
            vectors[node] = vector
            if result.matrix == "green":
                unroasted.add(node)
    if not vectors:
        return network, Evidence(), frozenset()
    structure, numbers = network.structure, network.numbers
    reached = set(chain.reach[0]) if chain.reach else set(range(len(chain.segments)))
    green = {place for place in reached if any(bench == LOT for _, bench, _ in chain.segments[place])}
    compounds: dict[int, Array] = {}
    heard: dict[int, Array] = {}
    notes: list[str] = []
    links: list[tuple[int, int]] = []
    members: list[tuple[int, ...]] = []
    laws_of: list[Array] = []
    raised: set[int] = set()
    for name, vector in vectors.items():
        here = [
            node
            for node in whole.compound[name]
            if int(structure.compounds[node].partition("@")[2]) in (green if name in unroasted else reached)
        ]
        if not here:
            continue
        if len(here) == 1 and name not in found_there:
            compounds[here[0]] = vector
            continue
        heard[len(structure.heard) + len(members)] = vector
        if name in found_there:
            raised.add(len(structure.heard) + len(members))
        own = []
        for place in here:
            own.append(len(structure.notes) + len(notes))
            links.append((place, own[-1]))
            notes.append(f"{MEASURED}{name}@{place}")
            laws_of.append(np.cumsum(np.eye(3), axis=1))
        members.append(tuple(own))
    if members:
        structure = replace(
            structure,
            notes=(*structure.notes, *notes),
            note_links=(*structure.note_links, *links),
            heard=(*structure.heard, *members),
        )
        numbers = replace(
            numbers,
            note=np.concatenate([numbers.note, np.array(laws_of)[None]], axis=1),
            note_leak=np.concatenate([numbers.note_leak, np.ones((1, len(notes), 3))], axis=1),
        )
        network = network.apart().grown(structure, numbers)
    return network, Evidence(heard=heard, compounds=compounds), frozenset(raised)
