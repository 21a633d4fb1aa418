"""Which stretches of the chain each cupping of a lot has gone through: samples cut the lot, benches hang beside it.

A site is a stage of the lot, or a stage of one bench. Every event - a sample on a bench, the control or another coffee
of its table, a comparison somebody reports, the green smelled or analysed - reaches some sites. Sites that the same events reach are one segment: within it
nothing on the sheet tells one site from the next by hearing alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, get_args

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.phrase import Unit
from tracer.knowledge.settings import Settings
from tracer.lots.compared import comparisons_of
from tracer.lots.lot import Comparison, Cupping, Lot, Note
from tracer.lots.observations import traced_sample

Site = tuple[str, str]
"""A stage, and the bench it belongs to; no bench for the lot itself."""
Place = tuple[str, str, str]
"""A site, and the unit that faults strike there; ANY where no comparison tells units apart."""
LOT = ANY = ""


@dataclass(frozen=True, slots=True)
class Event:
    """Cups that were heard together, and what they have gone through."""

    kind: Literal["sample", "control", "beside", "comparison", "green"]
    name: str
    sites: frozenset[Site]
    cuppings: tuple[int, ...] = ()
    """Places among the lot's cuppings; of a control or neighbour, that of its table."""
    other: str = ""
    """Name of the other coffee of the table."""
    shows: str = ""
    of: str | None = None
    """The note a comparison speaks of."""
    own: bool = False
    """It has a history of its own beside what it shares."""
    spares: frozenset[str] = frozenset()
    """Units that strike it apart at the sites it shares."""
    also: frozenset[str] = frozenset()
    """Units that hold it too at the other sites of the lot."""

    def passed(self, place: Place) -> bool:
        """True where what strikes there reaches the event."""
        stage, bench, unit = place
        if unit != ANY and unit in self.also and bench == LOT:
            return True
        return (stage, bench) in self.sites and (unit == ANY or unit not in self.spares)


@dataclass(frozen=True)
class Chain:
    """The events of a lot, and the segments they cut the chain into."""

    events: tuple[Event, ...]
    segments: tuple[tuple[Place, ...], ...]
    reach: tuple[tuple[int, ...], ...]
    """For each event, the segments it reaches."""
    bench: str
    """The bench of the latest sample, of which records and questions about roaster and cupping room speak."""

    @property
    def key(self) -> tuple[object, ...]:
        """Alike for chains with the same structure."""
        return self.segments, self.reach, self.bench, tuple(event.own for event in self.events)


def chain_of(lot: Lot, base: KnowledgeBase) -> Chain:
    """Events and segments of a lot, the latest sample first."""
    settings = base.settings
    benches = settings.verdicts.bench_stages
    stages = tuple(stage for stage in base.stages if stage not in benches)
    recorded = {base.records[record.record].stage for record in lot.records if record.value is not None}
    recorded |= {contact.stage for contact in lot.contact}
    said = {(record.record, record.value) for record in lot.records}
    reached = [stages.index(one.stage) for one in settings.chain.reached if (one.record, one.value) in said]
    end = min(reached, default=len(stages))
    events = list(_samples(lot, stages, settings, recorded, end))
    main = next((bench for event in events for _, bench in sorted(event.sites) if bench), "bench")
    for event in tuple(events):
        events += _beside(lot, event, settings)
    gone = _gone_through(events, stages)
    events += _comparisons(comparisons_of(lot, base), stages, gone, main, settings)
    if _green_examined(lot, base):
        lot_sites = events[0].sites if events else {(stage, LOT) for stage in stages}
        events.append(Event("green", "green", frozenset(site for site in lot_sites if site[1] == LOT)))
    sites = [*((stage, LOT) for stage in stages)]
    found = {site for event in events for site in event.sites} | {(stage, main) for stage in benches}
    sites += sorted(found - set(sites), key=lambda site: (site[1] != main, site[1], benches.index(site[0])))
    apart = {unit for event in events for unit in (*event.spares, *event.also)}
    units = get_args(Unit) if apart else (ANY,)
    groups: dict[tuple[bool, ...], list[Place]] = {}
    for place in ((*site, unit) for site in sites for unit in units):
        groups.setdefault(tuple(event.passed(place) for event in events), []).append(place)
    segments = tuple(tuple(group) for group in groups.values())
    reach = tuple(
        tuple(place for place, signature in enumerate(groups) if signature[number])
        for number in range(len(events))
    )
    return Chain(tuple(events), segments, reach, main)


def _green_examined(lot: Lot, base: KnowledgeBase) -> bool:
    """The green itself was smelled or analysed: what it shows is the lot's and not the bench's."""
    smelled = any(
        base.records[one.record].smells_of or base.records[one.record].smells_of_nothing
        for one in lot.records
        if one.value is not None
    )
    return smelled or any(one.known and one.matrix == "green" for one in lot.laboratory)


def one_table(base: KnowledgeBase) -> Chain:
    """The chain of a lot of which one sample was cupped, at its end."""
    benches = base.settings.verdicts.bench_stages
    sites = tuple((stage, "bench" if stage in benches else LOT) for stage in base.stages)
    places = tuple((*site, ANY) for site in sites)
    return Chain((Event("sample", "unknown", frozenset(sites), (0,)),), (places,), ((0,),), "bench")


def _samples(
    lot: Lot, stages: tuple[str, ...], settings: Settings, recorded: set[str | None], end: int
) -> Iterator[Event]:
    latest = traced_sample(lot)
    groups: dict[tuple[str, str], list[int]] = {}
    twice = repeated(lot)
    for place, cupping in enumerate(lot.cuppings):
        if place not in twice:
            groups.setdefault((cupping.sample, _bench(cupping)), []).append(place)
    order = {sample: place for place, sample in enumerate(dict.fromkeys(c.sample for c in lot.cuppings))}
    last = settings.chain.drawn_after
    rank = {sample: stages.index(last[sample]) if sample in last else len(stages) for sample in order}
    known = sorted(
        groups, key=lambda key: (key[0] not in (latest, "unknown"), -rank[key[0]], min(groups[key]))
    )
    for sample, bench in known:
        until = rank[latest if sample == "unknown" and latest else sample]
        later = settings.chain.and_after.get(sample)
        if sample == latest and later in recorded and later is not None:
            until = max(until, stages.index(later))
        until = min(until, end)
        passed = {(stage, LOT) for stage in stages[: until + 1]}
        sites = passed | {(stage, bench) for stage in settings.verdicts.bench_stages}
        yield Event("sample", sample, frozenset(sites), tuple(groups[sample, bench]))


def repeated(lot: Lot) -> set[int]:
    """Places of cuppings that say word for word what an earlier one of the sheet says: the same table entered twice."""
    seen: set[object] = set()
    found = set()
    for place, cupping in enumerate(lot.cuppings):
        said = (
            cupping.on,
            cupping.sample,
            cupping.bench,
            cupping.cups,
            tuple((one.taster, _lines(one.notes), _lines(one.not_found)) for one in cupping.tastings),
        )
        if said in seen and cupping.tastings:
            found.add(place)
        seen.add(said)
    return found


def _lines(notes: tuple[Note, ...]) -> tuple[object, ...]:
    return tuple((note.text, note.cups, note.of, note.intensity, note.which) for note in notes)


def _bench(cupping: Cupping) -> str:
    """A roast and a table: as named, and a day for itself."""
    return " ".join(filter(None, (cupping.bench, cupping.sample, str(cupping.on) if cupping.on else None)))


def _beside(lot: Lot, event: Event, settings: Settings) -> Iterator[Event]:
    bench = frozenset(site for site in event.sites if site[1])
    for place in event.cuppings:
        cupping = lot.cuppings[place]
        if cupping.control is not None:
            yield Event("control", "control", bench, (place,), "control", own=True)
        for other in cupping.beside:
            whole = other.kin == "same_lot"
            sites = event.sites if whole else bench | _shared("sister_lot", event, settings, other.kin)
            yield Event("beside", other.name, sites, (place,), other.name, own=not whole)


def _shared(kind: str, event: Event, settings: Settings, kin: str | None) -> frozenset[Site]:
    if kin != "sister":
        return frozenset()
    stages = settings.chain.shares[kind].stages
    return frozenset(site for site in event.sites if not site[1] and site[0] in stages)


def _gone_through(events: list[Event], stages: tuple[str, ...]) -> tuple[str, ...] | None:
    """Stages of the latest sample, where it is known how far it has come."""
    if not events:
        return None
    gone = tuple(stage for stage in stages if (stage, LOT) in events[0].sites)
    return None if events[0].name == "unknown" and len(gone) == len(stages) else gone


def _comparisons(
    found: Iterable[Comparison],
    stages: tuple[str, ...],
    gone: tuple[str, ...] | None,
    main: str,
    settings: Settings,
) -> Iterator[Event]:
    for one in found:
        shared = settings.chain.shares[one.with_]
        of_lot = gone[:-1] if shared.all_but_last and gone is not None else shared.stages
        sites = {(stage, LOT) for stage in stages if stage in of_lot}
        sites |= {(stage, main) for stage in settings.verdicts.bench_stages if stage in shared.stages}
        yield Event(
            "comparison",
            one.with_,
            frozenset(sites),
            shows=one.shows,
            of=one.of,
            own=True,
            spares=frozenset(shared.spares),
            also=frozenset(shared.also),
        )
