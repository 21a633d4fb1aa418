"""Everything worked out for a lot -> the Report."""

from __future__ import annotations

import numpy as np

from tracer.causes.browse import source_names
from tracer.enquiry.plan import asks
from tracer.explain.chains import chain, missing
from tracer.explain.weights import Weight, log_odds, note_weights
from tracer.findings.engine import engine_name
from tracer.findings.weigh import Weighed as Said
from tracer.history.charts import charts
from tracer.inference.assemble import Layout
from tracer.inference.exact import Posterior, posterior
from tracer.inference.sources import source_probabilities, with_ranges
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.observations import traced_sample
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


def compose(
    base: KnowledgeBase,
    plan: Layout,
    traced: Traced,
    keep: str | None = None,
    panel: MeasuredPanel | None = None,
    average: Report | None = None,
) -> Report:
    """The report of a traced lot; `keep` names a fault that is listed in any case.

    `average` is the report of the same lot with unmeasured tasters, for comparison.
    """
    reported = frozenset(plan.descriptor[name] for name in traced.weighed.reported)
    evidence = traced.weighed.evidence
    after = posterior(traced.network, evidence)
    stages: tuple[StageLine, ...] = ()
    sources: tuple[SourceLine, ...] = ()
    none = 1.0
    if reported:
        sets = [frozenset({i}) for i in plan.fault.values()]
        sets += [frozenset(plan.fault[f] for f in base.faults_of(stage)) for stage in base.stages]
        sets.append(frozenset(plan.fault.values()))
        live = source_probabilities(traced.network, evidence, reported, sets)
        stages = stage_lines(base, live[len(plan.fault) : -1])
        none = float(1 - live[-1])
        sources = _sources(base, plan, traced, after, live[: len(plan.fault)], keep)
    known = {fact.name for fact in traced.facts}
    noted, perhaps = stop_notes(base, traced.heard)
    lines = asks(
        base,
        plan,
        traced.network,
        evidence,
        reported,
        tuple(line.fault for line in sources[:5]),
        known,
        {name for name, _ in traced.lot.answers},
        bool(noted or perhaps),
    )
    seen = tuple(seen_note(base, traced.heard, name) for name in traced.heard.reported())
    normal = expected_notes(base, traced)
    word, text = verdict(
        sources,
        stages,
        none,
        base.settings.verdicts,
        any_notes=bool(seen),
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
        compounds=compound_lines(base, plan, after) if reported else (),
        none_of_these=none,
        conflicts=conflicts(
            base, traced.heard, traced.ratios, sources, after.fits, traced.weighed.present_left_out
        ),
        cautions=cautions(base, noted, perhaps, sources, traced.findings),
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


def _sources(
    base: KnowledgeBase, plan: Layout, traced: Traced, after: Posterior, live: np.ndarray, keep: str | None
) -> tuple[SourceLine, ...]:
    names = list(plan.fault)
    order = sorted(range(len(names)), key=lambda i: (-live[i], names[i]))
    chosen = [
        i
        for rank, i in enumerate(order)
        if (rank < SHOWN and live[i] >= LEAST) or rank < 3 or names[i] == keep
    ]
    low, high = _ranges(plan, traced, chosen)
    notes = note_weights(
        base,
        traced.network,
        traced.weighed.evidence,
        (*traced.weighed.reported, *traced.weighed.absent),
        plan.descriptor,
        (len(traced.weighed.absent_apart), traced.weighed.tests),
    )
    lines = []
    for place, index in enumerate(chosen):
        ends = (min(low[place], live[index]), max(high[place], live[index]))
        line = _source(
            base,
            plan,
            traced,
            after,
            names[index],
            (float(ends[0]), float(live[index]), float(ends[1])),
            notes[names[index]],
        )
        lines.append(line)
    return tuple(lines)


def _ranges(plan: Layout, traced: Traced, chosen: list[int]) -> tuple[np.ndarray, np.ndarray]:
    """Source probability with a fault's own prior, ratios and links at their low ends, and at their high ends."""
    reported = frozenset(plan.descriptor[name] for name in traced.weighed.reported)
    ends = []
    for which, priors, laws in ((0, plan.prior_low, plan.law_low), (2, plan.prior_high, plan.law_high)):
        odds, cumulative = [], []
        for index in chosen:
            ratio = traced.ratios.get(plan.network.faults[index])
            size = ratio.ratio[which] if ratio else 1.0
            now, prior = float(traced.network.prior[index]), float(priors[index])
            odds.append(prior / (1 - prior) * size / (now / (1 - now)))
            table = np.array(plan.network.fault_cumulative)
            for link, item in enumerate(plan.network.fault_links):
                if item.fault == index:
                    table[link] = np.cumsum(laws[link])
            cumulative.append(table)
        ends.append(
            with_ranges(
                traced.network,
                traced.weighed.evidence,
                reported,
                chosen,
                np.array(odds),
                np.array(cumulative),
            )
        )
    return ends[0], ends[1]


def _source(
    base: KnowledgeBase,
    plan: Layout,
    traced: Traced,
    after: Posterior,
    name: str,
    probability: tuple[float, float, float],
    notes: tuple[Weight, ...],
) -> SourceLine:
    fault, index = base.faults[name], plan.fault[name]
    prior, history = float(plan.network.prior[index]), float(traced.network.prior[index])
    spoken = traced.ratios[name].weighed if name in traced.ratios else ()
    weights = (
        Weight(
            "before anything is known of the lot",
            log_odds(prior),
            "prior",
            sources=source_names(fault.prior.cites),
        ),
        *(_weight(item) for item in spoken),
        *notes,
    )
    counted = [item for item in spoken if not item.silent]
    return SourceLine(
        fault=name,
        label=fault.label,
        stage=fault.stage,
        probability=probability[1],
        low=probability[0],
        high=probability[2],
        present=float(after.fault[index]),
        prior=prior,
        after_history=history,
        chain=chain(base, name, traced.weighed.reported),
        because=(
            *(i.finding.label for i in counted if i.ratio[1] > 1),
            *(w.text for w in notes if w.log10 > 0.05),
        ),
        against=(
            *(i.finding.label for i in counted if i.ratio[1] < 1),
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


def _weight(item: Said) -> Weight:
    finding = item.finding
    facts = tuple(f"{fact.name} = {fact.value}" for fact in finding.facts)
    text = f"{finding.label}: {finding.because}"
    return Weight(
        text,
        float(np.log10(item.ratio[1])),
        finding.verb,
        finding.rule,
        facts,
        source_names(finding.cites),
        silent=item.silent,
    )
