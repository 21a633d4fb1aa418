"""How much each finding and each note weighs for one source.

Prior and history are log10 odds and log10 likelihood ratios, which add up. Notes in the cup do not: they
share compounds. A note's weight is therefore leave-one-out,
    log10 [ odds(fault | everything) / odds(fault | everything but this note) ],
which says what it adds given all the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log10

import numpy as np
from numpy.typing import NDArray

from tracer.inference.exact import posterior, without_descriptor
from tracer.inference.network import Evidence, Network
from tracer.knowledge.base import KnowledgeBase


@dataclass(frozen=True, slots=True)
class Weight:
    """What one finding or note adds to a source: a log10 likelihood ratio, given all the others."""

    text: str
    log10: float
    kind: str
    """prior | favours | shows | rules_out | answer | note"""
    rule: str = ""
    facts: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    targets: tuple[str, ...] = ()
    """Labels of what it bears on, where that is not said by its place."""
    silent: bool = False
    """True where a stronger finding of the same group spoke instead."""


def log_odds(probability: float) -> float:
    """log10 of the odds.

    >>> round(log_odds(0.5), 6)
    0.0
    """
    inside = min(max(probability, 1e-15), 1 - 1e-15)
    return log10(inside / (1 - inside))


def note_weights(
    base: KnowledgeBase,
    network: Network,
    evidence: Evidence,
    notes: Sequence[str],
    index: dict[str, int],
    apart: tuple[int, dict[int, NDArray[np.float64]]] = (0, {}),
) -> dict[str, tuple[Weight, ...]]:
    """Leave-one-out weight of every note, for every fault of the network.

    `apart` is the number of further absent notes, weighed together, and the evidence on compounds without them.
    """
    full = posterior(network, evidence).fault
    weights: dict[str, list[Weight]] = {fault: [] for fault in network.faults}
    for note in notes:
        left = posterior(network, without_descriptor(evidence, index[note])).fault
        found = evidence.descriptors[index[note]]
        heard = "found" if int(np.argmax(found)) > 0 else "looked for, not found"
        for position, fault in enumerate(network.faults):
            size = log_odds(float(full[position])) - log_odds(float(left[position]))
            if abs(size) >= 0.01:
                text = f"{base.descriptors[note].label}: {heard}"
                weights[fault].append(Weight(text, size, "note"))
    number, without_them = apart
    if number:
        left = posterior(network, replace(evidence, compounds=without_them)).fault
        text = f"{number} other note{'s' * (number != 1)} looked for, not found"
        for position, fault in enumerate(network.faults):
            size = log_odds(float(full[position])) - log_odds(float(left[position]))
            if abs(size) >= 0.01:
                weights[fault].append(Weight(text, size, "note"))
    return {fault: tuple(sorted(found, key=lambda w: -abs(w.log10))) for fault, found in weights.items()}
