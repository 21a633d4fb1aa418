"""The guard on density: how large the tables of the exact computation can become."""

from __future__ import annotations

import numpy as np

from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.skeleton import skeleton
from tracer.issues import Issue, Place

REFUSE = 20.0
"""log2 of the largest table beyond which nothing would be worked out in time."""
DRAWS = 40
USUAL = 5
"""Off-notes of a lot that are all to be weighed: a form rarely holds more; of more the faintest may be left out, and it is said."""


def largest_tables(
    network: Network, present: int = USUAL, absent: int = 0, draws: int = DRAWS
) -> list[float]:
    """log2 of the largest table for random sets of notes that hang together, sorted.

    A set starts from a random fault and takes the notes of faults that share compounds with it, since the
    notes of a real lot do so too. Notes looked for and absent give way to those found.
    """
    random = np.random.default_rng(1)
    structure = network.structure
    notes_of: dict[int, set[int]] = {}
    for compound, note in structure.note_links:
        notes_of.setdefault(compound, set()).update(structure.heard_of_note[note])
    found = []
    for _ in range(draws):
        chosen: list[int] = []
        while len(chosen) < min(present + absent, len(structure.heard)):
            fault = int(random.integers(len(structure.faults)))
            reach = {d for f, c in structure.fault_links if f == fault for d in notes_of.get(c, ())}
            chosen += [d for d in random.permutation(sorted(reach)) if d not in chosen][
                : present + absent - len(chosen)
            ]
        soft = {int(d): np.linspace(0.1, 1.0, network.numbers.states) for d in chosen}
        traced = Traced(frozenset(soft))
        found.append(skeleton(network, Evidence(soft), traced).order.log2_largest)
    return sorted(found)


def density_issues(network: Network, limit: float) -> list[Issue]:
    """Warn, or refuse, where one lot in ten with many notes would lose some of them: its tables pass the limit (log2)."""
    worst = largest_tables(network)
    size = worst[int(0.9 * (len(worst) - 1))]
    place = Place("knowledge")
    remedy = "Take links out: at most three compounds a fault, three notes a compound, and fewer confusions."
    message = (
        f"with five notes found, the largest table of one lot in ten passes 2^{size:.1f} entries"
        f" (limit 2^{limit:g}): its faintest notes would be left out"
    )
    if size > REFUSE:
        return [Issue(place, message, remedy)]
    return [Issue(place, message, remedy, "warning")] if size > limit else []
