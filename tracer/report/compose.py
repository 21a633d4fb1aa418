"""Everything worked out for a lot -> the Report."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tracer.causes.browse import source_names
from tracer.enquiry.plan import AskLine, asks
from tracer.explain.chains import chain, missing
from tracer.explain.weights import Weight, log_odds, note_weights
from tracer.findings.engine import engine_name
from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.findings.weigh import Combined
from tracer.findings.weigh import Weighed as Said
from tracer.history.charts import charts
from tracer.history.history import History
from tracer.inference.assemble import Layout
from tracer.inference.evidence import Weighed
from tracer.inference.exact import Posterior, posterior
from tracer.inference.network import Network
from tracer.inference.sources import source_probabilities, with_ranges
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.scale import ratio
from tracer.lots.lot import Lot
from tracer.lots.observations import Heard, traced_sample
from tracer.names import fold
from tracer.report.cautions import cautions
from tracer.report.conflicts import conflicts
from tracer.report.document import (
    CompoundLine,
    Expected,
    KnowledgeLine,
    OpenWord,
    PanelLine,
    Report,
    SeenNote,
    SourceLine,
    StageLine,
)
from tracer.report.life import dated
from tracer.report.sampling import sampling_lines
from tracer.report.verdict import verdict

SHOWN = 8
LEAST = 0.01
"""Sources below this are not listed, beyond the first three."""


@dataclass(frozen=True)
class Traced:
    """One lot on its way into a report."""

    lot: Lot
    heard: Heard
    facts: tuple[Fact, ...]
    findings: tuple[Finding, ...]
    ratios: dict[str, Combined]
    network: Network
    weighed: Weighed
    history: History


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
        stages = _stages(base, live[len(plan.fault) : -1])
        none = float(1 - live[-1])
        sources = _sources(base, plan, traced, after, live[: len(plan.fault)], keep)
    known = {fact.name for fact in traced.facts}
    lines = asks(
        base,
        plan,
        traced.network,
        evidence,
        reported,
        tuple(line.fault for line in sources[:5]),
        known,
        {name for name, _ in traced.lot.answers},
    )
    seen = tuple(_seen(base, traced.heard, name) for name in traced.heard.reported())
    normal = _expected(base, traced)
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
    noted = [*traced.heard.reported(), *(o.descriptor for o in traced.heard.observations if o.found != 0)]
    return Report(
        lot=traced.lot.lot,
        described=_described(traced.lot),
        sample=traced_sample(traced.lot) or "none",
        verdict=word,
        verdict_text=text,
        notes=seen,
        absent=tuple(base.descriptors[name].label for name in traced.weighed.absent),
        absent_left_out=traced.weighed.absent_left_out,
        sources=sources,
        stages=stages,
        compounds=_compounds(base, plan, after) if reported else (),
        none_of_these=none,
        conflicts=conflicts(
            base, traced.heard, traced.ratios, sources, after.fits, traced.weighed.present_left_out
        ),
        cautions=cautions(base, noted, _asked_candidates(traced.heard), sources, traced.findings),
        asks=_smell_only(base, lines)
        if any(base.descriptors[name].stop_tasting for name in noted)
        else lines,
        unmatched_words=_open_words(base, traced.heard),
        expected=normal,
        findings=_findings(base, traced),
        panel=_panel(base, traced, sources, panel, average),
        history=traced.history,
        charts=charts(traced.lot.logs, traced.history.measured),
        dated=dated(base, traced.lot),
        sampling=sampling_lines(base, traced.lot, traced.heard),
        not_known=tuple(v.record for v in traced.lot.records if v.value is None),
        knowledge=KnowledgeLine(base.settings.version, base.sha256, base.houses, engine_name()),
    )


def _smell_only(base: KnowledgeBase, lines: tuple[AskLine, ...]) -> tuple[AskLine, ...]:
    """Bench tests of a lot that nobody should taste carry the caution themselves."""
    text = base.settings.cautions.smell_only
    return tuple(
        replace(line, caution=f"{line.caution} {text}" if line.caution else text)
        if line.kind == "test" and line.ask_of == "own_laboratory"
        else line
        for line in lines
    )


def _described(lot: Lot) -> str:
    declared = f"sold as {', '.join(lot.declared)}" if lot.declared else None
    parts = [
        lot.species,
        lot.process and lot.process.replace("_", " "),
        declared,
        lot.origin,
        lot.crop and f"crop {lot.crop}",
    ]
    return ", ".join(part for part in parts if part)


def _asked_candidates(heard: Heard) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for word in heard.asked for name in word.candidates))


def _stages(base: KnowledgeBase, live: np.ndarray) -> tuple[StageLine, ...]:
    lines = [
        StageLine(s.id, s.label, float(p), s.ask_of) for s, p in zip(base.stages.values(), live, strict=True)
    ]
    return tuple(sorted(lines, key=lambda line: -line.probability))


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
        missing=missing(base, name, traced.weighed.reported, traced.weighed.absent),
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


def _compounds(base: KnowledgeBase, plan: Layout, after: Posterior) -> tuple[CompoundLine, ...]:
    lines = []
    for name, index in plan.compound.items():
        if np.isnan(after.compound[index, 0]):
            continue
        entry, probability = base.compounds[name], float(1 - after.compound[index, 0])
        if probability >= 0.05:
            members = tuple(base.compounds[m].label for m in base.members(name))
            evokes = tuple(base.descriptors[n.descriptor].label for n in entry.evokes)
            lines.append(CompoundLine(name, entry.label, probability, members, entry.identified, evokes))
    return tuple(sorted(lines, key=lambda line: -line.probability)[:SHOWN])


def _seen(base: KnowledgeBase, heard: Heard, name: str) -> SeenNote:
    rows = [o for o in heard.observations if o.descriptor == name and o.found != 0 and not o.doubtful]
    looked = [o for o in heard.observations if o.descriptor == name]
    counted = [o for o in rows if o.found is not None]
    tasters = len({o.taster for o in rows})
    if counted:
        cups = f"{sum(o.found or 0 for o in counted)} of {sum(o.cups for o in looked if o.found is not None)} cups"
    else:
        cups = "cups not counted"
    who = f"{tasters} taster{'s' if tasters != 1 else ''}"
    words = tuple(dict.fromkeys(o.words for o in rows))
    entry = base.descriptors[name]
    return SeenNote(name, entry.label, f"{cups}, {who}", words, entry.stop_tasting, entry.vague)


def _open_words(base: KnowledgeBase, heard: Heard) -> tuple[OpenWord, ...]:
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
        )
        for w in heard.asked
    )


def _expected(base: KnowledgeBase, traced: Traced) -> tuple[Expected, ...]:
    return tuple(
        Expected(name, f"{base.descriptors[name].label}: {finding.because}", finding.rule)
        for finding in traced.findings
        if finding.verb == "expects"
        for name in finding.targets
        if name in traced.heard.reported()
    )


def _panel(
    base: KnowledgeBase,
    traced: Traced,
    sources: tuple[SourceLine, ...],
    panel: MeasuredPanel | None,
    average: Report | None,
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


def _findings(base: KnowledgeBase, traced: Traced) -> tuple[Weight, ...]:
    heard = {item.finding for ratios in traced.ratios.values() for item in ratios.weighed if not item.silent}
    lines = []
    for finding in traced.findings:
        facts = tuple(f"{fact.name} = {fact.value} ({fact.from_})" for fact in finding.facts)
        text = f"{finding.label}: {finding.because}"
        quiet = finding.verb not in ("expects", "warns") and finding not in heard
        shifts = finding.verb in ("favours", "shows", "rules_out")
        size = float(np.log10(ratio(finding.strength, base.settings).best)) if shifts else 0.0
        labels = tuple(base.faults[name].label for name in finding.targets if name in base.faults)
        lines.append(
            Weight(text, size, finding.verb, finding.rule, facts, source_names(finding.cites), labels, quiet)
        )
    return tuple(lines)
