"""Notes looked for and not found, beyond those in the exact computation, as factors on compounds and faults.

With v(y) the likelihood of the reports given the note's state y,
    v(max(a, b)) is taken as v(a) v(b) for contributions a, b of two compounds,
exact where at most one of them is heard. A compound that may have made a note found takes its factor itself. One that could not,
but that a fault in question makes besides, hands it on to its faults,
    E[v(contribution) | the fault on] / v(nothing),
exact where at most one of its faults is on. So the computation grows by nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from tracer.inference.network import Evidence, Network, Structure

Array = NDArray[np.float64]


def compounds_making(structure: Structure, present: Iterable[str]) -> set[int]:
    """Compounds that may have made a note found, in any segment."""
    chosen = set(present)
    return structure.makers(place for place, name in enumerate(structure.named) if name in chosen)


def compounds_beside(structure: Structure, making: set[int]) -> set[int]:
    """Other compounds of the faults that make them."""
    faults = structure.faults_into(making)
    return {
        structure.fault_links[link][1] for one in faults for link in structure.links_of_fault[one]
    } - making


def absences(
    network: Network, present: Iterable[str], reports: Mapping[int, Array], evidence: Evidence
) -> tuple[dict[int, Array], Array]:
    """Factors on compounds by state, and on the odds of every fault, of notes heard by their reports."""
    structure, numbers = network.structure, network.numbers
    making = compounds_making(structure, present)
    audible = {note for name in evidence.heard for note in structure.heard[name]}
    exact = structure.makers(audible) | set(evidence.compounds)
    beside = compounds_beside(structure, making) - exact
    bearing = np.zeros(len(structure.compounds), dtype=bool)
    bearing[list(making | beside | exact)] = True
    laws = np.diff(numbers.note[0], axis=-1, prepend=0.0)
    into = [
        [link for note in structure.heard[node] for link in structure.links_into_note[note]]
        for node in reports
    ]
    links = np.array([link for some in into for link in some], dtype=np.int64)
    told = np.repeat(np.arange(len(into)), [len(some) for some in into])
    kept = bearing[structure.sources[links]]
    links, told = links[kept], told[kept]
    factors: dict[int, Array] = {}
    if len(links):
        expected = np.einsum("pcn,pn->pc", laws[links], np.array(list(reports.values()))[told])
        product = np.ones((len(structure.compounds), numbers.states))
        np.multiply.at(product, structure.sources[links], expected)
        factors = {
            compound: product[compound] for compound in dict.fromkeys(structure.sources[links].tolist())
        }
    given = np.diff(numbers.fault[0], axis=-1, prepend=0.0)
    quiet = np.ones(len(structure.faults))
    for compound in beside & set(factors):
        value = factors.pop(compound)
        for link in structure.links_into_compound[compound]:
            quiet[structure.fault_links[link][0]] *= float(given[link] @ value) / value[0]
    return factors, quiet
