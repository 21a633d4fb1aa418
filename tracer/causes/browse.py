"""Browsing the chains both ways: note -> compound -> fault -> stage, and back."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.causes.stated import cited, how_many, source_names, strength_text
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Fault
from tracer.names import fold, nearest
from tracer.wording.sentence import Id, joined, say, to_type


@dataclass(frozen=True, slots=True)
class Branch:
    """A node of what is shown: its kind, id, label, one line of detail, and what hangs under it."""

    kind: Id
    id: Id
    label: str
    detail: str = ""
    children: tuple[Branch, ...] = ()


def find_term(base: KnowledgeBase, term: str) -> tuple[str, str] | None:
    """Kind and id of what a term names: an id, a label, a CAS number, or a taster's word in any language.

    A descriptor is preferred where a word names several things.
    """
    wanted = fold(term)
    for kind in ("descriptors", "compounds", "faults", "stages"):
        for identity, entry in base.kind(kind).items():
            names = {fold(identity), fold(identity.replace("_", " ")), fold(getattr(entry, "label", ""))}
            if wanted in names or (kind == "compounds" and wanted == getattr(entry, "cas", None)):
                return kind, identity
    for descriptor in base.descriptors.values():
        if any(wanted == fold(word) for words in descriptor.words.values() for word in words):
            return "descriptors", descriptor.id
    return None


def near_term(base: KnowledgeBase, term: str) -> str | None:
    """A known label near to a term that names nothing."""
    kinds = (base.descriptors, base.compounds, base.faults, base.stages)
    labels = [entry.label for entries in kinds for entry in entries.values()]
    return nearest(term, labels)


def browse(base: KnowledgeBase, kind: str, identity: str) -> Branch:
    """The tree of one term, with what leads to it and what it leads to."""
    return {"descriptors": _note, "compounds": _compound, "faults": _fault, "stages": _stage}[kind](
        base, identity
    )


def _note(base: KnowledgeBase, identity: str) -> Branch:
    descriptor = base.descriptors[identity]
    children = [
        Branch(
            "compound", c.id, c.label, cited(strength_text(link.strength), link.cites), _makers(base, c.id)
        )
        for c in base.compounds.values()
        for link in c.evokes
        if link.descriptor == identity
    ]
    confused = tuple(
        Branch("descriptor", other, base.descriptors[other].label, apart)
        for other, apart in base.confusable(identity).items()
    )
    words = tuple(
        Branch("words", code, base.languages[code].label, to_type(w))
        for code, w in descriptor.words.items()
        if w
    )
    extra = (
        Branch("group", "", say("easily taken for"), "", confused),
        Branch("group", "", say("words for it"), "", words),
    )
    detail = descriptor.definition + (
        say(" STOP TASTING a cup with this note.") if descriptor.stop_tasting else ""
    )
    return Branch(
        "descriptor", identity, descriptor.label, detail, (*children, *(e for e in extra if e.children))
    )


def _makers(base: KnowledgeBase, compound: str) -> tuple[Branch, ...]:
    order = list(base.stages)
    makers = [(f, link) for f in base.faults.values() for link in f.causes if link.compound == compound]
    makers.sort(key=lambda pair: order.index(pair[0].stage))
    return tuple(
        Branch(
            "fault",
            f.id,
            f.label,
            say(
                "{label}; {spread}; {strength}",
                label=base.stages[f.stage].label,
                spread=link.spread,
                strength=strength_text(link.strength),
            ),
        )
        for f, link in makers
    )


def _compound(base: KnowledgeBase, identity: str) -> Branch:
    compound = base.compounds[identity]
    node = base.compounds[base.node(identity)]
    facts = [
        Branch(
            "fact",
            "",
            "CAS",
            compound.cas or (say("no known molecule") if not compound.identified else say("a group")),
        ),
        Branch("fact", "", "odour", joined(compound.odour)),
        Branch(
            "fact",
            "",
            say("through roasting"),
            _joined(compound.survives_roasting.replace("_", " "), compound.roasting_note),
        ),
        Branch("fact", "", "reference", _joined(HANDLING[compound.handling], compound.handling_note)),
    ]
    facts += [Branch("fact", "", say("in coffee"), compound.in_coffee)] if compound.in_coffee else []
    thresholds = tuple(
        Branch(
            "fact",
            "",
            say("{kind} threshold in {matrix}", kind=t.kind, matrix=t.matrix),
            cited(_figure(t.value, t.low, t.high, t.unit), t.cites),
        )
        for t in compound.thresholds
    )
    notes = tuple(
        Branch(
            "descriptor",
            n.descriptor,
            base.descriptors[n.descriptor].label,
            cited(strength_text(n.strength), n.cites),
        )
        for n in node.evokes
    )
    members = tuple(Branch("compound", m, base.compounds[m].label) for m in base.members(identity))
    groups = [
        Branch("group", "", say("makes the notes"), "", notes),
        Branch("group", "", say("comes from"), "", _makers(base, node.id)),
        Branch("group", "", "members", "", members),
        Branch("group", "", say("thresholds (only in their own matrix)"), "", thresholds),
    ]
    if node.id != identity:
        facts.append(Branch("compound", node.id, say("belongs to"), node.label))
    return Branch(
        "compound",
        identity,
        compound.label,
        compound.chemical_class,
        (*facts, *(g for g in groups if g.children)),
    )


HANDLING = {
    "food_grade": say("food-grade exists: only weighed and very dilute, never neat at the table"),
    "food_grade_with_care": say("dilute in a hood with gloves; bring only the sealed dilute solution"),
    "smell_only": say("smell only, closed vial, short sniff; never tasted, never in a cup"),
    "never_prepare": say("never prepare a reference"),
    "never_mixture": say("undefined mixture: never prepare a reference"),
}


def _joined(text: str, note: str | None) -> str:
    return say("{text}; {note}", text=text, note=note) if note else text


def _figure(value: float | None, low: float | None, high: float | None, unit: str) -> str:
    if value is not None:
        return f"{value:g} {unit}"
    if low is not None and high is not None:
        return say("{low:g} to {high:g} {unit}", low=low, high=high, unit=unit)
    return say("no figure found")


def _practices(base: KnowledgeBase, fault: Fault) -> tuple[Branch, ...]:
    """What is done against a fault, with what its absence means."""
    return tuple(
        Branch(
            "text",
            "",
            say(
                "{label}; where it is missing: {because}",
                label=base.records[practice.record].label,
                because=practice.missing.because,
            ),
        )
        for practice in base.practices.values()
        if fault.id in practice.protects or fault.stage in practice.protects
    )


def _fault(base: KnowledgeBase, identity: str) -> Branch:
    fault = base.faults[identity]
    causes = tuple(
        Branch(
            "compound",
            link.compound,
            base.compounds[link.compound].label,
            cited(
                say("{spread}; {strength}", spread=link.spread, strength=strength_text(link.strength)),
                link.cites,
            ),
            tuple(
                Branch(
                    "descriptor",
                    n.descriptor,
                    base.descriptors[n.descriptor].label,
                    strength_text(n.strength),
                )
                for n in base.compounds[link.compound].evokes
            ),
        )
        for link in fault.causes
    )
    lists = (
        (say("look for in the green"), fault.green_signs),
        (say("to confirm it"), fault.confirm),
        (say("with this lot"), fault.remedy),
        (say("next time"), fault.prevention),
    )
    groups = [
        Branch("group", "", title, "", tuple(Branch("text", "", item) for item in items))
        for title, items in lists
    ]
    groups.append(Branch("group", "", say("practices that keep it off"), "", _practices(base, fault)))
    groups.append(Branch("group", "", say("rules that bear on it"), "", _rules_on(base, identity)))
    groups.append(Branch("group", "", say("questions and tests"), "", _enquiries_on(base, identity)))
    facts = [
        Branch("stage", fault.stage, "stage", base.stages[fault.stage].label),
        *(Branch("fact", "", title, text) for title, text in how_many(base, fault)),
        Branch("fact", "", "sources", joined(source_names(fault.cites)) or say("common practice")),
    ]
    if fault.caution:
        facts.append(Branch("fact", "", say("CAUTION"), fault.caution))
    return Branch(
        "fault",
        identity,
        fault.label,
        fault.definition,
        (*facts, *causes, *(g for g in groups if g.children)),
    )


def _rules_on(base: KnowledgeBase, fault: str) -> tuple[Branch, ...]:
    return tuple(
        Branch("rule", rule.id, rule.label, rule.because)
        for rule in base.rules.values()
        if any(fault in bears for bears in (c.faults(base.faults_of) for c in rule.then))
    )


def _enquiries_on(base: KnowledgeBase, fault: str) -> tuple[Branch, ...]:
    stage = base.faults[fault].stage
    return tuple(
        Branch(
            "enquiry",
            enquiry.id,
            enquiry.text,
            say(
                "{kind}; {ask_of}; {cost}",
                kind=enquiry.kind,
                ask_of=enquiry.ask_of.replace("_", " "),
                cost=enquiry.cost,
            ),
        )
        for enquiry in base.enquiries.values()
        if any(fault in given.faults or given.stage == stage for given in enquiry.given)
    )


def _stage(base: KnowledgeBase, identity: str) -> Branch:
    stage = base.stages[identity]
    faults = tuple(
        Branch(
            "fault",
            fault.id,
            fault.label,
            fault.definition,
            tuple(
                Branch(
                    "descriptor",
                    note,
                    base.descriptors[note].label,
                    say(
                        "by {label}; {spread}", label=base.compounds[link.compound].label, spread=link.spread
                    ),
                )
                for link in fault.causes
                for note in (n.descriptor for n in base.compounds[link.compound].evokes)
            ),
        )
        for fault in base.faults.values()
        if fault.stage == identity
    )
    asked = Branch("fact", "", say("who answers"), stage.ask_of)
    return Branch("stage", identity, stage.label, stage.definition, (asked, *faults))
