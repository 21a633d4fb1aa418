"""Everything worked out for a lot -> the Report."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from tracer.causes.stated import source_names
from tracer.enquiry.plan import AskLine
from tracer.explain.answer import Adds, Answer, Source
from tracer.explain.chains import chain, missing
from tracer.explain.weights import Weight, log_odds
from tracer.findings.engine import engine_name
from tracer.findings.suspicion import ROUTINE
from tracer.findings.weigh import Weighed as Said
from tracer.findings.weigh import is_sign
from tracer.history.charts import charts
from tracer.inference.lot import WeighedLot
from tracer.inference.odour_activity import told
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Fault
from tracer.knowledge.scale import suspicion
from tracer.lots.observations import traced_sample
from tracer.precedents.model import Alike
from tracer.report.alike import alike_lines
from tracer.report.cautions import cautions, only_beside
from tracer.report.conflicts import conflicts, rows_against_answers
from tracer.report.decision import Known, decide
from tracer.report.document import (
    KnowledgeLine,
    Report,
    SourceLine,
)
from tracer.report.life import dated
from tracer.report.lines import (
    all_findings,
    beside,
    claim_lines,
    compound_lines,
    deadlines,
    described,
    elsewhere,
    expected_notes,
    fact_in_words,
    open_words,
    panel_line,
    seen_note,
    stage_lines,
    understood,
)
from tracer.report.not_weighed import not_weighed
from tracer.report.sampling import sampling_lines
from tracer.report.verdict import all_normal, verdict
from tracer.wording.sentence import say

EXPLAINED_AWAY = 0.3
"""log10 by which a sign adds less than it would alone, from where that is told."""
LEAST_WEIGHT = 0.005
"""log10 below which a finding is neither for nor against."""


def compose(
    base: KnowledgeBase,
    traced: WeighedLot,
    found: Answer,
    questions: tuple[AskLine, ...],
    stops: tuple[tuple[str, ...], tuple[str, ...]],
    panel: MeasuredPanel | None = None,
    average: Answer | None = None,
    alike: Sequence[Alike] = (),
) -> Report:
    """The report of a lot, from what was asked of its network.

    `stops` are the notes that stop tasting, and those that perhaps do; `average` is what the same lot with unmeasured tasters
    answers, for comparison. `alike` are the cases it reads like.
    """
    sources = tuple(_source(base, traced, found, one) for one in found.sources)
    stages = stage_lines(base, found.stages, found.unlisted)
    seen = tuple(seen_note(base, traced.heard, name) for name in traced.heard.everywhere())
    normal = expected_notes(base, traced)
    word, text = verdict(
        sources,
        stages,
        found.none_of_these,
        base.settings.verdicts,
        any_notes=bool(seen) or bool(sources),
        only_vague=all(note.vague for note in seen),
        open_words=bool(traced.heard.asked),
        normal=all_normal(traced.heard.everywhere(), [one.descriptor for one in normal], stops[0]),
    )
    theirs = only_beside(stops[0], traced.heard, traced.weighed.smelled.values())
    warned = cautions(base, *stops, sources, traced.findings, found.together, theirs)
    days = deadlines(traced.lot)
    cups = [o for o in traced.heard.observations if o.found is not None]
    known = Known(
        word,
        sources,
        warned,
        questions,
        days,
        bool(traced.heard.asked),
        bool(seen),
        max(
            (sum(o.cups for o in cups if o.descriptor == name) for name in traced.heard.reported()), default=0
        ),
        max((o.found or 0 for o in cups), default=0),
    )
    return Report(
        lot=traced.lot.lot,
        described=described(traced.lot),
        sample=traced_sample(traced.lot) or "none",
        verdict=word,
        verdict_text=text,
        notes=seen,
        absent=tuple(
            base.descriptors[name].label for name in (*traced.weighed.absent, *traced.weighed.absent_apart)
        ),
        absent_left_out=traced.weighed.absent_left_out,
        sources=sources,
        stages=stages,
        compounds=compound_lines(base, traced.whole, found.after) if found.sources else (),
        measured=tuple(
            line for one in traced.lot.laboratory if one.known and (line := told(base, one)) is not None
        ),
        none_of_these=found.none_of_these,
        by_note=found.by_note,
        beside=beside(base, traced),
        conflicts=(
            *conflicts(base, traced.heard, traced.ratios, sources, found.after.fits, traced.weighed),
            *rows_against_answers(base, traced),
        ),
        cautions=warned,
        asks=questions,
        worth_asking=any(line.gain_bits >= base.settings.verdicts.worth_asking for line in questions),
        next=decide(known, base.settings),
        unmatched_words=open_words(base, traced.heard),
        expected=normal,
        findings=all_findings(base, traced),
        deadlines=days,
        claim=claim_lines(base, traced.lot, seen),
        panel=panel_line(base, traced, sources, panel, average),
        history=traced.history,
        charts=charts(traced.lot.logs, traced.history.measured),
        dated=dated(base, traced.lot),
        sampling=sampling_lines(base, traced.lot, traced.heard),
        not_known=tuple(v.record for v in traced.lot.records if v.value is None and v.amount is None),
        not_weighed=not_weighed(base, traced),
        understood=understood(base, traced.heard),
        alike=alike_lines(base, alike),
        elsewhere=elsewhere(base, traced),
        knowledge=KnowledgeLine(base.settings.version, base.sha256, base.houses, engine_name()),
    )


def _source(base: KnowledgeBase, traced: WeighedLot, found: Answer, one: Source) -> SourceLine:
    name, adds = one.fault, found.adds
    fault, index = base.faults[name], traced.whole.main(name)
    spoken = traced.ratios[name].weighed if name in traced.ratios else ()
    notes = sorted(
        (Weight(text, float(size[index]), "note") for text, size in adds.notes if abs(size[index]) >= 0.01),
        key=lambda weight: -abs(weight.log10),
    )
    findings = [_weight(base, item, name, adds, index) for item in spoken]
    weights = (
        Weight(
            say("share of all lots cupped"),
            log_odds(one.prior),
            "prior",
            sources=source_names(fault.prior.cites),
        ),
        *_suspicion(base, fault, spoken),
        *_lean(base, traced, fault.stage),
        *(weight for weight in findings if weight.rule != ROUTINE),
        *notes,
    )
    counted = [
        (item, weight)
        for item, weight in zip(spoken, findings, strict=True)
        if not item.silent and weight.rule != ROUTINE
    ]
    return SourceLine(
        fault=name,
        label=fault.label,
        stage=fault.stage,
        probability=one.probability,
        low=one.low,
        high=one.high,
        present=one.present,
        prior=one.prior,
        after_history=one.papers,
        chain=chain(base, name, traced.weighed.reported),
        because=(
            *(item.finding.label for item, weight in counted if weight.log10 > LEAST_WEIGHT),
            *(w.text for w in notes if w.log10 > 0.05),
        ),
        against=(
            *(item.finding.label for item, weight in counted if weight.log10 < -LEAST_WEIGHT),
            *(w.text for w in notes if w.log10 < -0.05),
        ),
        missing=missing(
            base, name, traced.weighed.reported, (*traced.weighed.absent, *traced.weighed.absent_apart)
        ),
        weights=weights,
        definition=fault.definition,
        green_signs=fault.green_signs,
        confirm=fault.confirm,
        remedy=fault.remedy,
        prevention=fault.prevention,
        caution=fault.caution,
        sources=source_names(fault.cites),
    )


def _suspicion(base: KnowledgeBase, fault: Fault, spoken: Iterable[Said]) -> tuple[Weight, ...]:
    """That somebody wants the lot traced, or what is left of it where it was cupped as routine."""
    law, size = base.settings.suspicion, suspicion(fault, base.settings).best
    if law is None or size == 1:
        return ()
    routine = next((item for item in spoken if item.finding.rule == ROUTINE), None)
    why = (
        say("somebody wants the lot traced")
        if routine is None
        else say("{label}: {because}", label=routine.finding.label, because=routine.finding.because)
    )
    left = size if routine is None else size * routine.ratio.best
    cites = law.cites if fault.suspicion is None else fault.suspicion.cites
    return (Weight(why, float(np.log10(left)), "suspicion", sources=source_names(cites)),)


def _lean(base: KnowledgeBase, traced: WeighedLot, stage: str) -> tuple[Weight, ...]:
    """What published and closed cases add to the sources of a stage."""
    ratio = traced.leaning.get(stage, 1.0)
    size = float(np.log10(ratio))
    if abs(size) < 0.01:
        return ()
    often = say("more often") if size > 0 else say("less often")
    told = say(
        "published cases that read like this were {often} traced to {label}",
        often=often,
        label=base.stages[stage].label.lower(),
    )
    return (Weight(told, size, "cases"),)


def _weight(base: KnowledgeBase, item: Said, fault: str, adds: Adds, index: int) -> Weight:
    finding = item.finding
    facts = tuple(fact_in_words(base, fact) for fact in finding.facts)
    text, label = say("{label}: {because}", label=finding.label, because=finding.because), finding.label
    size = float(np.log10(item.ratio[1]))
    if not item.silent and is_sign(finding, fault) and finding.group in adds.signs:
        alone, size = size, float(adds.signs[finding.group][index])
        if alone - size > EXPLAINED_AWAY:
            more = say(" (by itself {alone:+.2f}; another source explains most of it)", alone=alone)
            text, label = text + more, label + more
    return Weight(
        text,
        size,
        finding.verb,
        finding.rule,
        facts,
        source_names(finding.cites),
        label=label,
        silent=item.silent,
    )
