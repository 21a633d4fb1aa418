"""The causal chain that carries a source to the cups, and what it would have brought besides."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.causes.graph import Step, note_steps
from tracer.causes.stated import source_names, strength_text
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.scale import link
from tracer.knowledge.strength import Strength
from tracer.wording.sentence import say


@dataclass(frozen=True, slots=True)
class ChainStep:
    """One link fault -> compound or compound -> note."""

    cause: str
    effect: str
    strength: str
    basis: str
    sources: tuple[str, ...]


USUAL = 0.5


def chain(base: KnowledgeBase, fault: str, reported: tuple[str, ...]) -> tuple[ChainStep, ...]:
    """Links fault -> compound -> reported note, the strongest carriers first.

    A compound that reaches none of the reported notes is left out.
    """
    entry = base.faults[fault]
    steps: list[tuple[float, list[ChainStep]]] = []
    for item in entry.causes:
        compound = base.compounds[item.compound]
        notes = note_steps(base, item.compound)
        carried = [(name, _best(base, notes[name])) for name in reported if name in notes]
        if not carried:
            continue
        first = ChainStep(
            entry.label,
            compound.label,
            say("{spread}, {strength}", spread=item.spread, strength=strength_text(item.strength)),
            _basis(item.strength),
            source_names(item.cites or entry.cites),
        )
        rest = [_to_note(base, compound.label, name, step) for name, step in carried]
        weight = link(item.strength, base.settings)[1] * max(_size(base, step) for _, step in carried)
        steps.append((weight, [first, *rest]))
    steps.sort(key=lambda pair: -pair[0])
    return tuple(step for _, part in steps for step in part)


def _best(base: KnowledgeBase, steps: tuple[Step, ...]) -> Step:
    return max(steps, key=lambda step: _size(base, step))


def _size(base: KnowledgeBase, step: Step) -> float:
    strength = link(step.strength, base.settings)[1] if step.strength else 0.0
    return strength * (base.settings.tasters.confusion.best if step.confusion else 1.0)


def _to_note(base: KnowledgeBase, compound: str, name: str, step: Step) -> ChainStep:
    label = base.descriptors[name].label
    if step.confusion:
        text = say("taken for {label}", label=base.descriptors[step.cause].label)
        return ChainStep(compound, label, text, "judgement", ())
    return ChainStep(
        compound, label, strength_text(step.strength), _basis(step.strength), source_names(step.cites)
    )


def _basis(strength: Strength | None) -> str:
    return (strength.basis or "unknown") if strength else "unknown"


def missing(
    base: KnowledgeBase, fault: str, reported: tuple[str, ...], absent: tuple[str, ...]
) -> tuple[str, ...]:
    """Notes the fault would usually make: those looked for and not found, and those nobody looked for."""
    found: dict[str, str] = {}
    for item in base.faults[fault].causes:
        made = link(item.strength, base.settings)[1]
        for note in base.compounds[item.compound].evokes:
            if note.descriptor in reported or made * link(note.strength, base.settings)[1] < USUAL * USUAL:
                continue
            state = say("looked for, not found") if note.descriptor in absent else say("not looked for")
            found.setdefault(
                note.descriptor,
                say("{label} ({state})", label=base.descriptors[note.descriptor].label, state=state),
            )
    return tuple(found.values())
