"""A season as data: all that its screen, its page and its files show."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.season.counts import UNNAMED, Count, counts, jeffreys
from tracer.season.excess import ANY, LIMIT, Excess
from tracer.season.groups import called
from tracer.season.look import look, tasted
from tracer.season.lots import SeasonLot
from tracer.season.parties import Party, parties
from tracer.season.sides import Side, sides
from tracer.wording.sentence import Id, Name, joined, say

_PLACES = 4
"""Other places that a group's troubled lots went through, told of each group."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where troubled lots of a group went besides."""

    stage: Id
    label: str
    place: Name
    lots: int


@dataclass(frozen=True, slots=True)
class Standing:
    """A group that shows more than chance, with its custody."""

    what: str
    trouble: str
    """What is counted: any off-note, or those traced to the stages named."""
    here: int
    troubled: int
    low: float
    high: float
    """Interval of the share troubled."""
    others: int
    troubled_others: int
    p: float
    corrected: float
    traced: tuple[tuple[str, int], ...]
    """Sources its troubled lots were traced to, most first."""
    lots: tuple[Name, ...]
    """The troubled lots."""
    traced_elsewhere: tuple[Name, ...]
    """Lots of the group with an off-note that was traced to other stages, or to none."""
    look_at: tuple[Name, ...]
    """The group's other lots."""
    custody: tuple[Place, ...]
    alike: tuple[str, ...]
    """Groups that explain these lots about as well."""
    ask: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ClaimDay:
    """A last day of a time limit."""

    lot: Name
    exporter: Name
    what: Name
    day: datetime.date
    left: int
    """Days from today; negative where it has passed."""
    troubled: bool


@dataclass(frozen=True)
class Season:
    """A season."""

    today: datetime.date
    first: datetime.date | None
    last: datetime.date | None
    lots: tuple[SeasonLot, ...]
    cupped: int
    troubled: int
    low: float
    high: float
    counts: tuple[Count, ...]
    standing: tuple[Standing, ...]
    compared: int
    counted: int
    limit: float
    claims: tuple[ClaimDay, ...]
    parties: tuple[Party, ...]
    sides: tuple[Side, ...]


def season(
    lots: Iterable[SeasonLot], base: KnowledgeBase, today: datetime.date, limit: float = LIMIT
) -> Season:
    """Work out a season from its rows."""
    every = tuple(lots)
    cupped = tasted(every)
    looked = look(every, base, limit)
    days = sorted(lot.cupped for lot in every if lot.cupped)
    troubled = sum(lot.troubled for lot in cupped)
    return Season(
        today,
        days[0] if days else None,
        days[-1] if days else None,
        every,
        len(cupped),
        troubled,
        *jeffreys(troubled, len(cupped)),
        counts(every, base),
        tuple(_standing(one, cupped, base) for one in looked.found),
        looked.compared,
        looked.counted,
        looked.limit,
        _claims(every, today),
        parties(every),
        sides(every, base),
    )


def _standing(found: Excess, lots: Sequence[SeasonLot], base: KnowledgeBase) -> Standing:
    members = [lots[number] for number in sorted(found.group.lots)]
    stages = found.kind.split()
    bad = [lot for lot in members if lot.troubled and (not stages or lot.stage in stages)]
    own = {(stage, one.name) for one in found.group.shared for stage in one.stages}
    places = Counter(place for lot in bad for place in {*lot.passed, *_hands(lot)} - own)
    return Standing(
        joined((called(one, base) for one in found.group.shared), " = "),
        say("traced to {stages}", stages=joined(base.stages[one].label for one in stages))
        if found.kind != ANY
        else say("any off-note"),
        found.here,
        found.troubled_here,
        *jeffreys(found.troubled_here, found.here),
        found.others,
        found.troubled_others,
        found.p,
        found.corrected,
        tuple(Counter(lot.label or UNNAMED for lot in bad).most_common(3)),
        tuple(lot.lot for lot in bad),
        tuple(lot.lot for lot in members if lot.troubled and lot not in bad),
        tuple(lot.lot for lot in members if not lot.troubled),
        tuple(
            Place(stage, base.stages[stage].label if stage in base.stages else say("exporter"), place, count)
            for (stage, place), count in sorted(places.items(), key=lambda one: (-one[1], one[0]))[:_PLACES]
            if count > 1
        ),
        tuple(joined((called(one, base) for one in group.shared), " = ") for group in found.alike),
        tuple(dict.fromkeys(base.stages[stage].ask_of for one in found.group.shared for stage in one.stages)),
    )


def _hands(lot: SeasonLot) -> set[tuple[str, str]]:
    return {("exporter", lot.exporter)} if lot.exporter else set()


def _claims(lots: Sequence[SeasonLot], today: datetime.date) -> tuple[ClaimDay, ...]:
    """Claim days to come, and those of troubled lots that have passed; the earliest first."""
    found = [
        ClaimDay(lot.lot, lot.exporter, lot.claim, day, (day - today).days, lot.troubled)
        for lot in lots
        if (day := lot.claim_day) is not None and (day >= today or lot.troubled)
    ]
    return tuple(sorted(found, key=lambda one: (one.day, one.lot)))
