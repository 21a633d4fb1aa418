"""Groups of lots that share something: an exporter, a place, a place in a week, our own bench in a week."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.names import fold
from tracer.season.lots import SeasonLot, week_of
from tracer.wording.sentence import Id, Name, Own, joined, say

EXPORTER, PLACE, BENCH, ORIGIN = "exporter", "place", "bench", "origin"


@dataclass(frozen=True, slots=True)
class Shared:
    """What some lots share."""

    kind: Id
    name: Name
    when: Name = ""
    """A week or month; empty for the whole season."""
    stages: tuple[Id, ...] = ()
    """Stages where its trouble would lie."""


@dataclass(frozen=True, slots=True)
class Group:
    """Lots that share something; several things where exactly the same lots share them."""

    shared: tuple[Shared, ...]
    lots: frozenset[int]


def called(shared: Shared, base: KnowledgeBase) -> str:
    """A shared thing in words."""
    name = Own(shared.name)
    if shared.kind == EXPORTER:
        told = say("exporter {name}", name=name)
    elif shared.kind == ORIGIN:
        told = say("origin {name}", name=name)
    elif shared.kind == BENCH:
        told = say("own bench {name}", name=name) if shared.name else say("own bench")
    else:
        told = joined((base.stages[shared.stages[0]].label, name), ": ")
    return joined((told, Own(shared.when))) if shared.when else told


def groups(lots: Sequence[SeasonLot], base: KnowledgeBase) -> tuple[Group, ...]:
    """Every group of two lots and more that does not hold all of them."""
    found: dict[tuple[str, ...], tuple[Shared, set[int]]] = {}
    for number, lot in enumerate(lots):
        for shared in _of(lot, base):
            key = (shared.kind, fold(shared.name), shared.when, *shared.stages)
            found.setdefault(key, (shared, set()))[1].add(number)
    same: dict[frozenset[int], list[Shared]] = {}
    for shared, members in found.values():
        if 1 < len(members) < len(lots):
            same.setdefault(frozenset(members), []).append(shared)
    return tuple(Group(tuple(things), members) for members, things in same.items())


def _of(lot: SeasonLot, base: KnowledgeBase) -> Iterator[Shared]:
    if lot.exporter:
        hands = base.settings.together.exporter
        yield Shared(EXPORTER, lot.exporter, "", hands)
        if lot.month:
            yield Shared(EXPORTER, lot.exporter, lot.month, hands)
    if lot.origin:
        yield Shared(ORIGIN, lot.origin)
    days = dict(lot.days)
    for stage, node in lot.passed:
        yield Shared(PLACE, node, "", (stage,))
        if stage in days:
            yield Shared(PLACE, node, week_of(days[stage]), (stage,))
    benches = base.settings.verdicts.bench_stages
    for bench, day in lot.tables:
        yield from _bench(bench, day, benches)


def _bench(bench: str, day: datetime.date, stages: tuple[str, ...]) -> Iterator[Shared]:
    yield Shared(BENCH, "", week_of(day), stages)
    if bench:
        yield Shared(BENCH, bench, "", stages)
        yield Shared(BENCH, bench, week_of(day), stages)
