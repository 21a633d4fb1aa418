"""What the parts that show a note say of where the fault struck, for every fault: "one tank of five", "all stations".

Each fault strikes a unit of the chain at a time. A pattern is a sign, an any-of over the faults that may lead to the note,
    P(part shown | faults) = 1 - (1 - q) prod (1 - p),
with p by how the fault's unit lies to the level: within it, either way, or beyond it (it holds every part alike).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracer.causes.graph import reaches
from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Fault
from tracer.knowledge.parts_of_the_chain import LevelUnits, Reach
from tracer.lots.lot import Lot, Pattern
from tracer.names import fold
from tracer.wording.sentence import say

RULE = "pattern"
"""Start of the name that a pattern has among the findings."""


def pattern_findings(lot: Lot, base: KnowledgeBase, notes: Iterable[str]) -> tuple[Finding, ...]:
    """A sign for every pattern that no row of the sheet says already. `notes` are the off-notes found in the lot."""
    found = tuple(notes)
    return tuple(
        _finding(one, base, found) for one in weighed_patterns(lot, base) if _concerned(one, base, found)
    )


def weighed_patterns(lot: Lot, base: KnowledgeBase) -> Iterator[Pattern]:
    """Patterns of a level and a share that the table holds; a row that says the same counts instead. Of a level and note, the first."""
    rows = {
        (one.pattern.level, one.pattern.share) for one in base.settings.stands_for if one.pattern is not None
    }
    told: dict[tuple[str, str | None], str] = {}
    for one in lot.pattern:
        if (one.level, one.share) in rows or not _weighs(one, base):
            continue
        if told.setdefault((one.level, one.of), one.share) == one.share:
            yield one


def _weighs(one: Pattern, base: KnowledgeBase) -> bool:
    law = base.settings.patterns
    return one.level in law.levels and one.share in law.shares


def _concerned(pattern: Pattern, base: KnowledgeBase, notes: tuple[str, ...]) -> frozenset[str]:
    """The notes found that a pattern speaks of: the one it names, or all."""
    if pattern.of is None:
        return frozenset(notes)
    named = fold(pattern.of)
    spoken_of = frozenset(
        note
        for note in notes
        if named in (note, fold(base.descriptors[note].label))
        or any(named == fold(word) for words in base.descriptors[note].words.values() for word in words)
    )
    return spoken_of or frozenset(notes)


def _finding(pattern: Pattern, base: KnowledgeBase, notes: tuple[str, ...]) -> Finding:
    law = base.settings.patterns
    part, level = law.shares[pattern.share], law.levels[pattern.level]  # type: ignore[index]
    concerned = _concerned(pattern, base, notes)
    strengths = tuple(
        (fault.id, law.given[_lies(fault, level, base)][part])
        for fault in base.faults.values()
        if concerned & reaches(base, fault.id).keys()
    )
    told = f"{pattern.level.replace('_', ' ')}: {pattern.share}"
    if pattern.found is not None and pattern.among is not None:
        told += say(" ({found} of {among})", found=pattern.found, among=pattern.among)
    return Finding(
        rule=f"{RULE}_{pattern.level}",
        verb="shows",
        targets=tuple(name for name, _ in strengths),
        strength=None,
        group=f"{RULE}_{pattern.level}" + (f"_{fold(pattern.of)}" if pattern.of else ""),
        because=say(
            "What strikes a part spares the next; what lies before the parting, or reaches all alike, is in all."
        ),
        label=say("which part shows it: {told}", told=told),
        facts=(Fact(pattern.level, pattern.share, "text", str(pattern.place)),),
        cites=law.cites,
        leak=law.leak,
        strengths=strengths,
    )


def _lies(fault: Fault, level: LevelUnits, base: KnowledgeBase) -> Reach:
    """How a fault's units lie to the parts of a level; of several the nearest counts."""
    units = fault.unit or base.settings.patterns.usual[fault.stage]
    if any(unit in level.within for unit in units):
        return "within"
    return "either" if any(unit in level.either for unit in units) else "beyond"
