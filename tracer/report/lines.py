"""Single lines of the report, each from one part of what was worked out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from tracer.causes.stated import source_names
from tracer.explain.answer import Answer
from tracer.explain.weights import Weight
from tracer.findings.fact import Fact
from tracer.findings.weigh import ratio_of
from tracer.inference.assemble import Whole
from tracer.inference.exact import Posterior
from tracer.inference.lot import WeighedLot
from tracer.inference.measured import MEASURED
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.observed import Heard, Observation
from tracer.names import fold
from tracer.report.document import (
    CompoundLine,
    Deadline,
    Expected,
    OpenWord,
    PanelLine,
    SeenNote,
    SourceLine,
    StageLine,
    UnderstoodWord,
)
from tracer.wording.sentence import joined, say

SHOWN = 8


def compound_lines(base: KnowledgeBase, whole: Whole, after: Posterior) -> tuple[CompoundLine, ...]:
    """Compounds in the lot or on its bench, most probable first; after them what smells and has no known molecule."""
    lines = []
    for name, places in whole.compound.items():
        known = [
            float(1 - after.compound[place, 0]) for place in places if not np.isnan(after.compound[place, 0])
        ]
        if not known:
            continue
        entry, probability = base.compounds[name], max(known)
        if probability >= 0.05:
            members = tuple(base.compounds[m].label for m in base.members(name))
            evokes = tuple(base.descriptors[n.descriptor].label for n in entry.evokes)
            lines.append(CompoundLine(name, entry.label, probability, members, entry.identified, evokes))
    lines.sort(key=lambda line: (not line.identified, -line.probability))
    return tuple(lines[:SHOWN])


def seen_note(base: KnowledgeBase, heard: Heard, name: str) -> SeenNote:
    """A reported note over all tasters: of the sample traced, or of those where it was found."""
    here = heard.observations if name in heard.reported() else heard.elsewhere
    rows = [o for o in here if o.descriptor == name and o.found != 0 and not o.doubtful]
    looked = [o for o in here if o.descriptor == name]
    counted = [o for o in rows if o.found is not None]
    tasters = len({o.taster for o in rows})
    found = sum(o.found or 0 for o in counted) if counted else None
    known = bool(counted) and not any(o.assumed for o in counted)
    of = sum(o.cups for o in looked if o.found is not None) if known else None
    cups = _cups_told(counted, found, of)
    who = say("1 taster" if tasters == 1 else "{tasters} tasters", tasters=tasters)
    words = tuple(dict.fromkeys(o.words for o in rows))
    entry = base.descriptors[name]
    return SeenNote(
        name,
        entry.label,
        say("{cups}, {who}", cups=cups, who=who),
        words,
        entry.stop_tasting,
        entry.vague,
        found,
        of,
        tasters,
    )


def _cups_told(counted: Sequence[Observation], found: int | None, of: int | None) -> str:
    if found is None:
        return say("cups not counted")
    if of is not None:
        return say("{found} of {of} cups", found=found, of=of)
    if all(o.every for o in counted):
        return say("all cups")
    return say("1 cup" if found == 1 else "{found} cups, of how many is not said", found=found)


def open_words(base: KnowledgeBase, heard: Heard) -> tuple[OpenWord, ...]:
    """Words that need an answer from a taster."""

    def labels(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(base.descriptors[name].label for name in names if name in base.descriptors)

    return tuple(
        OpenWord(
            w.words,
            w.taster,
            str(w.place),
            w.outcome,
            w.question,
            labels(w.candidates),
            labels(w.suggestions),
            tuple(name for name in (*w.candidates, *w.suggestions) if name in base.descriptors),
        )
        for w in heard.asked
    )


def understood(base: KnowledgeBase, heard: Heard) -> tuple[UnderstoodWord, ...]:
    """Words that were taken for others, so that nobody is surprised."""
    return tuple(
        UnderstoodWord(
            one.words,
            one.taken_for,
            base.descriptors[one.descriptor].label if one.descriptor in base.descriptors else "",
            one.taster,
            str(one.place),
            one.how,
        )
        for one in heard.understood
    )


def elsewhere(base: KnowledgeBase, traced: WeighedLot) -> tuple[str, ...]:
    """Notes found in other samples than the one traced."""
    found = (
        say(
            "{label} ({sample})",
            label=base.descriptors[o.descriptor].label,
            sample=traced.lot.cuppings[o.cupping].sample.replace("_", " "),
        )
        for o in traced.heard.elsewhere
        if o.found != 0
    )
    return tuple(dict.fromkeys(found))


def beside(base: KnowledgeBase, traced: WeighedLot) -> tuple[str, ...]:
    """What was traced beside notes of the cups, in words."""
    weighed = traced.weighed
    smelled = [
        weighed.smelled[number].label for number in sorted(weighed.traced.signs & set(weighed.smelled))
    ]
    groups = {
        weighed.network.structure.signs[number] for number in weighed.traced.signs - set(weighed.smelled)
    }
    seen = [finding.label for finding in traced.findings if finding.group in groups]
    structure = weighed.network.structure
    measured = [
        base.compounds[name].label
        for node in sorted(weighed.traced.heard)
        for note in structure.heard[node][:1]
        if structure.notes[note].startswith(MEASURED)
        for name in (structure.notes[note].removeprefix(MEASURED).partition("@")[0],)
    ]
    return tuple(
        dict.fromkeys(
            (*smelled, *seen, *(say("found by the laboratory: {label}", label=label) for label in measured))
        )
    )


def expected_notes(base: KnowledgeBase, traced: WeighedLot) -> tuple[Expected, ...]:
    """Notes that are normal for this coffee."""
    return tuple(
        Expected(
            name,
            say("{label}: {because}", label=base.descriptors[name].label, because=finding.because),
            finding.rule,
        )
        for finding in traced.findings
        if finding.verb == "expects"
        for name in finding.targets
        if name in traced.heard.everywhere()
    )


def panel_line(
    base: KnowledgeBase,
    traced: WeighedLot,
    sources: tuple[SourceLine, ...],
    panel: MeasuredPanel | None,
    average: Answer | None,
) -> PanelLine | None:
    """How far the measured reliability of the lot's tasters moved the answer."""
    if panel is None or average is None:
        return None
    names = {fold(tasting.taster) for cupping in traced.lot.cuppings for tasting in cupping.tastings}
    measured = tuple(one for one in panel.tasters if fold(one.taster) in names)
    unmeasured = tuple(sorted(names - {fold(one.taster) for one in measured}))
    first = sources[0].fault if sources else None
    same = next((line.probability for line in average.sources if line.fault == first), None)
    return PanelLine(
        measured,
        unmeasured,
        base.faults[first].label if first else "",
        sources[0].probability if sources else 0.0,
        same,
        base.faults[average.sources[0].fault].label if average.sources else "",
    )


def all_findings(base: KnowledgeBase, traced: WeighedLot) -> tuple[Weight, ...]:
    """Every finding that fired, with its direction and what it bears on."""
    heard = {item.finding for ratios in traced.ratios.values() for item in ratios.weighed if not item.silent}
    lines = []
    for finding in traced.findings:
        facts = tuple(
            say("{name} = {value} ({item_from})", name=fact.name, value=fact.value, item_from=fact.from_)
            for fact in finding.facts
        )
        text = say("{label}: {because}", label=finding.label, because=finding.because)
        quiet = finding.verb not in ("expects", "warns") and finding not in heard
        shifts = finding.verb in ("favours", "shows", "would_show", "rules_out")
        size = (
            float(np.log10(ratio_of(finding, next(iter(finding.targets)), base.settings).best))
            if shifts
            else 0.0
        )
        labels = tuple(base.faults[name].label for name in finding.targets if name in base.faults)
        lines.append(
            Weight(
                text,
                size,
                finding.verb,
                finding.rule,
                facts,
                source_names(finding.cites),
                labels,
                reads=tuple((fact.name, str(fact.value)) for fact in finding.facts),
                label=finding.label,
                silent=quiet,
            )
        )
    return tuple(lines)


def fact_in_words(base: KnowledgeBase, fact: Fact) -> str:
    """A fact by the label of its row with its value, or the answer received."""
    if fact.name in base.enquiries:
        return base.enquiries[fact.name].answers.get(str(fact.value), str(fact.value))
    record = base.records.get(fact.name)
    label = record.label if record is not None else _concluded(base, fact.name)
    if isinstance(fact.value, str):
        return say("{label}: {value}", label=label, value=fact.value.replace("_", " "))
    unit = record.unit if record is not None and record.unit not in (None, "1") else ""
    return say(
        "{label}: {value:g} {unit}" if unit else "{label}: {value:g}",
        label=label,
        value=fact.value,
        unit=unit,
    )


def _concluded(base: KnowledgeBase, finding: str) -> str:
    """A finding by the label of a rule that concludes it."""
    labels = (
        rule.label for rule in base.rules.values() if any(one.concludes == finding for one in rule.then)
    )
    return next(labels, finding.replace("_", " "))


def stage_lines(
    base: KnowledgeBase, found: Iterable[tuple[str, float]], unlisted: Mapping[str, float]
) -> tuple[StageLine, ...]:
    """Stages with their probability, and who answers for them."""
    return tuple(
        StageLine(stage.id, stage.label, probability, stage.ask_of, unlisted.get(name, 0.0))
        for name, probability in found
        for stage in (base.stages[name],)
    )


def described(lot: Lot) -> str:
    """Species, process, origin and crop in one line."""
    declared = say("sold as {declared}", declared=joined(lot.declared)) if lot.declared else None
    parts = [
        lot.species,
        lot.process and lot.process.replace("_", " "),
        declared,
        lot.origin,
        lot.crop and say("crop {crop}", crop=lot.crop),
    ]
    return joined(part for part in parts if part)


def deadlines(lot: Lot) -> tuple[Deadline, ...]:
    """Last days of the time limits on the sheet, earliest first."""
    found = [Deadline(clock.what, clock.clause, str(clock.last_day)) for clock in lot.clocks]
    return tuple(sorted(found, key=lambda one: one.last_day))


def claim_lines(base: KnowledgeBase, lot: Lot, seen: Sequence[SeenNote]) -> tuple[str, ...]:
    """Every fault by name, cup and green, with the counts."""
    lines: list[str] = [say("cup: {label}, {cups}", label=note.label, cups=note.cups) for note in seen]
    for record in lot.records:
        entry = base.records[record.record]
        if entry.section != "green" or record.value in (None, "no", 0, 0.0):
            continue
        value = "" if record.value == "yes" else say(": {written}", written=record.written)
        lines.append(say("green: {label}{value}", label=entry.label, value=value))
    return tuple(lines)
