"""Whether what the knowledge says stands on a source: figures that rest on more than judgement, and where in the source it is."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.issues import Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.strength import Citation, Entry, Strength

Problems = Iterator[Issue]
CITING = ("descriptors", "compounds", "faults", "rules", "enquiries", "materials")


def at(base: KnowledgeBase, identity: str) -> Place:
    """Where an entry stands."""
    return base.places.get(identity, Place("knowledge"))


def uncited_numbers(base: KnowledgeBase) -> Problems:
    """A figure said to rest on more than judgement needs a citation, no weaker than it claims; and nobody counts by judgement."""
    for enquiry in base.enquiries.values():
        if enquiry.basis not in ("judgement", "casebook") and not enquiry.cites:
            message = f"'{enquiry.id}' has figures with basis {enquiry.basis} and no citation"
            yield Issue(at(base, enquiry.id), message, "Cite the source, or call it judgement.")
    for entry, strength, inherited in _strengths(base):
        if strength.count is not None and strength.basis == "judgement":
            message = f"'{entry}' has the count {strength.count} with basis judgement"
            yield Issue(at(base, entry), message, "Say what was counted, study or casebook, or give a band.")
        if strength.unknown or strength.basis in (None, "judgement", "casebook"):
            continue
        cites = (*strength.cites, *inherited)
        if not cites:
            message = f"'{entry}' has a figure with basis {strength.basis} and no citation"
            yield Issue(at(base, entry), message, "Cite the source, or call it judgement.")
        elif strength.basis == "study" and not any(_is_study(base, cite) for cite in cites):
            message = f"'{entry}' has a figure with basis study, but cites no article or thesis"
            yield Issue(at(base, entry), message, "Cite the study, or call the basis statement.")


def older_priors(base: KnowledgeBase) -> Problems:
    """A figure of a prior that does not say what it is a share of is read as of suspected lots, as it was meant before 2026.12."""
    if base.settings.suspicion is None:
        return
    for fault in base.faults.values():
        stated = fault.prior.low is not None or fault.prior.count is not None
        if stated and fault.prior.of == "suspected":
            message = f"the prior of '{fault.id}' counts as a share of the lots that somebody wants traced"
            remedy = "Where it is a share of all lots cupped, say `of: all_lots`; `tracer cases learn --accept` writes it so."
            yield Issue(at(base, fault.id), message, remedy, "note")


def _is_study(base: KnowledgeBase, cite: Citation) -> bool:
    source = base.sources.get(cite.source)
    return source is not None and source.kind in ("article", "thesis", "book")


def _strengths(base: KnowledgeBase) -> Iterator[tuple[str, Strength, tuple[Citation, ...]]]:
    for fault in base.faults.values():
        yield fault.id, fault.prior, fault.cites
        if fault.suspicion:
            yield fault.id, fault.suspicion, fault.cites
        for link in fault.causes:
            yield fault.id, link.strength, (*link.cites, *fault.cites)
    for compound in base.compounds.values():
        for note in compound.evokes:
            yield compound.id, note.strength, (*note.cites, *compound.cites)
    for rule in base.rules.values():
        for conclusion in rule.then:
            for strength in (conclusion.strength, conclusion.leak):
                if strength:
                    yield rule.id, strength, rule.cites
    for descriptor in base.descriptors.values():
        if descriptor.leak:
            yield descriptor.id, descriptor.leak, descriptor.cites


def unlocated(base: KnowledgeBase) -> Problems:
    """How many citations of texts that were read say where in the text it stands: one note for all that do not."""
    seen = [
        (entry, cite)
        for kind in CITING
        for entry, item in base.kind(kind).items()
        for cite in _citations(item)
        if cite.read == "seen"
    ]
    lacking = [(entry, cite) for entry, cite in seen if cite.at is None]
    if lacking:
        entry, cite = lacking[0]
        message = f"{len(lacking)} of {len(seen)} citations of texts that were read do not say where in the text it stands, such as {cite.source} of '{entry}'"
        remedy = "Add `at:` with the page, table, section or abstract, as you come by."
        yield Issue(at(base, entry), message, remedy, "note")


def _citations(value: object) -> Iterator[Citation]:
    if isinstance(value, Citation):
        yield value
    elif isinstance(value, Entry):
        for field in vars(value).values():
            yield from _citations(field)
    elif isinstance(value, tuple):
        for one in value:
            yield from _citations(one)
