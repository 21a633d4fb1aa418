"""Every id that one entry names in another, with the kind it must be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import INNOCENT
from tracer.knowledge.precedent import UNTRACED
from tracer.knowledge.strength import Citation, Strength


@dataclass(frozen=True, slots=True)
class Reference:
    """`entry` names `target`, which must be of `kind`; `where` says in which field."""

    entry: str
    where: str
    target: str
    kind: str


def references(base: KnowledgeBase) -> Iterator[Reference]:
    """All references of a knowledge base."""
    yield from _descriptors(base)
    yield from _compounds(base)
    yield from _faults(base)
    yield from _records(base)
    yield from _rules(base)
    yield from _practices(base)
    yield from _enquiries(base)
    yield from _phrases(base)
    yield from _sentences(base)
    yield from _materials(base)
    yield from _precedents(base)
    yield from _letters(base)
    yield from _striking(base)
    yield from _physics(base)


def _cites(entry: str, where: str, cites: Iterable[Citation]) -> Iterator[Reference]:
    for cite in cites:
        yield Reference(entry, f"{where}.cites", cite.source, "sources")


def _strength(entry: str, where: str, strength: Strength | None, bands: str) -> Iterator[Reference]:
    if strength is None:
        return
    yield from _cites(entry, where, strength.cites)
    if strength.band:
        yield Reference(entry, f"{where}.band", strength.band, bands)


def _descriptors(base: KnowledgeBase) -> Iterator[Reference]:
    for descriptor in base.descriptors.values():
        yield from _cites(descriptor.id, "descriptor", descriptor.cites)
        yield from _strength(descriptor.id, "leak", descriptor.leak, "link_bands")
        for confusion in descriptor.not_to_confuse:
            yield Reference(descriptor.id, "not_to_confuse", confusion.descriptor, "descriptors")
        if descriptor.seen_as:
            yield Reference(descriptor.id, "seen_as", descriptor.seen_as, "descriptors")
        for language in (*descriptor.words, *descriptor.misspelt):
            yield Reference(descriptor.id, "words", language, "languages")
    for ambiguity in base.ambiguities.values():
        for reading in ambiguity.notes:
            yield Reference(ambiguity.id, "readings", reading, "descriptors")
    for words in base.words.values():
        yield Reference(words.id, "language", words.language, "languages")
        if words.note:
            yield Reference(words.id, "note", words.note, "descriptors")
        if words.thing:
            yield Reference(words.id, "thing", words.thing, "things")
    for thing in base.things.values():
        for readings in thing.means.values():
            for reading in readings:
                if reading != INNOCENT:
                    yield Reference(thing.id, "means", reading, "descriptors")


def _compounds(base: KnowledgeBase) -> Iterator[Reference]:
    for compound in base.compounds.values():
        yield from _cites(compound.id, "compound", compound.cites)
        if compound.part_of:
            yield Reference(compound.id, "part_of", compound.part_of, "compounds")
        for note in compound.evokes:
            yield Reference(compound.id, "evokes", note.descriptor, "descriptors")
            yield from _strength(compound.id, "evokes", note.strength, "link_bands")
            yield from _cites(compound.id, "evokes", note.cites)
        for threshold in compound.thresholds:
            yield from _cites(compound.id, "thresholds", threshold.cites)


def _faults(base: KnowledgeBase) -> Iterator[Reference]:
    for fault in base.faults.values():
        yield Reference(fault.id, "stage", fault.stage, "stages")
        yield from _cites(fault.id, "fault", fault.cites)
        yield from _strength(fault.id, "prior", fault.prior, "prior_bands")
        yield from _strength(fault.id, "suspicion", fault.suspicion, "ratio_bands")
        for link in fault.causes:
            yield Reference(fault.id, "causes", link.compound, "compounds")
            yield from _strength(fault.id, "causes", link.strength, "link_bands")
            yield from _cites(fault.id, "causes", link.cites)


def _records(base: KnowledgeBase) -> Iterator[Reference]:
    for record in base.records.values():
        if record.stage:
            yield Reference(record.id, "stage", record.stage, "stages")
        for name in (*(record.between or ()), *(record.difference or ())):
            yield Reference(record.id, "between or difference", name, "records")
        for note in record.smells_of:
            yield Reference(record.id, "smells_of", note, "descriptors")
        if record.comes_before:
            yield Reference(record.id, "comes_before", record.comes_before, "records")


def _rules(base: KnowledgeBase) -> Iterator[Reference]:
    for rule in base.rules.values():
        yield from _cites(rule.id, "rule", rule.cites)
        for condition in (*(rule.when.all or ()), *(rule.when.any or ())):
            if condition.record and not condition.record.startswith("declared_"):
                yield Reference(rule.id, "when", condition.record, "records")
            if condition.finding:
                yield Reference(rule.id, "when", condition.finding, "findings")
        for conclusion in rule.then:
            bands = "ratio_bands" if conclusion.does == "favours" else "link_bands"
            yield from _strength(rule.id, "then", conclusion.strength, bands)
            yield from _strength(rule.id, "then.leak", conclusion.leak, "leak_bands")
            for target in conclusion.named():
                yield Reference(rule.id, "then", target, "faults")
            for target in conclusion.descriptors():
                yield Reference(rule.id, "then.expects", target, "descriptors")
            if conclusion.stage:
                yield Reference(rule.id, "then.stage", conclusion.stage, "stages")


def _practices(base: KnowledgeBase) -> Iterator[Reference]:
    for practice in base.practices.values():
        yield Reference(practice.id, "record", practice.record, "records")
        for name in practice.protects:
            yield Reference(practice.id, "protects", name, "stages" if name in base.stages else "faults")


def _enquiries(base: KnowledgeBase) -> Iterator[Reference]:
    for enquiry in base.enquiries.values():
        yield from _cites(enquiry.id, "enquiry", enquiry.cites)
        yield Reference(enquiry.id, "stage", enquiry.stage, "stages")
        for name in enquiry.settled_by:
            yield Reference(enquiry.id, "settled_by", name, "records")
        for tests in enquiry.told_by.values():
            for test in tests:
                yield Reference(enquiry.id, "told_by", test.record or "", "records")
        for row in enquiry.row.values():
            for name in row:
                yield Reference(enquiry.id, "row", name, "records")
        for given in enquiry.given:
            for fault in given.faults:
                yield Reference(enquiry.id, "given", fault, "faults")
            if given.stage:
                yield Reference(enquiry.id, "given", given.stage, "stages")
            if given.compound:
                yield Reference(enquiry.id, "given", given.compound, "compounds")


def _phrases(base: KnowledgeBase) -> Iterator[Reference]:
    for phrase in base.phrases.values():
        if phrase.record:
            yield Reference(phrase.id, "record", phrase.record, "records")
        for question in phrase.answer or ():
            yield Reference(phrase.id, "answer", question, "enquiries")
        if phrase.normal and phrase.normal != "any":
            yield Reference(phrase.id, "normal", phrase.normal, "stages")
        for language in phrase.ways:
            yield Reference(phrase.id, "ways", language, "languages")


def _materials(base: KnowledgeBase) -> Iterator[Reference]:
    for material in base.materials.values():
        yield from _cites(material.id, "material", material.cites)
        yield from _strength(material.id, "passes", material.passes, "link_bands")
        for language in (*material.names, *material.smells):
            yield Reference(material.id, "names", language, "languages")
        for note in material.notes:
            yield Reference(material.id, "notes", note, "descriptors")
        for compound in material.compounds:
            yield Reference(material.id, "compounds", compound, "compounds")
        for stage in material.stages:
            yield Reference(material.id, "stages", stage, "stages")


def _sentences(base: KnowledgeBase) -> Iterator[Reference]:
    for part in base.sentences.values():
        for one in part.sentences:
            yield Reference(part.id, "sentences.phrase", one.phrase, "phrases")
            for language in one.said:
                yield Reference(part.id, "sentences.said", language, "languages")


def _letters(base: KnowledgeBase) -> Iterator[Reference]:
    for letter in base.letters.values():
        yield Reference(letter.id, "language", letter.language, "languages")


def _striking(base: KnowledgeBase) -> Iterator[Reference]:
    striking = base.settings.tasters.striking
    for note in striking.notes if striking else ():
        yield Reference("settings", "tasters.striking.notes", note, "descriptors")


def _physics(base: KnowledgeBase) -> Iterator[Reference]:
    physics = base.settings.physics
    for name in type(physics).model_fields:
        yield from _cites("settings", f"physics.{name}", getattr(physics, name).cites)


def _precedents(base: KnowledgeBase) -> Iterator[Reference]:
    for case in base.precedents.values():
        for stage in (case.truth.stage, *case.truth.also):
            if stage not in UNTRACED:
                yield Reference(case.id, "truth.stage", stage, "stages")
        for fault in case.truth.faults:
            yield Reference(case.id, "truth.faults", fault, "faults")
