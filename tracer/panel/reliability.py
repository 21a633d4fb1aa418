"""From kept sessions to what is believed of each taster today: rates, confusions, how old they are."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from tracer.casebook.sessions import Kept, kept
from tracer.inference.tasters import MeasuredPanel, MeasuredTaster, PanelOf, TasterRates
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.names import fold
from tracer.panel.drift import kept as still_believed
from tracer.rate import Rate


def default_rates(base: KnowledgeBase) -> tuple[Rate, Rate]:
    """Hit and false-alarm law of a taster nobody measured, at the weight they have beside measured cups."""
    tasters, weight = base.settings.tasters, base.settings.panel.measured_weight
    hit = Rate(tasters.hit.a, tasters.hit.b)
    alarm = Rate(tasters.false_alarm.a, tasters.false_alarm.b)
    return (
        Rate(hit.mean * weight.hit, (1 - hit.mean) * weight.hit),
        Rate(alarm.mean * weight.false_alarm, (1 - alarm.mean) * weight.false_alarm),
    )


def measured_panel(
    cups: Sequence[Kept], base: KnowledgeBase, on: datetime.date, tasters: Iterable[str]
) -> MeasuredPanel:
    """What is believed on a day of the tasters named: counts fade with age toward the default of an unmeasured taster.

    A count of `age` days keeps 2^(-age / fades_in_days) of its weight. Sessions after the day do not count.
    """
    wanted = {fold(name) for name in tasters}
    past = [cup for cup in cups if cup.on <= on and fold(cup.taster) in wanted]
    if not past:
        return MeasuredPanel()
    settings, blind = base.settings.panel, base.settings.tasters.cannot_smell
    hit_law, alarm_law = default_rates(base)
    weight = {cup: still_believed((on - cup.on).days, settings.fades_in_days) for cup in past}
    notes = sorted({note for cup in past for note in (*cup.given, *cup.named)})
    rates: dict[tuple[str, str], TasterRates] = {}
    people = []
    for name in sorted(wanted):
        own = [cup for cup in past if fold(cup.taster) == name]
        if not own:
            continue
        clear = 0
        for note in notes:
            with_note = [cup for cup in own if note in cup.given]
            without = [cup for cup in own if note not in cup.given]
            clear += len(with_note) >= settings.least_cups
            hits = sum(weight[cup] for cup in with_note if note in cup.named)
            there = sum(weight[cup] for cup in with_note)
            alarms = sum(weight[cup] for cup in without if note in cup.named)
            hit, alarm = (
                hit_law.after(hits, there),
                alarm_law.after(alarms, sum(weight[cup] for cup in without)),
            )
            rates[name, note] = TasterRates(
                (hit.a, hit.b),
                (alarm.a, alarm.b),
                _cannot(blind, hit_law, hits, there),
                _multiple(with_note, weight),
            )
        last = max(cup.on for cup in own)
        people.append(MeasuredTaster(own[-1].taster, len(own), last.isoformat(), clear, (on - last).days))
    return MeasuredPanel(rates, _confusions(past, weight, base), tuple(people))


def _multiple(cups: Sequence[Kept], weight: Mapping[Kept, float]) -> float | None:
    """Geometric mean of the multiples of the threshold that were served, each with what is left of its weight."""
    served = [(weight[cup], math.log(cup.multiple)) for cup in cups if cup.multiple]
    whole = sum(share for share, _ in served)
    return math.exp(sum(share * size for share, size in served) / whole) if whole > 0 else None


def _cannot(before: float, hit: Rate, hits: float, cups: float) -> float:
    """Chance that a taster cannot smell a note at all, after hits in cups that had it: none once they named it right.

    Bayes: c / (c + (1 - c) P(no hit in n | can)), P = B(a, b + n) / B(a, b).
    """
    if hits > 0:
        return 0.0
    silent = math.exp(
        math.lgamma(hit.b + cups)
        + math.lgamma(hit.a + hit.b)
        - math.lgamma(hit.b)
        - math.lgamma(hit.a + hit.b + cups)
    )
    return before / (before + (1 - before) * silent)


def _confusions(
    past: Sequence[Kept], weight: dict[Kept, float], base: KnowledgeBase
) -> dict[tuple[str, str, str], float]:
    """Chance that a taster calls a note given by the name of one it is known to be confused with."""
    usual = base.settings.tasters.confusion.best
    law = Rate(1.0, 1 / usual - 1)
    found = {}
    for taster in {fold(cup.taster) for cup in past}:
        own = [cup for cup in past if fold(cup.taster) == taster]
        for note in {note for cup in own for note in cup.given}:
            with_note = [cup for cup in own if note in cup.given]
            for other in base.swapped(note):
                called = sum(
                    weight[cup] for cup in with_note if other in cup.named and other not in cup.given
                )
                found[taster, note, other] = law.after(called, sum(weight[cup] for cup in with_note)).mean
    return found


def measured_for(lot: Lot, base: KnowledgeBase, book: Path) -> MeasuredPanel | None:
    """What a casebook knows of a lot's tasters on the day of its last cupping; None where nothing was measured."""
    return panels(kept(book, _tasters(lot)), base)(lot)


def panels(cups: Sequence[Kept], base: KnowledgeBase) -> PanelOf:
    """What these cups tell of any lot's tasters on the day of its last cupping; worked out once for the same tasters and day."""
    known: dict[tuple[frozenset[str], datetime.date], MeasuredPanel] = {}

    def of(lot: Lot) -> MeasuredPanel | None:
        tasters = frozenset(map(fold, _tasters(lot)))
        days = [cupping.on for cupping in lot.cuppings if cupping.on]
        key = tasters, max(days, default=datetime.date.today())
        if key not in known:
            known[key] = measured_panel(cups, base, key[1], tasters)
        return known[key] if known[key].rates else None

    return of


def _tasters(lot: Lot) -> set[str]:
    return {tasting.taster for cupping in lot.cuppings for tasting in cupping.tastings}
