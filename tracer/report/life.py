"""The life of a lot in days: what the sheet and its logs date, in order."""

from __future__ import annotations

import datetime

from tracer.history.series import clock
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.report.document import DatedLine
from tracer.wording.sentence import joined, say


def dated(base: KnowledgeBase, lot: Lot) -> tuple[DatedLine, ...]:
    """Dated records, logs, readings, bed days, messages and cuppings, by time."""
    lines = []
    for record in lot.records:
        if isinstance(record.value, datetime.date):
            entry = base.records[record.record]
            lines.append(DatedLine(entry.stage or "", str(record.value), str(record.value), entry.label))
    for log in lot.logs:
        told = say(
            "{file}: {total:,} rows of {channels} ({where})",
            file=log.file,
            total=log.total,
            channels=joined(log.channels),
            where=log.where,
        )
        if log.dropped > 0 or log.missing > 0:
            told += say(
                "; {dropped:.1%} of the rows not used, {missing:.1%} of the time without readings",
                dropped=log.dropped,
                missing=log.missing,
            )
        lines.append(DatedLine(log.stage, clock(log.at[0]), clock(log.at[-1]), told))
    for reading in lot.readings:
        if reading.on is not None:
            parts = (
                [say("{moisture:g} % by {method}", moisture=reading.moisture, method=reading.method)]
                if reading.moisture is not None
                else []
            )
            parts += [say("water activity {aw:g}", aw=reading.aw)] if reading.aw is not None else []
            on = f"{reading.on:%Y-%m-%d %H:%M}".removesuffix(" 12:00")
            lines.append(DatedLine(reading.stage, on, on, say("moisture ") + joined(parts) if parts else ""))
    for day in lot.beds:
        events: list[str] = [say("{turns} turns", turns=day.turns)] if day.turns is not None else []
        events += [say("{layer:g} cm deep", layer=day.layer)] if day.layer is not None else []
        events += ["rain"] if day.rain == "yes" else []
        events += [{"yes": "covered", "no": "not covered"}[day.covered]] if day.covered else []
        lines.append(DatedLine(day.stage, str(day.on), str(day.on), say("bed: ") + joined(events)))
    for cupping in lot.cuppings:
        if cupping.on:
            lines.append(
                DatedLine(
                    "cupping_lab",
                    str(cupping.on),
                    str(cupping.on),
                    say("cupped, {sample} sample", sample=cupping.sample),
                )
            )
    order = list(base.stages)
    return tuple(
        sorted(
            lines,
            key=lambda line: (
                line.first[:10],
                order.index(line.stage) if line.stage in order else -1,
                line.first,
            ),
        )
    )
