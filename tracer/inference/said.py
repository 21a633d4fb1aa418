"""What was said of each note at each event, and what silence says: of a taster, a control, a coffee compared."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from tracer.inference.chain import Chain, Event
from tracer.issues import Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.settings import Settings
from tracer.lots.lot import Lot
from tracer.lots.observed import Heard, Observation
from tracer.names import fold

Said = dict[tuple[str, int], list[Observation]]
"""(note, event) -> what was said of it there."""


def said_at(base: KnowledgeBase, chain: Chain, heard: Heard) -> Said:
    """What was said at the events of the lot's own cups, and of the other coffees beside them."""
    said: Said = {}
    of_cupping: dict[int, int] = {}
    for number, event in enumerate(chain.events):
        if event.kind == "sample":
            of_cupping |= dict.fromkeys(event.cuppings, number)
    for observation in (*heard.observations, *heard.elsewhere):
        if observation.cupping in of_cupping:
            key = (observation.descriptor, of_cupping[observation.cupping])
            said.setdefault(key, []).append(observation)
    for number, event in enumerate(chain.events):
        if event.kind in ("control", "beside"):
            for observation in heard.beside:
                if (observation.cupping,) == event.cuppings and observation.taster == event.other:
                    said.setdefault((observation.descriptor, number), []).append(observation)
    for taster, cups, cupping in heard.checked_all:
        for name in base.descriptors if cupping in of_cupping else ():
            rows = said.setdefault((name, of_cupping[cupping]), [])
            if not any(o.taster == taster and o.cupping == cupping for o in rows):
                rows.append(_nothing(name, taster, cups, cupping))
    return said


def _nothing(name: str, taster: str, cups: int, cupping: int, unasked: bool = False) -> Observation:
    return Observation(name, taster, 0, cups, "unstated", False, "", cupping, Place("silence"), (), unasked)


def fill_in(
    base: KnowledgeBase, chain: Chain, said: Said, heard: Heard, lot: Lot, present: Iterable[str]
) -> None:
    """What silence says: tasters who named other things, a control that nobody complained of, a comparison in one word."""
    usual = base.settings.cups.usual
    found = set(present)
    for number, event in enumerate(chain.events):
        if event.kind == "sample":
            for place in event.cuppings:
                cupping = lot.cuppings[place]
                for tasting in cupping.tastings:
                    for name in base.descriptors:
                        rows = said.get((name, number), [])
                        if not any(o.taster == tasting.taster and o.cupping == place for o in rows):
                            cups = tasting.cups or cupping.cups or usual
                            rows = said.setdefault((name, number), [])
                            rows.append(_nothing(name, tasting.taster, cups, place, unasked=True))
        elif event.kind in ("control", "beside"):
            for name in found:
                if (name, number) not in said:
                    said[name, number] = [_nothing(name, event.other, usual, event.cuppings[0])]
        elif event.kind == "comparison":
            for name in _spoken_of(base, event, found):
                said[name, number] = [silence(base.settings, event, number, name)]


def silence(settings: Settings, event: Event, number: int, name: str) -> Observation:
    """What a comparison told in one word says of a note: some cup had it, or none of the usual number."""
    shown = None if event.shows == "same" else 0
    return replace(_nothing(name, event.name, settings.cups.usual, -1 - number), found=shown)


def silent_last(chain: Chain, said: Said, present: Sequence[str]) -> list[tuple[str, int]]:
    """Where a note that was found was not named, what is told by silence alone last; of the loudest note first."""
    keys = [
        (name, event)
        for (name, event), rows in said.items()
        if name in present and all(o.found == 0 for o in rows)
    ]
    return sorted(
        keys,
        key=lambda key: (
            present.index(key[0]) if chain.events[key[1]].kind != "sample" else 0,
            all(o.unasked for o in said[key]),
            present.index(key[0]),
            key[1],
        ),
    )


def _spoken_of(base: KnowledgeBase, event: Event, found: set[str]) -> set[str]:
    """The notes a comparison speaks of: the one it names, or all that were found."""
    if event.of is None:
        return found
    named = {
        name
        for name in found
        if fold(event.of) in (name, fold(base.descriptors[name].label))
        or any(
            fold(event.of) == fold(word) for words in base.descriptors[name].words.values() for word in words
        )
    }
    return named or found
