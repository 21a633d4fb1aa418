"""The cause graph: stage -> fault -> compound -> off-note, as a networkx directed graph.

It serves browsing both ways and the chains of an explanation; the numbers of the inference are laid
out from the same links in `tracer.inference.assemble`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.strength import Citation, Strength


@dataclass(frozen=True, slots=True)
class Step:
    """One link of a chain: what leads to what, how strongly, on whose word."""

    cause: str
    effect: str
    strength: Strength | None
    cites: tuple[Citation, ...]
    spread: str | None = None
    confusion: bool = False


def cause_graph(base: KnowledgeBase) -> Any:
    """Build the graph. Every node has `kind` and `label`; every link its `step`."""
    import networkx as nx  # takes longer to import than a trace takes; only browsing needs it

    graph = nx.DiGraph()
    for stage in base.stages.values():
        graph.add_node(stage.id, kind="stage", label=stage.label)
    for descriptor in base.descriptors.values():
        graph.add_node(descriptor.id, kind="descriptor", label=descriptor.label)
    for compound in base.compounds.values():
        graph.add_node(compound.id, kind="compound", label=compound.label)
        if compound.part_of:
            graph.add_edge(
                compound.id, compound.part_of, step=Step(compound.id, compound.part_of, None, compound.cites)
            )
        for note in compound.evokes:
            step = Step(compound.id, note.descriptor, note.strength, note.cites)
            graph.add_edge(compound.id, note.descriptor, step=step)
    for fault in base.faults.values():
        graph.add_node(fault.id, kind="fault", label=fault.label)
        graph.add_edge(fault.stage, fault.id, step=Step(fault.stage, fault.id, None, fault.cites))
        for link in fault.causes:
            step = Step(fault.id, link.compound, link.strength, link.cites, spread=link.spread)
            graph.add_edge(fault.id, link.compound, step=step)
    return graph


def note_steps(base: KnowledgeBase, compound: str) -> dict[str, tuple[Step, ...]]:
    """Every note a compound may be reported as: its own, and those whose words are swapped with them.

    The steps of one note are alternatives: its own link, and links through a note it is confused with.
    """
    found: dict[str, list[Step]] = {}
    for note in base.compounds[compound].evokes:
        found.setdefault(note.descriptor, []).append(
            Step(compound, note.descriptor, note.strength, note.cites)
        )
        for other in base.swapped(note.descriptor):
            step = Step(note.descriptor, other, note.strength, (), confusion=True)
            found.setdefault(other, []).append(step)
    return {name: tuple(steps) for name, steps in found.items()}


def reaches(base: KnowledgeBase, fault: str) -> dict[str, set[str]]:
    """Notes a fault can be reported as -> the compounds that carry them there."""
    carried: dict[str, set[str]] = {}
    for link in base.faults[fault].causes:
        for note in note_steps(base, link.compound):
            carried.setdefault(note, set()).add(link.compound)
    return carried
