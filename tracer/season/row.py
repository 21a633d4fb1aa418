"""The row of a lot: from its sheet, and from the report of its trace as data."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.observations import hear
from tracer.lots.observed import Observation
from tracer.names import fold
from tracer.report.cautions import HOLD, STOP
from tracer.report.verdict import (
    BENCH_SUSPECTED,
    NO_DEFECT_SUPPORTED,
    SEVERAL_SOURCES,
    SOURCE_SUPPORTED,
)
from tracer.season.lots import Question, Sample, SeasonLot
from tracer.words.vocabulary import Vocabulary

BEFORE, AFTER = "pre_shipment", "arrival"
_MOISTURE = {
    BEFORE: ("moisture_at_loading", "moisture_leaving_mill"),
    AFTER: ("moisture_on_arrival", "moisture_now"),
}
"""Records that tell the moisture at that point, the surest first."""
NAMED = (SOURCE_SUPPORTED, SEVERAL_SOURCES, BENCH_SUSPECTED)
"""Verdicts after which a source is named."""
_PLACES = 6
"""Of probabilities and bits, as a kept report has them."""
_QUESTIONS = 3
"""Of a lot, at most."""


def row_of(
    lot: Lot,
    report: Mapping[str, Any],
    base: KnowledgeBase,
    words: Vocabulary,
    where: str,
    answered: Collection[str] = (),
    confirmed: tuple[str, str] | None = None,
) -> SeasonLot:
    """The row of a traced lot; `confirmed` is the fault it was closed with, empty for a sound coffee, and its stage."""
    first = report["sources"][0] if report["sources"] else None
    named = first if report["verdict"] in NAMED else None
    source, stage = (named["fault"], named["stage"]) if named else ("", "")
    label, probability = (named["label"], round(named["probability"], _PLACES)) if named else ("", 0.0)
    troubled = bool(first) and report["verdict"] != NO_DEFECT_SUPPORTED
    if confirmed is not None:
        source, stage = confirmed
        label = base.faults[source].label if source in base.faults else source.replace("_", " ")
        troubled, probability = bool(source), 1.0 if source else 0.0
    days = [cupping.on for cupping in lot.cuppings if cupping.on]
    ends = report["deadlines"]
    return SeasonLot(
        lot.lot,
        where,
        lot.exporter or "",
        lot.origin or "",
        tuple((one.stage, one.node) for one in lot.custody),
        tuple(_days(lot, base).items()),
        tuple(dict.fromkeys((one.bench or "", one.on) for one in lot.cuppings if one.on)),
        max(days, default=None),
        any(cupping.tastings for cupping in lot.cuppings) or bool(report["notes"] or report["absent"]),
        troubled,
        report["verdict"],
        source,
        label,
        stage,
        probability,
        _alarms(report, STOP),
        _alarms(report, HOLD),
        report["next"][0]["text"] if report["next"] and confirmed is None else "",
        datetime.date.fromisoformat(ends[0]["last_day"]) if ends else None,
        ends[0]["what"] if ends else "",
        () if confirmed is not None else tuple(_questions(report, base, answered)),
        tuple(_samples(lot, base, words)),
        tuple(_moisture(lot).items()),
    )


def _alarms(report: Mapping[str, Any], level: str) -> tuple[str, ...]:
    """Why a lot is stopped or held; of a hold that several sources make together, each source."""
    found: dict[str, None] = {}
    for one in report["cautions"]:
        if one["level"] == level:
            labels = [source["label"] for source in report["sources"] if source["caution"] == one["text"]]
            together = level == HOLD and one["because"] not in labels
            found |= dict.fromkeys(labels if together and labels else [one["because"]])
    return tuple(found)


def _days(lot: Lot, base: KnowledgeBase) -> dict[str, datetime.date]:
    """Stage -> the first day that the sheet names of it."""
    found: dict[str, datetime.date] = {}
    for record in lot.records:
        entry = base.records[record.record]
        if entry.kind == "date" and entry.stage and isinstance(record.value, datetime.date):
            found[entry.stage] = min(found.get(entry.stage, record.value), record.value)
    return found


def _questions(
    report: Mapping[str, Any], base: KnowledgeBase, answered: Collection[str]
) -> Iterable[Question]:
    limits = base.settings.verdicts
    worth = [
        one
        for one in report["asks"]
        if one["id"] not in answered
        and one["gain_bits"] >= limits.worth_asking
        and one["gain_per_cost"] >= limits.worth_its_cost
    ]
    for one in worth[:_QUESTIONS]:
        yield Question(one["id"], one["text"], one["stage"], one["ask_of"], round(one["gain_bits"], _PLACES))


def _samples(lot: Lot, base: KnowledgeBase, words: Vocabulary) -> Iterable[Sample]:
    """Each kind of sample as it was cupped last, where there are several kinds."""
    kinds = {cupping.sample for cupping in lot.cuppings if cupping.tastings}
    if not kinds & {*base.settings.chain.drawn_after}:
        return
    heard = hear(lot, words, base.settings.cups.usual)
    told = (*heard.observations, *heard.elsewhere)
    for kind in sorted(kinds):
        numbers = [n for n, cupping in enumerate(lot.cuppings) if cupping.sample == kind]
        here = [one for one in told if one.cupping in numbers and not one.doubtful]
        names = tuple(dict.fromkeys(one.descriptor for one in here))
        present = {one.descriptor for one in here if one.found != 0}
        scores = [lot.cuppings[n].score for n in numbers if lot.cuppings[n].score is not None]
        yield Sample(
            kind,
            max((day for n in numbers if (day := lot.cuppings[n].on)), default=None),
            tuple((name, *_counted(here, name)) for name in names if name in present),
            tuple(name for name in names if name not in present),
            scores[-1]
            if scores
            else _mean([t.score for n in numbers for t in lot.cuppings[n].tastings if t.score is not None]),
        )


def _counted(here: Sequence[Observation], name: str) -> tuple[int, int]:
    counted = [one for one in here if one.descriptor == name and one.found is not None]
    if not any(one.found for one in counted):
        return 0, 0
    return sum(one.found or 0 for one in counted), sum(one.cups for one in counted)


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None


def _moisture(lot: Lot) -> dict[str, float]:
    """Moisture when it left and when it came, from rows of the sheet, else from readings of the passage."""
    found: dict[str, float] = {}
    for kind, names in _MOISTURE.items():
        for name in names:
            values = [r.value for r in lot.records if r.record == name]
            if values and isinstance(values[0], (int, float)):
                found.setdefault(kind, float(values[0]))
    readings = [one for one in lot.readings if one.stage == "transport" and one.moisture is not None]
    for number, one in enumerate(readings):
        last = one.at == "end" or (one.at is None and 0 < number == len(readings) - 1)
        found.setdefault(AFTER if last else BEFORE, one.moisture or 0.0)
    return found


def merged(rows: Iterable[SeasonLot]) -> tuple[SeasonLot, ...]:
    """One row a lot. Of several sheets or cases of one lot the last counts, with the samples, places and alarms of all."""
    found: dict[str, SeasonLot] = {}
    ordered = sorted(enumerate(rows), key=lambda one: (one[1].cupped or datetime.date.min, one[0]))
    for _, row in ordered:
        before = found.pop(fold(row.lot), None)
        found[fold(row.lot)] = row if before is None else _with(before, row)
    return tuple(sorted(found.values(), key=lambda row: row.lot))


def _with(before: SeasonLot, row: SeasonLot) -> SeasonLot:
    kinds = {sample.kind for sample in row.samples}
    return replace(
        row,
        exporter=row.exporter or before.exporter,
        origin=row.origin or before.origin,
        passed=tuple(dict.fromkeys((*before.passed, *row.passed))),
        days=tuple({**dict(before.days), **dict(row.days)}.items()),
        tables=tuple(dict.fromkeys((*before.tables, *row.tables))),
        tasted=row.tasted or before.tasted,
        stop=tuple(dict.fromkeys((*before.stop, *row.stop))),
        hold=tuple(dict.fromkeys((*before.hold, *row.hold))),
        claim_day=row.claim_day or before.claim_day,
        claim=row.claim or before.claim,
        samples=(*(one for one in before.samples if one.kind not in kinds), *row.samples),
        moisture=tuple({**dict(before.moisture), **dict(row.moisture)}.items()),
    )
