"""The knowledge base in memory: every entry by id, and which files and house overlays it came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from tracer.issues import Place
from tracer.knowledge.compound import Compound
from tracer.knowledge.entries import Ambiguity, Descriptor, Enquiry, Fault, Record, Source, Stage
from tracer.knowledge.expected_notes import ExpectedNotes
from tracer.knowledge.language import Language
from tracer.knowledge.letter import Letter
from tracer.knowledge.material import Material
from tracer.knowledge.phrase import Phrase
from tracer.knowledge.practice import Practice
from tracer.knowledge.precedent import Precedent
from tracer.knowledge.rule import Rule
from tracer.knowledge.sentence_list import SentenceList
from tracer.knowledge.settings import Settings
from tracer.knowledge.strength import Entry
from tracer.knowledge.translation import Translations
from tracer.knowledge.word_list import LikenedThing, WordList

KINDS: dict[str, type[Entry]] = {
    "sources": Source,
    "stages": Stage,
    "descriptors": Descriptor,
    "things": LikenedThing,
    "words": WordList,
    "ambiguities": Ambiguity,
    "languages": Language,
    "compounds": Compound,
    "records": Record,
    "faults": Fault,
    "rules": Rule,
    "expected_notes": ExpectedNotes,
    "practices": Practice,
    "enquiries": Enquiry,
    "phrases": Phrase,
    "sentences": SentenceList,
    "materials": Material,
    "letters": Letter,
    "precedents": Precedent,
    "translations": Translations,
}
"""Kind -> model. A kind is the file `<kind>.yaml`, or every file in the folder `<kind>/`."""


@dataclass(frozen=True)
class Change:
    """A field that a house overlay changed, with both places."""

    entry: str
    field: str
    shipped: Place
    house: Place
    by: str
    on: str
    why: str


@dataclass(frozen=True)
class KnowledgeBase:
    """All entries by id, in the order of the files; stages in the order of the chain."""

    settings: Settings
    sources: Mapping[str, Source]
    stages: dict[str, Stage]
    descriptors: dict[str, Descriptor]
    ambiguities: Mapping[str, Ambiguity]
    languages: dict[str, Language]
    compounds: dict[str, Compound]
    records: dict[str, Record]
    faults: dict[str, Fault]
    rules: dict[str, Rule]
    enquiries: dict[str, Enquiry]
    phrases: Mapping[str, Phrase]
    letters: Mapping[str, Letter]
    things: dict[str, LikenedThing] = field(default_factory=dict)
    words: Mapping[str, WordList] = field(default_factory=dict)
    sentences: Mapping[str, SentenceList] = field(default_factory=dict)
    expected_notes: dict[str, ExpectedNotes] = field(default_factory=dict)
    """Table of what is normal for a coffee; each entry stands among the rules too."""
    practices: dict[str, Practice] = field(default_factory=dict)
    """Table of what keeps faults off; what is missing or kept of it stands among the rules too."""
    materials: dict[str, Material] = field(default_factory=dict)
    precedents: Mapping[str, Precedent] = field(default_factory=dict)
    translations: Mapping[str, Translations] = field(default_factory=dict)
    sha256: str = ""
    houses: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    places: Mapping[str, Place] = field(default_factory=dict, compare=False)
    """Id -> place of its entry; empty when read from the cache."""

    def kind(self, name: str) -> Mapping[str, Entry]:
        """Entries of one kind by id."""
        entries: Mapping[str, Entry] = getattr(self, name)
        return entries

    def faults_of(self, stage: str) -> tuple[str, ...]:
        """Ids of the faults of a stage."""
        return self._by_stage.get(stage, ())

    @cached_property
    def _by_stage(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, list[str]] = {}
        for fault in self.faults.values():
            found.setdefault(fault.stage, []).append(fault.id)
        return {stage: tuple(faults) for stage, faults in found.items()}

    def faults_with_caution(self) -> dict[str, tuple[str, ...]]:
        """Caution -> the faults that carry it."""
        found: dict[str, list[str]] = {}
        for fault in self.faults.values():
            if fault.caution:
                found.setdefault(fault.caution, []).append(fault.id)
        return {caution: tuple(faults) for caution, faults in found.items()}

    def made_rules(self) -> frozenset[str]:
        """Ids of the rules that rows of tables make."""
        sides = (side for one in self.practices.values() for side in (one.missing, one.kept) if side)
        return frozenset(
            (*(one.rule for one in self.expected_notes.values()), *(side.rule for side in sides))
        )

    def node(self, compound: str) -> str:
        """The compound's node in the cause graph: its group if it is a member of one."""
        return self.compounds[compound].part_of or compound

    def members(self, compound: str) -> tuple[str, ...]:
        """Members of a compound group, in file order."""
        return tuple(entry.id for entry in self.compounds.values() if entry.part_of == compound)

    def confusable(self, descriptor: str) -> dict[str, str]:
        """Notes confused with this one, both ways, with how to tell them apart."""
        found = {c.descriptor: c.tell_apart for c in self.descriptors[descriptor].not_to_confuse}
        for other in self.descriptors.values():
            for confusion in other.not_to_confuse:
                if confusion.descriptor == descriptor:
                    found.setdefault(other.id, confusion.tell_apart)
        return found

    def swapped(self, descriptor: str) -> tuple[str, ...]:
        """Notes whose words tasters really swap with this one's, both ways."""
        return self._swapped.get(descriptor, ())

    @cached_property
    def _swapped(self) -> dict[str, tuple[str, ...]]:
        pairs = [
            (d.id, c.descriptor) for d in self.descriptors.values() for c in d.not_to_confuse if c.swapped
        ]
        found: dict[str, dict[str, None]] = {}
        for one, other in pairs + [(other, one) for one, other in pairs]:
            found.setdefault(one, {})[other] = None
        return {note: tuple(others) for note, others in found.items()}
