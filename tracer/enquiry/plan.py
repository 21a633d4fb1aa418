"""What to ask or test next, by expected information about the source stages.

For each stage s let X_s be "a live path runs from a fault of s to a reported note". The gain of an
enquiry is sum over s of I(X_s; answer) in bits, plus the same for "none of these": each term is
    h(sum_a P(a) q_a) - sum_a P(a) h(q_a),   q_a = P(X_s | e, a),   h the binary entropy,
never below 0. It is a score for ordering, not the joint information about all stages at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracer.enquiry.answered import Targets, targets, values
from tracer.enquiry.effects import Effect, concerns, effects, settled
from tracer.enquiry.what_if import Again, by_events, is_event
from tracer.findings.answers import Term
from tracer.inference.assemble import Whole
from tracer.inference.exact import both_ways, faults_on
from tracer.inference.gain import expected_gain
from tracer.inference.leaning import with_leaning
from tracer.inference.lot import WeighedLot
from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.rows import Rows
from tracer.inference.skeleton import skeleton
from tracer.inference.sources import membership
from tracer.inference.unlisted import with_unlisted
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.lots.lot import Lot
from tracer.wording.sentence import Id

Array = NDArray[np.float64]

EXACT = 8
"""Enquiries whose gain is computed exactly and listed; a quick score chooses them."""
TELLING = 2
"""Of these, how many are chosen by gain alone, whatever they cost; the others by gain for their cost."""
EVENTS = 2
"""Of the enquiries whose answers are events of the chain, how many are worked out, each with its event; the first by the quick score."""
ALIKE = 12
"""Decimals beyond which two probabilities are the same: the source that led before is named."""
LEAST = 0.0005
"""Bits below which an enquiry is not worth a line."""


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """A possible answer and what it would change."""

    answer: Id
    label: str
    probability: float
    top_source: str
    top_stage: str
    top_stage_probability: float


@dataclass(frozen=True, slots=True)
class AskLine:
    """A question or test, with what it is worth."""

    id: Id
    kind: Id
    ask_of: Id
    stage: Id
    text: str
    gain_bits: float
    gain_per_cost: float
    cost: Id
    days: float
    record: str
    answers: tuple[AnswerLine, ...]
    caution: str | None


def asks(
    base: KnowledgeBase, lot: WeighedLot, faults: tuple[str, ...], again: Again, stopped: bool = False
) -> tuple[AskLine, ...]:
    """The most telling enquiries still open for a lot, best first by gain for their cost, then by gain.

    `again` weighs the lot with one more answer, where that is an event of its chain. Where a note of the lot stops tasting
    (`stopped`), nothing that makes somebody smell or taste it is among them.
    """
    answered = {name for name, _ in lot.lot.answers}
    still_open = [
        one
        for one in base.enquiries.values()
        if not settled(one, lot.facts, answered) and not (stopped and one.by_senses)
    ]
    weighed = lot.weighed
    return most_telling(
        base,
        lot.whole,
        weighed.network,
        weighed.evidence,
        weighed.traced,
        faults,
        still_open,
        (lot.lot, again),
        lot,
    )


def most_telling(
    base: KnowledgeBase,
    whole: Whole,
    network: Network,
    evidence: Evidence,
    traced: Traced,
    faults: tuple[str, ...],
    enquiries: Iterable[Enquiry],
    events: tuple[Lot, Again] | None = None,
    placed: WeighedLot | None = None,
) -> tuple[AskLine, ...]:
    """The most telling of some enquiries, for what is traced; answers that are events of a chain need its lot.

    The stages of an answer hold the causes that are not listed where the lot is `placed`.
    """
    if not traced:
        return ()
    aim = targets(base, whole, faults)
    relevant = _relevant(network, evidence, traced)
    open_ones = [one for one in enquiries if _bears(base, whole, one, relevant)]
    if not open_ones:
        return ()
    open_ones = _first_by_a_quick_score(base, whole, network, evidence, traced, aim, open_ones)
    every = [effect for enquiry in open_ones for effect in effects(base, enquiry)]
    total, free = values(whole, network, evidence, traced, aim, every)
    found = []
    start = 0
    leaning = placed.leaning if placed else {}
    by_event = [one for one in open_ones if events and is_event(base, events[0], one)]
    for enquiry in open_ones:
        stop = start + len(enquiry.answers)
        there, dead = total[start:stop], free[start:stop]
        lots: dict[int, WeighedLot] = {}
        if events and enquiry in by_event[EVENTS:]:
            start = stop
            continue
        if events and enquiry in by_event:
            there, dead, lots = by_events(base, *events, enquiry, aim.names, (there, dead), leaning)
        live = np.clip(1 - dead / there[:, None], 0.0, 1.0)
        gain = expected_gain(there / there.sum(), live[:, : len(aim.stages) + 1])
        if gain >= LEAST:
            after = [
                with_leaning(base, lots[row], leaning) if row in lots else placed for row in range(len(there))
            ]
            found.append(_line(base, enquiry, aim, every[start:stop], there / there.sum(), live, gain, after))
        start = stop
    return tuple(sorted(found, key=lambda line: (-line.gain_per_cost, -line.gain_bits, line.id)))


def _first_by_a_quick_score(
    base: KnowledgeBase,
    whole: Whole,
    network: Network,
    evidence: Evidence,
    traced: Traced,
    aim: Targets,
    enquiries: list[Enquiry],
) -> list[Enquiry]:
    """The enquiries worth an exact run: the best by a gain that takes the faults as independent given each target.

    The chance of a term with no live path from t is then P(no live path from t, e) times its weight times the product over
    faults of 1 + P(on | no live path from t, e) (factor - 1): exact for an enquiry about one fault.
    """
    if len(enquiries) <= EXACT:
        return enquiries
    count = len(aim.stages) + 1
    chosen = membership(network.structure, [frozenset(), *aim.sets[:count]])
    rows = Rows(np.ones((1, len(network.structure.faults))), chosen)
    passes = both_ways(network, evidence, rows, traced)
    share = faults_on(passes) / passes.total[:, None]
    whole_total = passes.total * passes.outside
    scored = []
    for enquiry in enquiries:
        values = []
        for effect in effects(base, enquiry):
            value = np.zeros_like(whole_total)
            for term in effect.terms:
                value = value + _roughly(network, whole, share, term) * whole_total
            values.append(value)
        table = np.maximum(np.array(values), 1e-300)
        live = np.clip(1 - table[:, 1:] / table[:, :1], 0.0, 1.0)
        scored.append((expected_gain(table[:, 0] / table[:, 0].sum(), live), enquiry.id, enquiry))
    cheap = sorted(scored, key=lambda one: (-one[0] / base.settings.cost[one[2].cost], one[1]))[
        : EXACT - TELLING
    ]
    telling = sorted((one for one in scored if one not in cheap), key=lambda one: (-one[0], one[1]))[:TELLING]
    return [enquiry for _, _, enquiry in (*cheap, *telling)]


def _roughly(network: Network, whole: Whole, share: Array, term: Term) -> Array:
    value = np.full(len(share), term.weight)
    for fault, factor in term.faults:
        value = value * (1 + share[:, whole.main(fault)] * (factor - 1))
    for compound, factor in term.compounds:
        value = value * (1 + _presence(network, share, whole.compound[compound]) * (factor - 1))
    return value


def _presence(network: Network, share: Array, compounds: tuple[int, ...]) -> Array:
    """P(compound there), with its faults taken as independent."""
    structure, numbers = network.structure, network.numbers
    absent = np.ones(len(share))
    for compound in compounds:
        absent = absent * numbers.compound_leak[0, compound, 0]
        for link in structure.links_into_compound[compound]:
            fault = structure.fault_links[link][0]
            absent = absent * (1 - share[:, fault] * (1 - numbers.fault[0, link, 0]))
    return np.asarray(1 - absent)


def _relevant(network: Network, evidence: Evidence, traced: Traced) -> set[int]:
    return {cause.fault for cause in skeleton(network, evidence, traced).causes}


def _bears(base: KnowledgeBase, whole: Whole, enquiry: Enquiry, relevant: set[int]) -> bool:
    """False where no fault or compound it is about can reach what was found: then its gain is exactly 0."""
    faults, compounds = concerns(base, enquiry)
    if any(whole.main(fault) in relevant for fault in faults):
        return True
    structure = whole.network.structure
    return any(
        structure.fault_links[link][0] in relevant
        for name in compounds
        for place in whole.compound[name]
        for link in structure.links_into_compound[place]
    )


def _line(
    base: KnowledgeBase,
    enquiry: Enquiry,
    aim: Targets,
    every: list[Effect],
    answer: Array,
    live: Array,
    gain: float,
    lots: Sequence[WeighedLot | None],
) -> AskLine:
    """`answer` is the probability of each, `live` that of a live path from each target after it; `lots` the lot after each."""
    count = len(aim.stages)
    lines = []
    for row, effect in enumerate(every):
        lot, chances = lots[row], live[row, :count]
        if lot:
            chances, _ = with_unlisted(base, lot, chances, float(1 - live[row, count]))
        stage = int(np.argmax(chances))
        singles = live[row, count + 1 :]
        source = base.faults[aim.faults[int(np.argmax(singles.round(ALIKE)))]].label if len(singles) else ""
        label = base.stages[aim.stages[stage]].label
        lines.append(
            AnswerLine(
                effect.answer,
                enquiry.answers[effect.answer],
                float(answer[row]),
                source,
                label,
                float(chances[stage]),
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
