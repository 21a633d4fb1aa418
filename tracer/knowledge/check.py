"""What must hold between entries. Each check is one function from the base to issues."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path

import networkx as nx

from tracer.issues import Issue
from tracer.knowledge.base import KINDS, KnowledgeBase
from tracer.knowledge.citations import Problems, at, older_priors, uncited_numbers, unlocated
from tracer.knowledge.entries import Enquiry, Fault
from tracer.knowledge.load import Places
from tracer.knowledge.references import Reference, references
from tracer.knowledge.renamed import Renamed
from tracer.knowledge.rule import Rule
from tracer.knowledge.shipped import scenarios_folder
from tracer.knowledge.texts import missing
from tracer.knowledge.word_list import ALONE
from tracer.names import did_you_mean, in_hiragana

OUTSIDE = ("exporter", "carrier", "warehouse", "importer")
"""Parties that are asked by letter."""


def check(base: KnowledgeBase) -> list[Issue]:
    """Every problem of the knowledge base, sorted by place."""
    return sorted(issue for one in CHECKS for issue in one(base))


def _file_of(base: KnowledgeBase, identity: str) -> str:
    return base.places.file_of(identity) if isinstance(base.places, Places) else at(base, identity).file


def dangling_ids(base: KnowledgeBase) -> Problems:
    """Every id that an entry names must be defined, as the kind it is used as."""
    for reference in references(base):
        known = _known(base, reference)
        if reference.target not in known:
            remedy = did_you_mean(reference.target, known, f"Define it in {reference.kind}, or take it out.")
            message = (
                f"{reference.where} names '{reference.target}', which is not defined in {reference.kind}"
            )
            yield Issue(at(base, reference.entry), message, remedy)


def _known(base: KnowledgeBase, reference: Reference) -> Iterable[str]:
    if reference.kind == "findings":
        return {c.concludes for rule in base.rules.values() for c in rule.then if c.concludes}
    if reference.kind.endswith("bands"):
        bands = getattr(base.settings, reference.kind).bands
        return set(bands)
    return base.kind(reference.kind)


def cycles(base: KnowledgeBase) -> Problems:
    """Rules may build on findings of other rules, but never in a ring; nor may groups of compounds."""
    graph = nx.DiGraph()
    makers: dict[str, list[str]] = {}
    for rule in base.rules.values():
        for conclusion in rule.then:
            if conclusion.concludes:
                makers.setdefault(conclusion.concludes, []).append(rule.id)
    for rule in base.rules.values():
        for condition in (*(rule.when.all or ()), *(rule.when.any or ())):
            for maker in makers.get(condition.finding or "", ()):
                graph.add_edge(maker, rule.id)
    for compound in base.compounds.values():
        if compound.part_of:
            graph.add_edge(compound.id, compound.part_of)
    for ring in nx.simple_cycles(graph):
        yield Issue(
            at(base, ring[0]), f"a ring: {' -> '.join([*ring, ring[0]])}", "Break it at its weakest link."
        )


def grouped_compounds(base: KnowledgeBase) -> Problems:
    """Faults link to the node of a compound: to the group where it belongs to one."""
    for fault in base.faults.values():
        for link in fault.causes:
            compound = base.compounds.get(link.compound)
            if compound and compound.part_of:
                message = f"'{fault.id}' links to '{compound.id}', a member of the group '{compound.part_of}'"
                yield Issue(at(base, fault.id), message, f"Link to '{compound.part_of}'.")


HANDLING = ("food_grade", "food_grade_with_care", "smell_only", "never_mixture", "never_prepare")
"""From the freest to the strictest."""


def group_handling(base: KnowledgeBase) -> Problems:
    """A group may be handled no more freely than the strictest of its members."""
    for member in base.compounds.values():
        group = base.compounds.get(member.part_of or "")
        if group and HANDLING.index(member.handling) > HANDLING.index(group.handling):
            message = f"'{member.id}' is {member.handling}, but its group '{group.id}' only {group.handling}"
            yield Issue(at(base, member.id), message, f"Set handling: {member.handling} on the group.")


def shared_words(base: KnowledgeBase) -> Problems:
    """A word claimed by two terms must be listed as an ambiguity, so that the taster is asked.

    A likeness may stand under several notes: some mean the one, some the other, and the taster is asked which. Words that
    differ by their marks (Spanish papa, papá) are different words.
    """
    claimed: dict[tuple[str, str], tuple[str, str]] = {}
    for entry, language, word, says in _claims(base):
        plain = word.replace("-", " ")
        key = (language, in_hiragana(plain.lower()))
        first, first_says = claimed.setdefault(key, (entry, says))
        if first_says == says:
            continue
        if not all((one := base.words.get(name)) is not None and one.note for name in (first, entry)):
            message = f"'{word}' ({language}) is claimed by '{first}' and by '{entry}'"
            yield Issue(at(base, entry), message, "List it in ambiguities/, or take it from one of the two.")


def _claims(base: KnowledgeBase) -> Iterator[tuple[str, str, str, str]]:
    """(entry, language, word, what it says), over all entries that give words a meaning."""
    for ambiguity in base.ambiguities.values():
        for language, words in ambiguity.words.items():
            yield from ((ambiguity.id, language, word, f"asked: {ambiguity.id}") for word in words)
    for descriptor in base.descriptors.values():
        for language, words in descriptor.words.items():
            yield from ((descriptor.id, language, word, descriptor.id) for word in words)
    for entry in base.words.values():
        if entry.note or entry.harmless:
            yield from ((entry.id, entry.language, word, entry.note or "harmless") for word in entry.words)


def things_of_two_kinds(base: KnowledgeBase) -> Problems:
    """A thing is of one kind, and a word names one state that some thing may be in."""
    states = {state for thing in base.things.values() for state in thing.means} - {ALONE}
    claimed: dict[tuple[str, bool, str], str] = {}
    for entry in base.words.values():
        says = entry.thing or entry.state
        if says is None:
            continue
        if entry.state and entry.state not in states:
            yield Issue(
                at(base, entry.id),
                f"no thing is ever '{entry.state}'",
                "Take a state that things.yaml names.",
            )
        for word in entry.words:
            first = claimed.setdefault((entry.language, entry.thing is None, word.lower()), says)
            if first != says:
                message = f"'{word}' ({entry.language}) is listed as '{first}' and as '{says}'"
                yield Issue(at(base, entry.id), message, "Leave it where most tasters would look for it.")


def unexplained_notes(base: KnowledgeBase) -> Problems:
    """Every off-note has a compound that evokes it, and every such compound a fault that makes it."""
    evoked = {note.descriptor for compound in base.compounds.values() for note in compound.evokes}
    made = {link.compound for fault in base.faults.values() for link in fault.causes}
    for descriptor in base.descriptors.values():
        if descriptor.id not in evoked and descriptor.lack_of is None:
            yield Issue(
                at(base, descriptor.id),
                f"nothing evokes '{descriptor.id}'",
                "Add it to a compound's `evokes`.",
            )
    for compound in base.compounds.values():
        if compound.evokes and compound.id not in made:
            yield Issue(
                at(base, compound.id), f"no fault makes '{compound.id}'", "Add it to a fault's `causes`."
            )


def twins(base: KnowledgeBase) -> Problems:
    """Two faults with the same links, and no rule or question between them, can never be told apart."""
    by_links: dict[frozenset[tuple[str, str]], list[Fault]] = {}
    for fault in base.faults.values():
        by_links.setdefault(frozenset((link.compound, link.spread) for link in fault.causes), []).append(
            fault
        )
    evidence = _evidence_by_fault(base)
    for faults in by_links.values():
        for index, one in enumerate(faults):
            for other in faults[index + 1 :]:
                if evidence.get(one.id) == evidence.get(other.id):
                    message = f"nothing distinguishes '{one.id}' from '{other.id}'"
                    yield Issue(
                        at(base, one.id),
                        message,
                        "Add a rule or a question that bears on one of them alone.",
                    )


def _evidence_by_fault(base: KnowledgeBase) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    entries: list[Rule | Enquiry] = [*base.rules.values(), *base.enquiries.values()]
    for entry in entries:
        for target in targets(base, entry):
            found.setdefault(target, set()).add(entry.id)
    return found


def targets(base: KnowledgeBase, entry: Rule | Enquiry) -> set[str]:
    """Faults that a rule or enquiry bears on."""
    if isinstance(entry, Rule):
        return {fault for conclusion in entry.then for fault in conclusion.faults(base.faults_of)}
    named = {fault for given in entry.given for fault in given.faults}
    return named | {fault for given in entry.given if given.stage for fault in base.faults_of(given.stage)}


def golden_scenarios(base: KnowledgeBase) -> Problems:
    """Every fault has a worked lot that must bring it up, and what it names is there."""
    lots = {path.stem for path in scenarios_folder().rglob("*.yaml")}
    beside = {file: _lots_beside(file) for file in {_file_of(base, name) for name in base.faults}}
    for fault in base.faults.values():
        known = lots | beside[_file_of(base, fault.id)]
        for name in fault.golden:
            if name not in known:
                message = f"the fault '{fault.id}' names the golden lot '{name}', which is not there"
                remedy = did_you_mean(name, known, f"Write it as scenarios/golden/{name}.yaml.")
                yield Issue(at(base, fault.id), message, remedy)
        if not fault.golden:
            message = f"the fault '{fault.id}' has no golden scenario"
            yield Issue(
                at(base, fault.id), message, "Add a lot to scenarios/ and name it under `golden`.", "warning"
            )


def _lots_beside(file: str) -> set[str]:
    """Lots under `scenarios/` beside the knowledge folder of a file, as a house keeps them."""
    parents = Path(file).absolute().parents
    return {path.stem for path in (parents[2] / "scenarios").rglob("*.yaml")} if len(parents) > 2 else set()


def unheard_faults(base: KnowledgeBase) -> Problems:
    """Every fault has a question, test or rule that bears on it by name, not only through its stage."""
    named = {
        fault for rule in base.rules.values() for conclusion in rule.then for fault in conclusion.named()
    }
    named |= {
        fault for enquiry in base.enquiries.values() for given in enquiry.given for fault in given.faults
    }
    for fault in base.faults.values():
        if fault.id not in named:
            yield Issue(at(base, fault.id), f"no rule or question bears on '{fault.id}' by name", "Add one.")


def sorted_lists(base: KnowledgeBase) -> Problems:
    """Entries of a file are sorted by id (stages stand in the order of the chain)."""
    for kind in KINDS:
        if kind in ("stages", "languages"):
            continue
        last: dict[str, str] = {}
        for identity in base.kind(kind):
            if kind == "rules" and identity in base.made_rules():
                continue
            file = _file_of(base, identity)
            if last.get(file, "") > identity:
                message = f"'{identity}' stands after '{last[file]}'"
                yield Issue(at(base, identity), message, "Sort the list by id.", "warning")
            last[file] = identity


def untranslated(base: KnowledgeBase) -> Problems:
    """What the screens show has its Spanish and Portuguese; one note an entry."""
    wanting: dict[str, list[str]] = {}
    for text, entry in missing(base).items():
        wanting.setdefault(entry, []).append(text)
    for entry, texts in wanting.items():
        message = (
            f"'{entry}' has {len(texts)} text(s) without Spanish and Portuguese, such as '{texts[0][:60]}'"
        )
        remedy = "python -m tracer.knowledge.texts prints them as rows for translations/; empty ones are shown in English."
        yield Issue(at(base, entry), message, remedy, "note")


def former_ids(base: KnowledgeBase) -> Problems:
    """An id that an entry had before is in use nowhere, and has one successor."""
    kinds: tuple[Mapping[str, Renamed], ...] = (base.descriptors, base.faults, base.records, base.enquiries)
    for entries in kinds:
        taken = {name: name for name in entries}
        for entry in entries.values():
            for name in entry.was:
                if taken.setdefault(name, entry.id) != entry.id or name == entry.id:
                    message = f"'{entry.id}' was '{name}', which is '{taken[name]}'"
                    yield Issue(at(base, entry.id), message, "Take it out of `was` of one of the two.")


def unworded(base: KnowledgeBase) -> Problems:
    """A question to somebody outside has its words for letters, in every language of the letters."""
    wanted = {letter.language for letter in base.letters.values()}
    for enquiry in base.enquiries.values():
        outside = enquiry.kind == "question" and enquiry.ask_of in OUTSIDE
        lacking = sorted(wanted - {"en", *enquiry.in_words}) if outside else []
        if lacking:
            message = f"'{enquiry.id}' has no `in_words` in {', '.join(lacking)}"
            remedy = "Write the question with the paper that settles it, as it stands in a letter."
            yield Issue(at(base, enquiry.id), message, remedy, "warning")


CHECKS: tuple[Callable[[KnowledgeBase], Problems], ...] = (
    dangling_ids,
    uncited_numbers,
    older_priors,
    cycles,
    grouped_compounds,
    group_handling,
    shared_words,
    things_of_two_kinds,
    unexplained_notes,
    twins,
    golden_scenarios,
    unheard_faults,
    sorted_lists,
    former_ids,
    unworded,
    unlocated,
    untranslated,
)


def counts(base: KnowledgeBase) -> dict[str, int]:
    """How many entries there are of each kind."""
    return {kind: len(base.kind(kind)) for kind in KINDS}
