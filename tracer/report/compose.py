"""Everything worked out for a lot -> the Report."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tracer.causes.browse import source_names
from tracer.enquiry.plan import asks
from tracer.explain.chains import chain, missing
from tracer.explain.weights import Weight, left_out, log_odds, without_notes, without_sign
from tracer.findings.engine import engine_name
from tracer.findings.weigh import Weighed as Said
from tracer.findings.weigh import is_sign
from tracer.history.charts import charts
from tracer.inference.draws import drawn, interval
from tracer.inference.exact import Posterior, posterior
from tracer.inference.network import Evidence, Network
from tracer.inference.odour_activity import told
from tracer.inference.sources import source_probabilities
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.observations import traced_sample
from tracer.report.by_note import by_note
from tracer.report.cautions import cautions, stop_notes
from tracer.report.conflicts import conflicts
from tracer.report.document import (
    KnowledgeLine,
    Report,
    SourceLine,
    StageLine,
)
from tracer.report.life import dated
from tracer.report.lines import (
    all_findings,
    claim_lines,
    compound_lines,
    deadlines,
    described,
    elsewhere,
    expected_notes,
    open_words,
    panel_line,
    seen_note,
    stage_lines,
    understood,
)
from tracer.report.not_weighed import not_weighed
from tracer.report.sampling import sampling_lines
from tracer.report.traced import Traced
from tracer.report.verdict import verdict

SHOWN = 8
LEAST = 0.01
"""Sources below this are not listed, beyond the first three."""
LEAST_WEIGHT = 0.005
"""log10 below which a finding is neither for nor against."""


def compose(
    base: KnowledgeBase,
    traced: Traced,
    keep: str | None = None,
    panel: MeasuredPanel | None = None,
    average: Report | None = None,
) -> Report:
    """The report of a traced lot; `keep` names a fault that is listed in any case.

    `average` is the report of the same lot with unmeasured tasters, for comparison.
    """
    network, evidence, findings = traced.weighed.network, traced.weighed.evidence, traced.weighed.traced
    after = posterior(network, evidence)
    stages: tuple[StageLine, ...] = ()
    sources: tuple[SourceLine, ...] = ()
    none, together = 1.0, dict[str, float]()
    if findings:
        names = tuple(traced.whole.fault)
        sets = [frozenset(traced.whole.fault[name]) for name in names]
        sets += [_of_stage(base, traced, stage) for stage in base.stages]
        sets.append(frozenset(range(len(network.structure.faults))))
        risks = base.faults_with_caution()
        sets += [
            frozenset(p for fault in faults for p in traced.whole.fault[fault]) for faults in risks.values()
        ]
        live = source_probabilities(network, evidence, findings, sets)[0]
        count = len(names) + len(base.stages)
        stages = stage_lines(base, live[len(names) : count])
        none = float(1 - live[count])
        together = dict(zip(risks, map(float, live[count + 1 :]), strict=True))
        sources = _sources(base, traced, after, dict(zip(names, live, strict=False)), keep)
    known = {fact.name for fact in traced.facts}
    noted, perhaps = stop_notes(base, traced.heard)
    lines = asks(
        base,
        traced.whole,
        network,
        evidence,
        findings,
        tuple(line.fault for line in sources[:5]),
        known,
        {name for name, _ in traced.lot.answers},
        bool(noted or perhaps),
    )
    seen = tuple(seen_note(base, traced.heard, name) for name in traced.heard.everywhere())
    normal = expected_notes(base, traced)
    word, text = verdict(
        sources,
        stages,
        none,
        base.settings.verdicts,
        any_notes=bool(seen) or bool(sources),
        only_vague=all(note.vague for note in seen),
        open_words=bool(traced.heard.asked),
        normal=bool(normal),
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
        compounds=compound_lines(base, traced.whole, after) if findings else (),
        measured=tuple(
            line for one in traced.lot.laboratory if one.known and (line := told(base, one)) is not None
        ),
        none_of_these=none,
        by_note=by_note(base, traced, tuple(line.fault for line in sources)),
        conflicts=conflicts(
            base, traced.heard, traced.ratios, sources, after.fits, traced.weighed.present_left_out
        ),
        cautions=cautions(base, noted, perhaps, sources, traced.findings, together),
        asks=lines,
        worth_asking=any(line.gain_bits >= base.settings.verdicts.worth_asking for line in lines),
        unmatched_words=open_words(base, traced.heard),
        expected=normal,
        findings=all_findings(base, traced),
        deadlines=deadlines(traced.lot),
        claim=claim_lines(base, traced.lot, seen),
        panel=panel_line(base, traced, sources, panel, average),
        history=traced.history,
        charts=charts(traced.lot.logs, traced.history.measured),
        dated=dated(base, traced.lot),
        sampling=sampling_lines(base, traced.lot, traced.heard),
        not_known=tuple(v.record for v in traced.lot.records if v.value is None and v.amount is None),
        not_weighed=not_weighed(base, traced),
        understood=understood(base, traced.heard),
        elsewhere=elsewhere(base, traced),
        knowledge=KnowledgeLine(base.settings.version, base.sha256, base.houses, engine_name()),
    )


def _of_stage(base: KnowledgeBase, traced: Traced, stage: str) -> frozenset[int]:
    return frozenset(place for fault in base.faults_of(stage) for place in traced.whole.fault[fault])


def _sources(
    base: KnowledgeBase, traced: Traced, after: Posterior, live: dict[str, float], keep: str | None
) -> tuple[SourceLine, ...]:
    order = sorted(live, key=lambda name: (-live[name], name))
    chosen = [
        name
        for rank, name in enumerate(order)
        if (rank < SHOWN and live[name] >= LEAST) or rank < 3 or name == keep
    ]
    low, high = _ranges(traced, chosen)
    adds = _adds(base, traced)
    papers = posterior(traced.weighed.spoken, Evidence(signs=traced.weighed.evidence.signs)).fault
    lines = []
    for place, name in enumerate(chosen):
        probability = float(live[name])
        ends = (min(float(low[place]), probability), probability, max(float(high[place]), probability))
        lines.append(_source(base, traced, after, name, ends, float(papers[traced.whole.main(name)]), adds))
    return tuple(lines)


def _ranges(traced: Traced, chosen: list[str]) -> tuple[np.ndarray, np.ndarray]:
    """10 and 90 % points of the source probabilities, with all figures drawn at once."""
    weighed = traced.weighed
    network = drawn(weighed.network, traced.whole, traced.ratios, traced.signs, weighed.quiet)
    sets = [frozenset(traced.whole.fault[name]) for name in chosen]
    return interval(source_probabilities(network, weighed.evidence, weighed.traced, sets))


@dataclass(frozen=True)
class _Adds:
    """What each note and each sign adds to every fault, given the rest: log10 odds."""

    notes: tuple[tuple[str, np.ndarray], ...]
    signs: dict[str, np.ndarray]


def _adds(base: KnowledgeBase, traced: Traced) -> _Adds:
    weighed = traced.weighed
    evidence = weighed.evidence
    notes: list[str] = []
    less: list[tuple[Network, Evidence]] = []
    network = weighed.network
    for name in (*weighed.reported, *weighed.absent):
        places = weighed.vectors.get(name, ())
        if not places:
            continue
        there = any(int(np.argmax(evidence.heard[place])) > 0 for place in places)
        notes.append(f"{base.descriptors[name].label}: {'found' if there else 'looked for, not found'}")
        less.append((network, without_notes(evidence, places)))
    if weighed.absent_apart:
        number = len(weighed.absent_apart)
        notes.append(f"{number} other note{'s' * (number != 1)} looked for, not found")
        less.append((weighed.spoken, replace(evidence, compounds=weighed.tests)))
    for number, word in weighed.words.items():
        meant = ", ".join(base.descriptors[name].label for name, _ in word.shares)
        notes.append(f"'{word.words}', which may mean {meant}")
        words = {k: v for k, v in evidence.words.items() if k != number}
        less.append((network, replace(evidence, words=words)))
    count = len(less)
    less += [(network, without_sign(evidence, place)) for place in range(len(traced.signs))]
    _, sizes = left_out(network, evidence, less)
    return _Adds(
        tuple(zip(notes, sizes[:count], strict=True)),
        {sign.name: size for sign, size in zip(traced.signs, sizes[count:], strict=True)},
    )


def _source(
    base: KnowledgeBase,
    traced: Traced,
    after: Posterior,
    name: str,
    probability: tuple[float, float, float],
    papers: float,
    adds: _Adds,
) -> SourceLine:
    fault, index = base.faults[name], traced.whole.main(name)
    prior = float(traced.whole.prior[1, index])
    spoken = traced.ratios[name].weighed if name in traced.ratios else ()
    notes = sorted(
        (Weight(text, float(size[index]), "note") for text, size in adds.notes if abs(size[index]) >= 0.01),
        key=lambda weight: -abs(weight.log10),
    )
    findings = [_weight(item, name, adds, index) for item in spoken]
    weights = (
        Weight(
            "before anything is known of the lot",
            log_odds(prior),
            "prior",
            sources=source_names(fault.prior.cites),
        ),
        *findings,
        *notes,
    )
    counted = [(item, weight) for item, weight in zip(spoken, findings, strict=True) if not item.silent]
    return SourceLine(
        fault=name,
        label=fault.label,
        stage=fault.stage,
        probability=probability[1],
        low=probability[0],
        high=probability[2],
        present=float(after.fault[index]),
        prior=prior,
        after_history=papers,
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


def _weight(item: Said, fault: str, adds: _Adds, index: int) -> Weight:
    finding = item.finding
    facts = tuple(f"{fact.name} = {fact.value}" for fact in finding.facts)
    text = f"{finding.label}: {finding.because}"
    size = float(np.log10(item.ratio[1]))
    if not item.silent and is_sign(finding, fault) and finding.group in adds.signs:
        size = float(adds.signs[finding.group][index])
    return Weight(
        text,
        size,
        finding.verb,
        finding.rule,
        facts,
        source_names(finding.cites),
        silent=item.silent,
    )
