"""Which notes the knowledge expects most often, so that a list for tapping begins with them."""

from __future__ import annotations

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.scale import link, prior


def usual_notes(base: KnowledgeBase) -> tuple[str, ...]:
    """Every note, the most often expected first: sum over chains of prior x link to the compound x link to the note."""
    expected = dict.fromkeys(base.descriptors, 0.0)
    for fault in base.faults.values():
        happens = prior(fault, base.settings).best
        for made in fault.causes:
            reaches = happens * link(made.strength, base.settings).best
            for note in base.compounds[made.compound].evokes:
                expected[note.descriptor] += reaches * link(note.strength, base.settings).best
    return tuple(sorted(expected, key=lambda name: (-expected[name], name)))
