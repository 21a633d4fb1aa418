"""A training plan: weeks from novice to calibrated, by what each taster finds already, with what to weigh and what it costs in time.

A note starts at its strongest step. It is served twice in a session, and goes down a step once everybody has found it in both cups; until
then it stays. A plan shows the way if all goes well; made again after each kept session, it starts from what was found.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracer.casebook.sessions import Kept
from tracer.knowledge.base import KnowledgeBase
from tracer.names import fold
from tracer.panel.cards import Card, card, serving, threshold_of
from tracer.panel.drift import due
from tracer.panel.references import References, references
from tracer.panel.reliability import default_rates
from tracer.panel.standing import Standing, standings
from tracer.panel.weighing import Stock, suitable_mass
from tracer.wording.sentence import Id, Name

TWICE = 2
"""Cups of a note in a training session."""
PURITY, FLASK, MASS = 0.98, 100.0, 10.0
"""Of a bought reference: purity, mL of the stock, mg at least; as `tracer panel card` takes them."""


@dataclass(frozen=True, slots=True)
class Serve:
    """A note of one week, how many times its threshold, and how to prepare it."""

    note: Id
    multiple: float
    card: Card
    mass: float
    """mg to weigh for the stock."""


@dataclass(frozen=True, slots=True)
class Week:
    """One session of the whole panel."""

    number: int
    on: datetime.date
    check: bool
    """The last one: every note once, to be kept as the calibration."""
    serves: tuple[Serve, ...]
    blanks: int
    repeats: int
    cups: int
    """For each taster."""
    litres: float
    """Clean coffee for all cups and blanks."""
    taster_minutes: float
    trainer_minutes: float


@dataclass(frozen=True, slots=True)
class Start:
    """Where a taster stands when the plan begins."""

    taster: Name
    state: str
    """novice, training, or calibrated."""
    due: datetime.date | None
    weakest: tuple[Id, ...]
    steps: Mapping[str, int]
    """Note -> steps passed."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole of it."""

    starts: tuple[Start, ...]
    weeks: tuple[Week, ...]
    reached: Mapping[str, int]
    """Note -> steps passed at the end, if all goes well."""
    steps: tuple[float, ...]
    references: References
    without: tuple[Id, ...]
    """Notes for which nothing can be prepared."""
    buy: tuple[tuple[str, float], ...]
    """Compound and mg in all."""
    again: datetime.date
    """The panel's next calibration, after the plan."""


def make(
    base: KnowledgeBase,
    cups: Sequence[Kept],
    tasters: Sequence[str],
    notes: Sequence[str],
    weeks: int,
    first: datetime.date,
) -> Plan:
    """A plan of so many weekly sessions from `first` on; the last of them is the check."""
    settings = base.settings.panel.plan
    found = references(base, notes)
    usable = [note for note in dict.fromkeys(notes) if note in found.compounds]
    starts = tuple(_start(base, cups, name, usable, first) for name in tasters)
    passed = {note: min(one.steps[note] for one in starts) for note in usable}
    weak = {note: place for place, note in enumerate(_weakest_first(base, cups, tasters, usable))}
    room = max(1, (base.settings.panel.most_cups - settings.blanks) // TWICE)
    made = []
    for number in range(1, weeks + 1):
        on = first + datetime.timedelta(weeks=number - 1)
        check = number == weeks
        if check:
            chosen = _apart(
                sorted(usable, key=weak.__getitem__), found, base.settings.panel.most_cups - settings.blanks
            )
        else:
            still = [note for note in usable if passed[note] < len(settings.steps)]
            chosen = _apart(sorted(still or usable, key=lambda note: (passed[note], weak[note])), found, room)
        at = {note: settings.steps[min(passed[note], len(settings.steps) - 1)] for note in chosen}
        made.append(_week(base, found, number, on, at, len(tasters), check))
        if not check:
            passed.update({note: min(passed[note] + 1, len(settings.steps)) for note in chosen})
    mass: dict[str, float] = {}
    for week in made:
        for one in week.serves:
            mass[one.card.label] = mass.get(one.card.label, 0.0) + one.mass
    again = due(made[-1].on, base.settings.panel.every_days)
    without = tuple(note for note in dict.fromkeys(notes) if note not in found.compounds)
    return Plan(
        starts, tuple(made), passed, settings.steps, found, without, tuple(sorted(mass.items())), again
    )


def usual_notes(base: KnowledgeBase) -> list[str]:
    """Notes that can be served to taste, one for each reference."""
    notes = [note for note in base.descriptors if serving(base, note).how == "taste"]
    return _apart(notes, references(base, notes), len(notes))


def _apart(notes: Sequence[str], found: References, most: int) -> list[str]:
    """The first notes, passed over those whose reference is that of one before."""
    chosen: dict[str, str] = {}
    for note in notes:
        if note in found.compounds and len(chosen) < most:
            chosen.setdefault(found.compounds[note].id, note)
    return list(chosen.values())


def _start(
    base: KnowledgeBase, cups: Sequence[Kept], taster: str, notes: Sequence[str], on: datetime.date
) -> Start:
    own = [cup for cup in cups if fold(cup.taster) == fold(taster)]
    steps = {note: steps_passed(own, note, base.settings.panel.plan.steps) for note in notes}
    standing: Standing | None = next(iter(standings(own, base, on)), None)
    weakest = _weakest_first(base, own, (taster,), notes)[:3]
    if standing is None:
        return Start(taster, "novice", None, tuple(weakest), steps)
    through = all(steps[note] == len(base.settings.panel.plan.steps) for note in notes)
    state = "calibrated" if through and not standing.overdue and not standing.alarm else "training"
    return Start(taster, state, standing.due, tuple(weakest), steps)


def steps_passed(cups: Sequence[Kept], note: str, steps: Sequence[float]) -> int:
    """How many steps a taster has passed on a note: both of the last two cups at a step, or a weaker one, were found."""
    passed = 0
    for place, step in enumerate(steps):
        at = [cup for cup in cups if note in cup.given and cup.multiple is not None and cup.multiple <= step]
        if len(at) >= TWICE and all(note in cup.named for cup in at[-TWICE:]):
            passed = place + 1
    return passed


def _weakest_first(
    base: KnowledgeBase, cups: Sequence[Kept], tasters: Sequence[str], notes: Sequence[str]
) -> list[str]:
    hit, _ = default_rates(base)
    wanted = {fold(name) for name in tasters}
    rate = {}
    for note in notes:
        own = [cup for cup in cups if note in cup.given and fold(cup.taster) in wanted]
        rate[note] = hit.after(sum(note in cup.named for cup in own), len(own)).mean
    return sorted(notes, key=lambda note: (rate[note], notes.index(note)))


def _week(
    base: KnowledgeBase,
    found: References,
    number: int,
    on: datetime.date,
    at: Mapping[str, float],
    tasters: int,
    check: bool,
) -> Week:
    settings = base.settings.panel
    each = 1 if check else TWICE
    volume = round(each * tasters * settings.plan.litres_a_cup * settings.plan.spare, 3)
    serves = tuple(_serve(base, found, note, multiple, volume) for note, multiple in at.items())
    repeats = 0 if check else len(serves)
    cups = len(serves) * each + settings.plan.blanks
    blanks = settings.plan.blanks * tasters * settings.plan.litres_a_cup * settings.plan.spare
    session = cups * settings.plan.minutes_a_cup + settings.plan.minutes_of_talk
    return Week(
        number, on, check, serves, settings.plan.blanks, repeats, cups, round(len(serves) * volume + blanks, 2), session,
        session + len(serves) * settings.plan.minutes_a_reference,
    )  # fmt: skip


def _serve(base: KnowledgeBase, found: References, note: str, multiple: float, volume: float) -> Serve:
    compound = found.compounds[note]
    threshold = threshold_of(compound)
    assert threshold is not None  # a compound without one is no candidate
    stock = Stock(MASS, PURITY, FLASK)
    mass = suitable_mass(threshold[0] * multiple * volume, volume, stock, base.settings.panel)
    made = card(
        compound,
        base.descriptors[note].label,
        threshold,
        multiple,
        volume,
        Stock(mass, PURITY, FLASK),
        base.settings.panel,
    )
    return Serve(note, multiple, made, mass)
