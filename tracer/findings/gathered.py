"""Everything a lot says, before anything is weighed: sentences, cups, history, facts and findings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import prod

from tracer.causes.contacts import with_contacts
from tracer.findings.answers import answer_findings
from tracer.findings.engine import Engine
from tracer.findings.fact import Fact
from tracer.findings.facts import facts, known_values, spans
from tracer.findings.finding import Finding
from tracer.findings.patterned import pattern_findings
from tracer.findings.spans import Split, steady_findings
from tracer.findings.suspicion import routine_findings
from tracer.findings.told import counting
from tracer.history.history import History
from tracer.history.measure import measure
from tracer.history.said import Spoken, proposed, spoken, taken
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.rule import Rule
from tracer.lots.lot import Lot, Said
from tracer.lots.observations import hear
from tracer.lots.observed import Heard
from tracer.sentences.proposal import Read
from tracer.sentences.reader import SentenceReader
from tracer.words.kept import vocabulary_of
from tracer.words.vocabulary import Vocabulary


@dataclass(frozen=True)
class Listener:
    """What is needed to hear a lot, worked out once for a knowledge base."""

    vocabulary: Vocabulary
    rules: tuple[Rule, ...]
    places: frozenset[str]
    """Origins that rules know by name."""
    reader: SentenceReader
    """Reads plain sentences."""


def listener(base: KnowledgeBase) -> Listener:
    """Index the words and list the rules."""
    words = vocabulary_of(base)
    rules = tuple(base.rules.values())
    return Listener(words, rules, known_values(rules, "origin"), SentenceReader(base, words))


@dataclass(frozen=True)
class Gathered:
    """What one lot says; `lot` has everything confirmed from its sentences in its place."""

    base: KnowledgeBase
    """The knowledge, with the faults that the lot's contacts make."""
    lot: Lot
    heard: Heard
    facts: tuple[Fact, ...]
    findings: tuple[Finding, ...]
    history: History
    split: tuple[Split, ...]
    """Rules that speak at one end of a ranged figure only, and so were left out."""
    said: tuple[Spoken, ...]
    """What the lot's sentences may mean."""
    text_only: tuple[tuple[Said, Read], ...]
    """Sentences read only as text."""

    @property
    def counting(self) -> Lot:
        """The lot with the answers that count: those that nothing else known of it says already."""
        return counting(self.lot, self.base, self.facts)


def gather(lot: Lot, base: KnowledgeBase, ready: Listener, engine: Engine | None = None) -> Gathered:
    """Hear the cups, read the sentences, work out the history, fire the rules."""
    said, text_only = spoken(lot, ready.reader)
    history = measure(lot, base, proposed(said), tuple(read.text for _, read in text_only))
    lot = taken(lot, said, base)
    heard = hear(lot, ready.vocabulary, base.settings.cups.usual)
    known = facts(lot, base.records, heard, ready.places, history, base.settings)
    ranged = spans(lot, base.records, base.settings)
    fired, split = steady_findings(ready.rules, known, ranged, base.faults_of, engine)
    base = with_contacts(base, lot, ready.vocabulary)
    found = (
        *_trusted((*fired, *routine_findings(base, known)), lot, base.settings.unread.right),
        *_doubted(pattern_findings(lot, base, heard.everywhere()), lot, base.settings.unread.right),
        *answer_findings(counting(lot, base, known), base),
    )
    return Gathered(base, lot, heard, known, found, history, split, said, text_only)


def _doubted(found: Iterable[Finding], lot: Lot, right: float) -> Iterator[Finding]:
    """Patterns of a sheet that a machine filled in unread."""
    return (replace(one, trust=right) if lot.taken_unread else one for one in found)


def _trusted(found: Iterable[Finding], lot: Lot, right: float) -> Iterator[Finding]:
    """Findings that rest on rows a machine took from sentences unread are trusted as far as these are probably right.

    `right` is the share of such rows that is right, for those of which no probability is known.
    """
    taken = {row.record: right if row.right is None else row.right for row in lot.records if row.said}
    for one in found:
        rows = {fact.name for fact in one.facts} & taken.keys() if lot.taken_unread else set()
        yield replace(one, trust=prod(taken[name] for name in sorted(rows))) if rows else one
