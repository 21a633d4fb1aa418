"""The same lot before it was shipped and on arrival, side by side: what changed between, and so whom to ask."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.season.lots import Sample, SeasonLot
from tracer.season.row import AFTER, BEFORE
from tracer.wording.sentence import Id, Name, joined, say


@dataclass(frozen=True, slots=True)
class NoteBeside:
    """An off-note in the one sample and in the other."""

    note: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Side:
    """A lot's last sample before shipment beside its last one after."""

    lot: Name
    exporter: Name
    before: Id
    after: Id
    notes: tuple[NoteBeside, ...]
    score_before: float | None
    score_after: float | None
    moisture_before: float | None
    moisture_after: float | None
    changed: str
    """What changed, in one sentence."""
    between: tuple[Id, ...]
    """Stages where what is new can lie; empty where nothing is new."""
    ask: tuple[str, ...]
    """The parties to ask, the first first."""


def sides(lots: Iterable[SeasonLot], base: KnowledgeBase) -> tuple[Side, ...]:
    """Every lot that was cupped both before shipment and after, those with something new first."""
    found = [side for lot in lots if (side := _side(lot, base)) is not None]
    return tuple(sorted(found, key=lambda one: (not one.between, not one.notes, one.lot)))


def _side(lot: SeasonLot, base: KnowledgeBase) -> Side | None:
    stages = list(base.stages)
    drawn = {kind: stages.index(stage) for kind, stage in base.settings.chain.drawn_after.items()}
    ship = drawn[AFTER]
    known = sorted((one for one in lot.samples if one.kind in drawn), key=lambda one: drawn[one.kind])
    early = [one for one in known if drawn[one.kind] < ship]
    late = [one for one in known if drawn[one.kind] >= ship]
    if not early or not late:
        return None
    before, after = early[-1], late[-1]
    old, new = ({name for name, _, _ in one.found} for one in (before, after))
    passage = tuple(stages[drawn[before.kind] + 1 : drawn[after.kind] + 1])
    label = {name: base.descriptors[name].label for name in old | new}
    arisen = [name for name, _, _ in after.found if name not in old]
    stayed = [name for name, _, _ in before.found if name in new]
    left = [name for name, _, _ in before.found if name not in new]
    parts, ask = [], []
    if arisen:
        parts.append(say("new after shipment: {notes}", notes=joined(label[name] for name in arisen)))
        ask += [base.stages[stage].ask_of for stage in passage]
    if stayed:
        parts.append(
            say("there before shipment already: {notes}", notes=joined(label[name] for name in stayed))
        )
        ask.append(base.stages[base.settings.chain.drawn_after[before.kind]].ask_of)
    if left:
        parts.append(
            say(
                "only before shipment: {notes}; cup the kept sample beside it",
                notes=joined(label[name] for name in left),
            )
        )
        ask += [base.stages[stage].ask_of for stage in base.settings.verdicts.bench_stages[-1:]]
    moisture = dict(lot.moisture)
    return Side(
        lot.lot,
        lot.exporter,
        before.kind,
        after.kind,
        tuple(
            NoteBeside(label[name], _told(before, name), _told(after, name))
            for name in (*arisen, *stayed, *left)
        ),
        before.score,
        after.score,
        moisture.get(BEFORE),
        moisture.get(AFTER),
        joined(parts, "; ") if parts else say("no off-note in either"),
        passage if arisen else (),
        tuple(dict.fromkeys(ask)),
    )


def _told(sample: Sample, name: str) -> str:
    for note, found, of in sample.found:
        if note == name:
            return say("{found} of {of} cups", found=found, of=of) if of else say("found")
    return say("looked for, not found") if name in sample.absent else say("not named")
