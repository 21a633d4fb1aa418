"""One lot's evidence: likelihoods of its notes and laboratory results on the nodes of the network.

Notes found, and the few looked-for-and-absent ones that bear most, are nodes of the exact computation. The other absent ones
enter as factors on the compounds that could have made them: with v(y) the likelihood of the reports given the note's state y,
    v(max(a, b)) is taken as v(a) v(b) for contributions a, b of two compounds,
exact where at most one of them is heard. Left out instead, absent notes would make every source look likelier than it is
(`python -m tests.calibration`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.inference.assemble import Layout
from tracer.inference.network import Evidence
from tracer.inference.reports import likelihood
from tracer.inference.skeleton import skeleton
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import LaboratoryResult
from tracer.lots.observations import Heard, Observation

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Weighed:
    """The evidence as weighed, and which notes were left out."""

    evidence: Evidence
    reported: tuple[str, ...]
    absent: tuple[str, ...]
    absent_apart: tuple[str, ...]
    """Absent notes weighed on each compound apart."""
    tests: dict[int, Array]
    """The evidence on compounds without those notes: laboratory results and answered tests."""
    absent_left_out: int
    """Absent notes that no candidate source could have made."""
    present_left_out: tuple[str, ...]
    """Notes reported by the fewest cups, beyond what the exact computation takes."""


def weigh(
    base: KnowledgeBase,
    plan: Layout,
    heard: Heard,
    laboratory: Iterable[LaboratoryResult],
    tested: Mapping[str, float],
    panel: MeasuredPanel | None = None,
) -> Weighed:
    """Turn observations, laboratory results and answered tests into likelihood vectors.

    `tested` holds P(answer | compound there) / P(answer | not there) by compound node.
    """
    observations = [*heard.observations, *_worked_down_the_list(base, heard)]
    by_note: dict[str, list[Observation]] = {}
    for observation in observations:
        by_note.setdefault(observation.descriptor, []).append(observation)
    limits = base.settings.limits
    named = [name for name in by_note if any(o.found != 0 for o in by_note[name])]
    named.sort(key=lambda name: -_loudness(by_note[name]))
    present, dropped = named[: limits.present_weighed], named[limits.present_weighed :]
    bearing = _bearing(plan, present)
    looked_for = [name for name in by_note if name not in named and bearing.get(name, 0.0) > 0]
    looked_for.sort(key=lambda name: (-_explicit(by_note[name]), -bearing[name]))
    settings = base.settings
    vectors = {
        plan.descriptor[name]: likelihood(by_note[name], settings.tasters, settings.cups, panel)
        for name in (*present, *looked_for[: limits.absent_weighed])
    }
    tests = _tests(base, plan, laboratory, tested)
    absent = looked_for[: limits.absent_weighed]
    evidence = Evidence(vectors, tests)
    while _too_large(plan, evidence, limits.largest_table):
        gone = absent.pop() if absent else present.pop()
        if gone in named:
            dropped = [gone, *dropped]
        del vectors[plan.descriptor[gone]]
        evidence = Evidence(vectors, tests)
    apart = [name for name in looked_for if name not in absent]
    for name in apart:
        vectors[plan.descriptor[name]] = likelihood(by_note[name], settings.tasters, settings.cups, panel)
    compounds = _on_compounds(
        plan, present, {name: vectors.pop(plan.descriptor[name]) for name in apart}, tests
    )
    evidence = Evidence(vectors, compounds)
    left_out = len(by_note) - len(named) - len(looked_for)
    reported = tuple(name for name in heard.reported() if name in present)
    return Weighed(evidence, reported, tuple(absent), tuple(apart), tests, left_out, tuple(dropped))


def _on_compounds(
    plan: Layout, present: list[str], apart: Mapping[str, Array], tests: Mapping[int, Array]
) -> dict[int, Array]:
    """Evidence on compounds times a factor for each absent note: E[v(its contribution) | the compound's state].

    Only compounds that may have made a note found take one, so that the computation grows by nothing.
    """
    candidates = {plan.descriptor[name] for name in present}
    making = {link.compound for link in plan.network.note_links if link.descriptor in candidates}
    vectors = {compound: np.array(vector) for compound, vector in tests.items()}
    for name, reports in apart.items():
        for position in plan.network.links_of_descriptor[plan.descriptor[name]]:
            link = plan.network.note_links[position]
            if link.compound in making:
                before = vectors.get(link.compound, np.ones(plan.network.states))
                vectors[link.compound] = before * (np.asarray(link.law) @ reports)
    return {compound: vector / vector.max() for compound, vector in vectors.items()}


def _too_large(plan: Layout, evidence: Evidence, limit: float) -> bool:
    return (
        skeleton(plan.network, evidence, switches=True).plan.log2_largest > limit
        and len(evidence.descriptors) > 1
    )


def _loudness(observations: list[Observation]) -> float:
    return sum((0.5 if o.found is None else o.found) / o.cups for o in observations)


def _explicit(observations: list[Observation]) -> bool:
    return any(o.words for o in observations)


def _bearing(plan: Layout, present: list[str]) -> dict[str, float]:
    """How strongly each note hangs on the compounds that can explain the reported ones."""
    chosen = {plan.descriptor[name] for name in present}
    compounds = {link.compound for link in plan.network.note_links if link.descriptor in chosen}
    found: dict[str, float] = {}
    for link in plan.network.note_links:
        if link.compound in compounds:
            name = plan.network.descriptors[link.descriptor]
            found[name] = max(found.get(name, 0.0), float(1 - link.law[-1][0]))
    return found


def _worked_down_the_list(base: KnowledgeBase, heard: Heard) -> list[Observation]:
    """A taster who looked for every note and did not name one found none of it."""
    said = {(o.taster, o.cupping, o.descriptor) for o in heard.observations}
    place = heard.observations[0].place if heard.observations else None
    if place is None:
        return []
    return [
        Observation(name, taster, 0, cups, "unstated", False, "", cupping, place)
        for taster, cups, cupping in heard.checked_all
        for name in base.descriptors
        if (taster, cupping, name) not in said
    ]


def _tests(
    base: KnowledgeBase, plan: Layout, results: Iterable[LaboratoryResult], tested: Mapping[str, float]
) -> dict[int, Array]:
    vectors = {
        plan.compound[node]: np.array([1.0, ratio, ratio]) / max(1.0, ratio) for node, ratio in tested.items()
    }
    law = base.settings.laboratory
    for result in results:
        if not result.known or result.result is None:
            continue
        index = plan.compound[base.node(result.compound)]
        laws = {"raised": law.raised, "detected": law.detected}
        vector = np.array(laws.get(result.result, law.not_raised))
        before = vectors.get(index)
        # Results on one compound or its group are one piece of evidence: the more telling one speaks.
        if before is None or np.ptp(np.log(vector)) > np.ptp(np.log(before)):
            vectors[index] = vector
    return vectors
