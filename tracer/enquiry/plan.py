"""What to ask or test next, by expected information about the source stages.

For each stage s let X_s be "a live path runs from a fault of s to a reported note". The gain of an
enquiry is sum over s of I(X_s; answer) in bits, plus the same for "none of these": each term is
    h(sum_a P(a) q_a) - sum_a P(a) h(q_a),   q_a = P(X_s | e, a),   h the binary entropy,
never below 0. It is a score for ordering, not the joint information about all stages at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.enquiry.effects import Effect, effects, settled
from tracer.inference.assemble import Layout
from tracer.inference.exact import both_ways, faults_on, level_rows
from tracer.inference.gain import expected_gain
from tracer.inference.network import Evidence, Network
from tracer.inference.rows import Rows, evaluate
from tracer.inference.skeleton import skeleton
from tracer.inference.sources import membership
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry

Array = NDArray[np.float64]

EXACT = 8
"""Enquiries whose gain is computed exactly and listed; a quick score chooses them."""
TELLING = 2
"""Of these, how many are chosen by gain alone, whatever they cost; the others by gain for their cost."""
LEAST = 0.0005
"""Bits below which an enquiry is not worth a line."""


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """A possible answer and what it would change."""

    answer: str
    label: str
    probability: float
    top_source: str
    top_stage: str
    top_stage_probability: float


@dataclass(frozen=True, slots=True)
class AskLine:
    """A question or test, with what it is worth."""

    id: str
    kind: str
    ask_of: str
    stage: str
    text: str
    gain_bits: float
    gain_per_cost: float
    cost: str
    days: float
    record: str
    answers: tuple[AnswerLine, ...]
    caution: str | None


@dataclass(frozen=True)
class Targets:
    """Sets of faults whose live paths the answers are about: the stages, then every fault of interest."""

    stages: tuple[str, ...]
    faults: tuple[str, ...]
    sets: tuple[frozenset[int], ...]


def targets(base: KnowledgeBase, plan: Layout, faults: tuple[str, ...]) -> Targets:
    """The stages, everything (its complement is none of these), and single faults to name in an answer."""
    stages = tuple(base.stages)
    sets = [frozenset(plan.fault[fault] for fault in base.faults_of(stage)) for stage in stages]
    sets.append(frozenset(plan.fault.values()))
    sets += [frozenset({plan.fault[fault]}) for fault in faults]
    return Targets(stages, faults, tuple(sets))


def asks(
    base: KnowledgeBase,
    plan: Layout,
    network: Network,
    evidence: Evidence,
    reported: frozenset[int],
    faults: tuple[str, ...],
    known: set[str],
    answered: set[str],
    stopped: bool = False,
) -> tuple[AskLine, ...]:
    """The most telling enquiries still open, best first by gain for their cost, then by gain.

    Where a note of the lot stops tasting (`stopped`), nothing that makes somebody smell or taste it is among them.
    """
    if not reported:
        return ()
    aim = targets(base, plan, faults)
    relevant = _relevant(network, evidence)
    open_ones = [
        e
        for e in base.enquiries.values()
        if not settled(e, known, answered)
        and not (stopped and e.by_senses)
        and _bears(base, plan, e, relevant)
    ]
    if not open_ones:
        return ()
    open_ones = _most_telling(base, plan, network, evidence, reported, aim, open_ones)
    every = [effect for enquiry in open_ones for effect in effects(base, enquiry)]
    total, free = _values(plan, network, evidence, reported, aim, every)
    found = []
    start = 0
    for enquiry in open_ones:
        stop = start + len(enquiry.answers)
        line = _line(base, enquiry, aim, every[start:stop], total[start:stop], free[start:stop])
        if line.gain_bits >= LEAST:
            found.append(line)
        start = stop
    return tuple(sorted(found, key=lambda line: (-line.gain_per_cost, -line.gain_bits, line.id)))


def _most_telling(
    base: KnowledgeBase,
    plan: Layout,
    network: Network,
    evidence: Evidence,
    reported: frozenset[int],
    aim: Targets,
    enquiries: list[Enquiry],
) -> list[Enquiry]:
    """The enquiries worth an exact run: the best by a gain that takes the faults as independent given each target.

    P(a, no live path from t, e) is then P(no live path from t, e) times otherwise(a) times the product over
    faults of 1 + P(on | no live path from t, e) (ratio - 1): exact for an enquiry about one fault.
    """
    if len(enquiries) <= EXACT:
        return enquiries
    count = len(aim.stages) + 1
    chosen = membership(network, [frozenset(), *aim.sets[:count]])
    rows = Rows(np.ones((1, len(network.faults))), chosen)
    passes = both_ways(network, evidence, reported, rows)
    share = faults_on(network, passes, rows) / passes.total[:, None]
    scored = []
    for enquiry in enquiries:
        values = []
        for effect in effects(base, enquiry):
            value = passes.total * effect.otherwise
            for fault, ratio in effect.ratios:
                value = value * (1 + share[:, plan.fault[fault]] * (ratio - 1))
            for compound, ratio in effect.compounds:
                value = value * (1 + _presence(network, share, plan.compound[compound]) * (ratio - 1))
            values.append(value)
        table = np.array(values)
        live = np.clip(1 - table[:, 1:] / table[:, :1], 0.0, 1.0)
        scored.append((expected_gain(table[:, 0] / table[:, 0].sum(), live), enquiry.id, enquiry))
    cheap = sorted(scored, key=lambda one: (-one[0] / base.settings.cost[one[2].cost], one[1]))[
        : EXACT - TELLING
    ]
    telling = sorted((one for one in scored if one not in cheap), key=lambda one: (-one[0], one[1]))[:TELLING]
    return [enquiry for _, _, enquiry in (*cheap, *telling)]


def _presence(network: Network, share: Array, compound: int) -> Array:
    """P(compound there), with its faults taken as independent."""
    absent = np.full(len(share), network.compound_leak[compound, 0])
    for link in network.links_of_compound[compound]:
        absent = absent * (
            1 - share[:, network.fault_links[link].fault] * (1 - network.fault_cumulative[link, 0])
        )
    return np.asarray(1 - absent)


def _relevant(network: Network, evidence: Evidence) -> set[int]:
    bones = skeleton(network, evidence, switches=True)
    alone = {network.fault_links[link].fault for links in bones.leaves for link in links}
    return alone | {fault for fault, _ in bones.branching}


def _bears(base: KnowledgeBase, plan: Layout, enquiry: Enquiry, relevant: set[int]) -> bool:
    """False where no fault or compound it is about can reach a note seen: then its gain is exactly 0."""
    for effect in effects(base, enquiry):
        if any(plan.fault[fault] in relevant for fault, _ in effect.ratios):
            return True
        for compound, _ in effect.compounds:
            links = plan.network.links_of_compound[plan.compound[compound]]
            if any(plan.network.fault_links[link].fault in relevant for link in links):
                return True
    return False


def _values(
    plan: Layout,
    network: Network,
    evidence: Evidence,
    reported: frozenset[int],
    aim: Targets,
    every: list[Effect],
) -> tuple[Array, Array]:
    """P(answer, e) and P(answer, no live path from each target, e), shapes (A,) and (A, targets)."""
    on = np.ones((len(every), len(network.faults)))
    for row, effect in enumerate(every):
        for fault, ratio in effect.ratios:
            on[row, plan.fault[fault]] = ratio
    chosen = membership(network, [frozenset(), *aim.sets])
    values = _run(network, evidence, reported, on, chosen)
    for row, effect in enumerate(every):
        for compound, ratio in effect.compounds:
            absent = _without_compound(network, evidence, reported, plan.compound[compound], on[row], chosen)
            values[row] = absent + ratio * (values[row] - absent)
    values *= np.array([effect.otherwise for effect in every])[:, None]
    return values[:, 0], values[:, 1:]


def _run(
    network: Network, evidence: Evidence, reported: frozenset[int], on: Array, chosen: NDArray[np.bool_]
) -> Array:
    rows = Rows(np.repeat(on, len(chosen), axis=0), np.tile(chosen, (len(on), 1)))
    return evaluate(network, evidence, reported, rows).reshape(len(on), len(chosen))


def _without_compound(
    network: Network,
    evidence: Evidence,
    reported: frozenset[int],
    compound: int,
    on: Array,
    chosen: NDArray[np.bool_],
) -> Array:
    """P(compound absent, no live path from each target, e)."""
    bones = skeleton(network, evidence, switches=True)
    if compound in bones.compounds:
        before = evidence.compounds.get(compound, np.ones(network.states))
        absent = np.zeros(network.states)
        absent[0] = before[0]
        tested = Evidence(evidence.descriptors, {**evidence.compounds, compound: absent})
        return np.asarray(_run(network, tested, reported, on[None], chosen)[0])
    rows, leak = level_rows(network, compound, on[None])
    return np.asarray(_run(network, evidence, reported, rows.on[:1], chosen)[0] * leak[0])


def _line(
    base: KnowledgeBase, enquiry: Enquiry, aim: Targets, every: list[Effect], total: Array, free: Array
) -> AskLine:
    answer = total / total.sum()
    live = np.clip(1 - free / total[:, None], 0.0, 1.0)
    count = len(aim.stages)
    gain = expected_gain(answer, live[:, : count + 1])
    lines = []
    for row, effect in enumerate(every):
        stage = int(np.argmax(live[row, :count]))
        singles = live[row, count + 1 :]
        source = base.faults[aim.faults[int(np.argmax(singles))]].label if len(singles) else ""
        label = base.stages[aim.stages[stage]].label
        lines.append(
            AnswerLine(
                effect.answer,
                enquiry.answers[effect.answer],
                float(answer[row]),
                source,
                label,
                float(live[row, stage]),
            )
        )
    cost = base.settings.cost[enquiry.cost]
    return AskLine(
        enquiry.id,
        enquiry.kind,
        enquiry.ask_of,
        enquiry.stage,
        enquiry.text,
        gain,
        gain / cost,
        enquiry.cost,
        enquiry.days,
        enquiry.record,
        tuple(lines),
        enquiry.caution,
    )
