"""How many lots of each exporter, mill, origin, stage, source and month were cupped, held and traced to what."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.names import fold
from tracer.rate import Rate
from tracer.season.lots import SeasonLot
from tracer.wording.sentence import Id, Name, Own, say

MILL = "dry_milling"
BY = ("exporter", "mill", "origin", "stage", "source", "month")
LEVEL = 0.95
UNNAMED = say("not enough to name one")
_NAMED = 3


@dataclass(frozen=True, slots=True)
class Count:
    """Lots of one exporter, mill, origin or month; or lots traced to one stage or source, among all cupped."""

    by: Id
    value: Name
    label: str
    """The value as it is told."""
    lots: int
    cupped: int
    held: int
    """Held or stopped."""
    troubled: int
    """Of those cupped: with an off-note; or, of a stage or source, traced to it."""
    low: float
    high: float
    """Interval of their share."""
    to: tuple[tuple[str, int], ...]
    """What they were traced to most: sources; the stage, where sources are counted."""


def jeffreys(found: int, of: int, level: float = LEVEL) -> tuple[float, float]:
    """Interval of a share from a count, equal-tailed under Beta(found + 1/2, of - found + 1/2); from 0 where none, to 1 where all.

    Brown, Cai and DasGupta 2001, Statistical Science 16:101 (from memory).

    >>> [round(end, 4) for end in jeffreys(0, 10)], [round(end, 4) for end in jeffreys(5, 10)]
    ([0.0, 0.2172], [0.2235, 0.7765])
    """
    if of == 0:
        return 0.0, 1.0
    low, high = Rate(found + 0.5, of - found + 0.5).interval(level)
    return (0.0 if found == 0 else low), (1.0 if found == of else high)


def counts(lots: Sequence[SeasonLot], base: KnowledgeBase) -> tuple[Count, ...]:
    """Every count, by what it counts; of each kind those with most lots traced first."""
    found = [one for by in ("exporter", "mill", "origin", "month") for one in _by_part(by, lots)] + [
        one for by in ("stage", "source") for one in _by_outcome(by, lots, base)
    ]
    return tuple(sorted(found, key=lambda one: (BY.index(one.by), *_order(one))))


def _order(one: Count) -> tuple[str, int, int, str]:
    """Months as they come; of all else those with most off-notes first."""
    return (one.value if one.by == "month" else "", -one.troubled, -one.lots, one.value)


def values_of(lot: SeasonLot, by: str) -> tuple[str, ...]:
    """What a lot counts under; several where it went through several mills."""
    one = {"exporter": lot.exporter, "origin": lot.origin, "month": lot.month}.get(by, "")
    return lot.at(MILL) if by == "mill" else (one,) if one else ()


def _by_part(by: str, lots: Sequence[SeasonLot]) -> Iterable[Count]:
    parts: dict[str, tuple[str, list[SeasonLot]]] = {}
    for lot in lots:
        for value in dict.fromkeys(values_of(lot, by)):
            parts.setdefault(fold(value), (value, []))[1].append(lot)
    for value, members in parts.values():
        cupped = [lot for lot in members if lot.tasted]
        troubled = [lot for lot in cupped if lot.troubled]
        to = Counter(lot.label or UNNAMED for lot in troubled)
        yield _count(by, value, Own(value), members, cupped, troubled, to)


def _by_outcome(by: str, lots: Sequence[SeasonLot], base: KnowledgeBase) -> Iterable[Count]:
    cupped = [lot for lot in lots if lot.tasted]
    parts: dict[str, list[SeasonLot]] = {}
    for lot in cupped:
        if lot.troubled:
            parts.setdefault(lot.stage if by == "stage" else lot.source, []).append(lot)
    for value, here in parts.items():
        stage = here[0].stage
        named = base.stages[stage].label if stage in base.stages else stage
        label: str = UNNAMED
        to = Counter[str]()
        if value and by == "stage":
            label, to = named, Counter(lot.label for lot in here)
        elif value:
            label, to = here[0].label, Counter({named: len(here)})
        yield _count(by, value, label, here, cupped, here, to)


def _count(
    by: str,
    value: str,
    label: str,
    members: Sequence[SeasonLot],
    cupped: Sequence[SeasonLot],
    troubled: Sequence[SeasonLot],
    to: Counter[str],
) -> Count:
    held = sum(bool(lot.hold or lot.stop) for lot in members)
    low, high = jeffreys(len(troubled), len(cupped))
    return Count(
        by,
        value,
        label,
        len(members),
        len(cupped),
        held,
        len(troubled),
        low,
        high,
        tuple(to.most_common(_NAMED)),
    )
