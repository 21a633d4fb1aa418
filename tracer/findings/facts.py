"""A lot as plain facts for the rules: what is known, computed and compared.

All arithmetic over records is done here, because the rules compare a fact only with a number: months
from harvest to cup, the gain of moisture at sea, whether an earlier sample was clean. A record that
is unknown gives no fact at all, which is different from a fact that says no.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping

from tracer.amounts import Amount
from tracer.findings.crop_year import months_since
from tracer.findings.fact import Fact
from tracer.history.history import History
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Record
from tracer.knowledge.rule import Rule
from tracer.knowledge.settings import Settings
from tracer.lots.lot import Lot
from tracer.lots.observations import CONTROL, traced_sample
from tracer.lots.observed import Heard
from tracer.names import fold
from tracer.wording.sentence import Own, say

_PER_UNIT = {"h": 1 / 24, "d": 1.0, "weeks": 7.0, "months": 365.25 / 12}
"""Days in one unit."""


def facts(
    lot: Lot,
    records: Mapping[str, Record],
    heard: Heard,
    places: frozenset[str],
    history: History | None = None,
    settings: Settings | None = None,
) -> tuple[Fact, ...]:
    """Every fact of a lot, sorted by name. `places` are the origins that rules know by name."""
    values = {**_stands_for(lot, settings), **_recorded(lot, records, settings)}
    if history is not None:
        values = {**values, **_measured(history)}
    values |= _about_the_lot(lot, places)
    values = {**values, **_about_the_cups(lot, heard)}
    values |= _computed(values, records)
    values = {**_of_the_crop(lot, values, settings), **values}
    found = [_fact(name, value, source) for name, (value, source) in values.items()]
    return tuple(sorted(found, key=lambda fact: fact.name))


def rows(lot: Lot, base: KnowledgeBase) -> tuple[Fact, ...]:
    """What the rows of the sheet say by themselves, with nothing computed, measured or heard."""
    found = _recorded(lot, base.records, base.settings)
    return tuple(_fact(name, value, source) for name, (value, source) in found.items())


def known_values(rules: Iterable[Rule], record: str) -> frozenset[str]:
    """Texts that rules compare a record with, folded."""
    tests = [
        c for rule in rules for c in (*(rule.when.all or ()), *(rule.when.any or ())) if c.record == record
    ]
    return frozenset(fold(str(v)) for c in tests for v in (c.one_of or (c.is_,)) if v is not None)


Value = bool | int | float | str | datetime.date
Values = dict[str, tuple[Value, str]]


def _fact(name: str, value: Value, source: str) -> Fact:
    if isinstance(value, bool):
        return Fact(name, "yes" if value else "no", "yes_no", source)
    if isinstance(value, datetime.date):
        return Fact(name, value.toordinal(), "number", source)
    if isinstance(value, (int, float)):
        return Fact(name, value, "number", source)
    return Fact(name, value, "yes_no" if value in ("yes", "no") else "text", source)


def _stands_for(lot: Lot, settings: Settings | None) -> Values:
    """Patterns and comparisons that say what a row of the sheet asks."""
    values: Values = {}
    for one in settings.stands_for if settings else ():
        for pattern in lot.pattern:
            if one.pattern and (one.pattern.level, one.pattern.share) == (pattern.level, pattern.share):
                values[one.record] = (one.value, str(pattern.place))
        for comparison in lot.comparisons:
            if one.comparison and (one.comparison.with_, one.comparison.shows) == (
                comparison.with_,
                comparison.shows,
            ):
                values[one.record] = (one.value, str(comparison.place))
    return values


def spans(lot: Lot, records: Mapping[str, Record], settings: Settings) -> dict[str, tuple[float, float]]:
    """Both ends of every record that is no exact figure; a bound reaches to what the record can be."""
    found = {}
    for record in lot.records:
        if record.amount is not None:
            low, high = _ends(record.amount, settings)
            possible = records[record.record].possible or (0.0, 1e9)
            found[record.record] = (
                possible[0] if low is None else low,
                possible[1] if high is None else high,
            )
    return found


def _ends(amount: Amount, settings: Settings) -> tuple[float | None, float | None]:
    words = settings.amounts
    if amount.word == "none":
        return 0.0, 0.0
    if amount.word is not None:
        low, high = {"few": words.few, "some": words.some, "many": words.many}[amount.word]
        return low, high
    return amount.widened(words.about)


def _recorded(lot: Lot, records: Mapping[str, Record], settings: Settings | None) -> Values:
    values: Values = {}
    for record in lot.records:
        if record.value is None and record.amount is not None and settings is not None:
            low, high = _ends(record.amount, settings)
            best = low if low is not None else high
            if best is not None:
                values[record.record] = (best, str(record.place))
            continue
        if record.value is None:
            continue
        value = (
            fold(record.value)
            if isinstance(record.value, str) and _is_text(records, record.record)
            else record.value
        )
        values[record.record] = (value, record.written if record.said else str(record.place))
    return values


def _measured(history: History) -> Values:
    """What logs and readings show counts before what the sheet says."""
    return {one.record: (one.value, one.source) for one in history.measured}


def _is_text(records: Mapping[str, Record], name: str) -> bool:
    return name in records and records[name].kind == "text"


def _about_the_lot(lot: Lot, places: frozenset[str]) -> Values:
    values: Values = {}
    for name in ("process", "species"):
        value = getattr(lot, name)
        if value:
            values[name] = (value, "lot")
    if lot.exporter:
        values["exporter"] = (fold(lot.exporter), "lot")
    if lot.origin:
        values["origin"] = (known_origin(lot.origin, places), "lot")
    for item in lot.declared:
        values[f"declared_{fold(item).replace(' ', '_').replace('-', '_')}"] = ("yes", "lot")
    return values


def _of_the_crop(lot: Lot, values: Values, settings: Settings | None) -> Values:
    """Where no day of picking is known: the months a lot has at least, by its crop year."""
    cupped = values.get("cupped", (None, ""))[0]
    if not lot.crop or settings is None or not isinstance(cupped, datetime.date):
        return {}
    months = months_since(lot.crop, cupped, settings.crop_year)
    if months is None:
        return {}
    return {"months_since_harvest": (months, say("at least, by crop {crop}", crop=Own(lot.crop)))}


def known_origin(written: str, places: frozenset[str]) -> str:
    """The part of an origin that rules know, whatever region or order it is written in.

    >>> known_origin("Hill district, Rwanda", frozenset({"rwanda"}))
    'rwanda'
    """
    parts = [fold(part) for part in re.split(r"[,;/()]|\s-\s", written) if part.strip()]
    return next((part for part in parts if part in places), fold(written))


def _about_the_cups(lot: Lot, heard: Heard) -> Values:
    values: Values = {}
    sample = traced_sample(lot)
    if sample is None:
        return values
    values["sample"] = (sample, "cuppings")
    reported = set(heard.reported())
    values["notes_found"] = ("yes" if reported else "no", "cuppings")
    traced = [cupping for cupping in lot.cuppings if cupping.sample in (sample, "unknown")]
    dates = [cupping.on for cupping in traced if cupping.on]
    if dates:
        values["cupped"] = (max(dates), "cuppings")
    controls = {place for place, cupping in enumerate(lot.cuppings) if cupping in traced and cupping.control}
    if controls and reported:
        found = {
            o.descriptor
            for o in heard.beside
            if o.taster == CONTROL and o.cupping in controls and o.found != 0
        }
        values["control_cup"] = ("same_note" if found & reported else "clean", "cuppings")
    if reported:
        values |= _earlier(lot, heard, sample, reported)
        values["tasters_disagree"] = ("yes" if _disagree(heard) else "no", "cuppings")
    return values


def _earlier(lot: Lot, heard: Heard, sample: str, reported: set[str]) -> Values:
    """What an earlier sample of the lot said of the notes found now."""
    values: Values = {}
    for kind in dict.fromkeys(cupping.sample for cupping in lot.cuppings):
        if kind in (sample, "unknown"):
            continue
        places = {place for place, cupping in enumerate(lot.cuppings) if cupping.sample == kind}
        same = reported & {o.descriptor for o in heard.elsewhere if o.cupping in places and o.found != 0}
        values["earlier_same_note" if same else "earlier_clean"] = (kind, "cuppings")
    return values


def _disagree(heard: Heard) -> bool:
    """One taster finds a note in most cups where another, who looked for it, finds none."""
    for descriptor in heard.reported():
        of_note = [o for o in heard.observations if o.descriptor == descriptor]
        tables = {o.cupping for o in of_note}
        for table in tables:
            counts = [o for o in of_note if o.cupping == table and o.found is not None]
            loud = any(o.found is not None and o.found > o.cups / 2 for o in counts)
            silent = any(o.found == 0 for o in counts)
            if loud and silent:
                return True
    return False


def _computed(values: Values, records: Mapping[str, Record]) -> Values:
    computed: Values = {}
    for record in records.values():
        if record.between and record.id not in values:
            first, second = (values.get(name, (None, ""))[0] for name in record.between)
            if isinstance(first, datetime.date) and isinstance(second, datetime.date):
                days = (second - first).days
                per_unit = _PER_UNIT.get(record.unit or "d", 1.0)
                computed[record.id] = (
                    round(days / per_unit, 3),
                    say(
                        "computed from {between} and {between_2}",
                        between=record.between[0],
                        between_2=record.between[1],
                    ),
                )
        if record.difference and record.id not in values:
            first, second = (values.get(name, (None, ""))[0] for name in record.difference)
            if isinstance(first, (int, float)) and isinstance(second, (int, float)):
                source = say(
                    "computed from {difference} and {difference_2}",
                    difference=record.difference[0],
                    difference_2=record.difference[1],
                )
                computed[record.id] = (round(second - first, 6), source)
    return computed
