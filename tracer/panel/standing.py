"""Where the panel stands: last calibrations, what is due, alarms, weak notes, and who needs what next."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from tracer.casebook.sessions import Kept
from tracer.knowledge.base import KnowledgeBase
from tracer.names import fold
from tracer.panel.drift import alarm, due
from tracer.panel.recognition import Score, score
from tracer.panel.reliability import default_rates
from tracer.panel.scoring import Served, counts, mixed_up, notes_of, repeated
from tracer.rate import Rate
from tracer.wording.sentence import joined, say

WEAK = 0.5
"""A note whose hit rate lies below this, and surely not much above it, is called weak."""
TWICE = 2
"""Cups from which a mix-up is told: once may be chance."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One session of one taster: right answers of all cups."""

    on: datetime.date
    right: int
    cups: int


@dataclass(frozen=True, slots=True)
class Standing:
    """One taster."""

    taster: str
    cups: int
    last: datetime.date
    due: datetime.date
    overdue: bool
    visits: tuple[Visit, ...]
    alarm: bool
    """The last session is worse than the taster's own earlier ones, beyond chance."""
    alike: tuple[int, int]
    """Repeated samples answered alike, and repeated samples."""
    scores: tuple[tuple[str, Score], ...]
    """By note, the weakest first."""
    mixed_up: tuple[tuple[str, str, int, int], ...]
    """Given, named instead, cups, of cups."""
    needs: tuple[str, ...]
    cases: tuple[int, int] = (0, 0)
    """Questions on published cases answered right when first seen, and asked: `tracer panel drill --kind case`."""


def as_served(cups: Sequence[Kept]) -> list[Served]:
    """Kept cups as they were scored."""
    return [Served(c.taster, c.code, c.sample, c.given, c.named, c.multiple, c.repeat) for c in cups]


def right(cup: Kept | Served) -> bool:
    """All that was given was named, and nothing else."""
    return set(cup.given) == set(cup.named)


def standings(
    cups: Sequence[Kept],
    base: KnowledgeBase,
    on: datetime.date,
    drilled: Mapping[str, tuple[int, int]] | None = None,
) -> tuple[Standing, ...]:
    """Every taster ever kept, those due longest first; `drilled` are the answers on published cases of each (folded name)."""
    names: dict[str, str] = {}
    for cup in cups:
        names[fold(cup.taster)] = cup.taster
    found = [
        replace(
            _standing(name, [c for c in cups if fold(c.taster) == folded], base, on),
            cases=(drilled or {}).get(folded, (0, 0)),
        )
        for folded, name in names.items()
    ]
    return tuple(sorted(found, key=lambda one: (one.due, one.taster)))


def _standing(name: str, cups: list[Kept], base: KnowledgeBase, on: datetime.date) -> Standing:
    settings = base.settings.panel
    by_session: dict[int, list[Kept]] = {}
    for cup in cups:
        by_session.setdefault(cup.session, []).append(cup)
    visits = tuple(Visit(rows[0].on, sum(map(right, rows)), len(rows)) for rows in by_session.values())
    served = as_served(cups)
    laws = default_rates(base)
    scores = [
        (note, score(counts(served, name, note), *laws, settings.fewest_for_leaning))
        for note in notes_of(served)
    ]
    scores.sort(key=lambda pair: pair[1].hit.mean)
    last = max(cup.on for cup in cups)
    when = due(last, settings.every_days)
    mixed = tuple(one for one in mixed_up(served, name) if one[2] >= TWICE)
    drifted = _drifted(visits, settings.alarm_limit)
    return Standing(
        name,
        len(cups),
        last,
        when,
        when < on,
        visits,
        drifted,
        repeated(served, name),
        tuple(scores),
        mixed,
        _needs(name, scores, mixed, base, when < on, drifted),
    )


def _drifted(visits: Sequence[Visit], limit: float) -> bool:
    """The last session against the earlier ones together, at least a dozen cups of them."""
    earlier_right, earlier = sum(v.right for v in visits[:-1]), sum(v.cups for v in visits[:-1])
    if earlier < 12 or not visits:
        return False
    norm = (earlier_right + 0.5) / (earlier + 1)
    return alarm(visits[-1].right, visits[-1].cups, norm, limit)


def _needs(
    taster: str,
    scores: Sequence[tuple[str, Score]],
    mixed: Sequence[tuple[str, str, int, int]],
    base: KnowledgeBase,
    overdue: bool,
    drifted: bool,
) -> tuple[str, ...]:
    found: list[str] = []
    if drifted:
        found += [
            say(
                "worse than before: look for the reason first, a cold, tiredness, smoke, or a reference made up wrong"
            ),
            say(
                "calibrate again within days, with a new set of notes that were found before; until then no verdict rests on this taster alone"
            ),
        ]
    elif overdue:
        found.append(say("calibrate again: it is due"))
    for note, one in scores:
        label = base.descriptors[note].label
        if one.counts.with_note and one.hit.interval()[1] < WEAK + 0.2 and one.hit.mean < WEAK:
            found.append(say("practise {label} at a strength that is found, then lower it", label=label))
        elif one.counts.with_note >= 4 and one.counts.hits == 0:
            found.append(say("test whether {label} can be smelled at all (ascending 3-AFC)", label=label))
    for given, named, number, total in mixed[:2]:
        tell = base.confusable(given).get(named)
        about = say(": {tell}", tell=tell) if tell else ""
        found.append(
            say(
                "side by side: {label} and {label_2} ({number} of {total} mixed up){about}",
                label=base.descriptors[given].label,
                label_2=base.descriptors[named].label,
                number=number,
                total=total,
                about=about,
            )
        )
    shouts = [base.descriptors[n].label for n, s in scores if s.leaning == "shouts"]
    if shouts:
        found.append(say("more blanks: names {names} where it is not", names=joined(shouts[:3])))
    return tuple(found)


def weak_and_strong(cups: Sequence[Kept], base: KnowledgeBase) -> tuple[tuple[str, Rate, int], ...]:
    """Notes by the hit rate of the whole panel, weakest first, with the cups behind it."""
    served = as_served(cups)
    hit_law, _ = default_rates(base)
    found = []
    for note in notes_of(served):
        rows = [one for one in served if note in one.given]
        if rows:
            found.append((note, hit_law.after(sum(note in one.named for one in rows), len(rows)), len(rows)))
    return tuple(sorted(found, key=lambda one: one[1].mean))
