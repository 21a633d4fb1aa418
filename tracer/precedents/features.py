"""What a lot's record says, as plain marks that another record may share: notes, rows, patterns, contacts, findings, words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from tracer.findings.finding import Finding
from tracer.findings.gathered import Gathered
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import INNOCENT
from tracer.lots.compared import comparisons_of
from tracer.words.stems import stem
from tracer.words.tokens import fold_word

WORD = "word:"
_LETTERS = re.compile(r"[^\W\d_]{3,}")


def features(base: KnowledgeBase, one: Gathered, contradicted: Iterable[Finding] = ()) -> frozenset[str]:
    """Marks of one lot: `note:musty`, `row:surface=soil`, `pattern:bags=one`, `rule:rain_on_beds`, `word:mould` ...

    Findings that contradict each other count for nothing, nor do the rows they rest on. The words are those of the notes as
    they were named, of the sentences of which something is confirmed or that are read only as text, and of the rows.
    """
    void: set[str] = set()
    for finding in contradicted:
        void |= {f"rule:{finding.rule}", *(f"row:{fact.name}" for fact in finding.facts)}
    marks = frozenset(mark for mark in _marks(base, one) if mark.partition("=")[0] not in void)
    return marks.union(*(words(text, language) for language, text in _texts(base, one, void)))


def words(text: str, language: str) -> frozenset[str]:
    """Marks of the words of a text.

    >>> sorted(words("Wet bags", "en"))
    ['word:bag', 'word:wet']
    """
    return frozenset(f"{WORD}{stem(fold_word(word), language)}" for word in _LETTERS.findall(text))


def _texts(base: KnowledgeBase, one: Gathered, void: set[str]) -> Iterator[tuple[str, str]]:
    lot = one.lot
    for cupping in lot.cuppings:
        for tasting in cupping.tastings:
            for note in tasting.notes:
                yield tasting.language or "en", note.text
    for said in lot.said:
        if said.confirmed:
            yield said.language or "en", said.text
    for said, read in one.text_only:
        if not said.confirmed:
            yield read.language, read.text
    for row in lot.records:
        if not row.said and f"row:{row.record}" not in void:
            yield "en", f"{base.records[row.record].label} {row.written}"
    for question, answer in lot.answers:
        for record, value in base.enquiries[question].row.get(answer, {}).items():
            yield "en", f"{base.records[record].label} {value}"
    for met in lot.contact:
        yield "en", met.words
    for other in comparisons_of(lot, base):
        yield "en", f"{other.with_} {other.shows}".replace("_", " ")
    for pattern in lot.pattern:
        yield "en", f"{pattern.level} {pattern.share}".replace("_", " ")


def _marks(base: KnowledgeBase, one: Gathered) -> Iterator[str]:
    heard, lot = one.heard, one.lot
    for said in (*heard.observations, *heard.elsewhere):
        yield f"{'absent' if said.found == 0 else 'note'}:{said.descriptor}"
    for asked in (*heard.asked, *heard.asked_elsewhere):
        yield from (f"maybe:{name}" for name, _ in asked.weights if name != INNOCENT)
    for fact in one.facts:
        yield f"row:{fact.name}"
        if fact.kind != "number":
            yield f"row:{fact.name}={fact.value}"
    yield from (f"rule:{finding.rule}" for finding in one.findings)
    yield from (f"pattern:{pattern.level}={pattern.share}" for pattern in lot.pattern)
    yield from (f"compared:{other.with_}={other.shows}" for other in comparisons_of(lot, base))
    yield from (f"contact:{met.material or met.words}" for met in lot.contact)
    yield from (f"laboratory:{result.compound}" for result in lot.laboratory)
    yield from (f"answer:{question}={answer}" for question, answer in lot.answers)
