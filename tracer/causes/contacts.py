"""Faults made of what a lot has met: "tainted by onions (Transport)" for every contact on its sheet.

A material of the knowledge base needs no fault of its own. Of a contact that is known the prior of its fault is the chance that its
smell passes to coffee, times how near it came, shared out over the stages where it may have been; given that it passed, its first
note is usual and the others are less so. What nearly every lot meets (jute sacks, a sheet) says nothing by being there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.compound import Compound
from tracer.knowledge.entries import INNOCENT, Fault
from tracer.knowledge.scale import link
from tracer.lots.lot import Contact, Lot
from tracer.wording.sentence import Own, say
from tracer.words.reading import read_words
from tracer.words.vocabulary import Vocabulary


def with_contacts(base: KnowledgeBase, lot: Lot, vocabulary: Vocabulary) -> KnowledgeBase:
    """The knowledge with the faults that the lot's contacts make; the same base where they make none."""
    made = dict(_made(base, lot, vocabulary))
    if not made:
        return base
    faults = {fault.id: fault for fault, _ in made.values()}
    compounds = {compound.id: compound for _, compound in made.values()}
    return replace(base, faults={**base.faults, **faults}, compounds={**base.compounds, **compounds})


def fault_stem(number: int, contact: Contact) -> str:
    """How the ids of a contact's faults begin; the stage follows. `number` is its place on the sheet, from 0."""
    return f"contact_{contact.material or f'thing_{number + 1}'}"


def contact_stage(fault: str, base: KnowledgeBase) -> str | None:
    """The stage of a fault that a contact makes, by its id; None for any other id."""
    stage = next((name for name in base.stages if fault.endswith(f"_{name}")), None)
    if stage is None or not fault.startswith("contact_"):
        return None
    thing = fault[len("contact_") : -len(stage) - 1]
    return stage if thing in base.materials or thing.startswith("thing_") else None


def _made(
    base: KnowledgeBase, lot: Lot, vocabulary: Vocabulary
) -> Iterator[tuple[str, tuple[Fault, Compound]]]:
    """Faults with what they leave, by id; of the same material at the same stage the nearest contact counts."""
    nearness = base.settings.contacts.nearness
    order = sorted(enumerate(lot.contact), key=lambda one: nearness[one[1].how or "unsaid"])
    for number, contact in order:
        notes = _notes(base, contact, vocabulary)
        stages = _stages(base, contact)
        for stage in stages if notes else ():
            name = f"{fault_stem(number, contact)}_{stage}"
            yield name, _fault(base, contact, notes, stage, name, len(stages), lot.taken_unread)


def _notes(base: KnowledgeBase, contact: Contact, vocabulary: Vocabulary) -> tuple[str, ...]:
    """Off-notes that the thing can bring, the usual one first: what the sheet says it smells of, then what is known of it."""
    known = base.materials[contact.material] if contact.material else None
    said = _smelled(contact.smell, vocabulary) if contact.smell else ()
    if known is not None and known.usual and not said:
        return ()
    return tuple(dict.fromkeys((*said, *(known.notes if known else ()))))


def _smelled(text: str, vocabulary: Vocabulary) -> tuple[str, ...]:
    found = (
        note
        for one in read_words(text, vocabulary)
        if one.state == "present"
        for note in (one.descriptor, *one.candidates)
        if note is not None and note != INNOCENT
    )
    return tuple(dict.fromkeys(found))


def _stages(base: KnowledgeBase, contact: Contact) -> tuple[str, ...]:
    if contact.stage:
        return (contact.stage,)
    known = base.materials[contact.material].stages if contact.material else ()
    return known or tuple(base.settings.contacts.stages)


def _fault(
    base: KnowledgeBase,
    contact: Contact,
    notes: tuple[str, ...],
    stage: str,
    name: str,
    among: int,
    unread: bool,
) -> tuple[Fault, Compound]:
    law, settings = base.settings.contacts, base.settings
    known = base.materials[contact.material] if contact.material else None
    thing = known.label if known else Own(contact.words)
    near = law.nearness[contact.how or "unsaid"] * (settings.unread.contact if unread else 1.0) / among
    passes = link(known.passes if known else law.unknown_passes, settings)
    low, best, high = (min(end * near, law.most) for end in passes)
    cites = known.cites if known else ()
    usual, other = law.first_note, law.other_notes
    compound = {
        "id": name,
        "label": name,
        "chemical_class": name,
        "identified": False,
        "evokes": [
            {"descriptor": note, "strength": other if place else usual} for place, note in enumerate(notes)
        ],
        "survives_roasting": "unknown",
        "handling": "never_mixture",
        "cites": cites,
    }
    fault = {
        "id": name,
        "label": name,
        "stage": stage,
        "definition": name,
        "unit": settings.patterns.usual[stage],
        "prior": {"low": low, "best": best, "high": high, "basis": "judgement"},
        "causes": [{"compound": name, "spread": law.spread, "strength": law.reaches}],
        "caution": law.cautions.get(known.handling) if known else None,
        "cites": cites,
    }
    # The models make plain text of what they read: sentences go in afterwards, so that they are told in the reader's language.
    told_fault = {
        "label": say("tainted by {thing} ({label})", thing=thing, label=base.stages[stage].label.lower()),
        "definition": say(
            "The coffee met {thing}, as the sheet says, and its smell passed; the prior is how often it does.",
            thing=thing,
        ),
        "confirm": (
            say("smell {thing} beside the coffee", thing=thing),
            say("cup what lay nearest against what lay farthest away"),
        ),
        "remedy": (say("part what met it from the rest, and cup both"),),
        "prevention": (say("nothing that smells stands or travels with coffee"),),
    }
    told_compound = {
        "label": say("what {thing} left on the coffee", thing=thing),
        "chemical_class": say("smell of what the coffee met"),
    }
    return (
        Fault.model_validate(fault).model_copy(update=told_fault),
        Compound.model_validate(compound).model_copy(update=told_compound),
    )
