"""The life of a lot in days: what the sheet and its logs date, in order."""

from __future__ import annotations

import datetime

from tracer.history.series import clock
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.report.document import DatedLine


def dated(base: KnowledgeBase, lot: Lot) -> tuple[DatedLine, ...]:
    """Dated records, logs, readings, bed days, messages and cuppings, by time."""
    lines = []
    for record in lot.records:
        if isinstance(record.value, datetime.date):
            entry = base.records[record.record]
            lines.append(DatedLine(entry.stage or "", str(record.value), str(record.value), entry.label))
    for log in lot.logs:
        told = f"{log.file}: {log.total:,} rows of {', '.join(log.channels)} ({log.where})"
        if log.dropped > 0 or log.missing > 0:
            told += (
                f"; {log.dropped:.1%} of the rows not used, {log.missing:.1%} of the time without readings"
            )
        lines.append(DatedLine(log.stage, clock(log.at[0]), clock(log.at[-1]), told))
    for reading in lot.readings:
        if reading.on is not None:
            parts = [f"{reading.moisture:g} % by {reading.method}"] if reading.moisture is not None else []
            parts += [f"water activity {reading.aw:g}"] if reading.aw is not None else []
            on = f"{reading.on:%Y-%m-%d %H:%M}".removesuffix(" 12:00")
            lines.append(DatedLine(reading.stage, on, on, "moisture " + ", ".join(parts) if parts else ""))
    for day in lot.beds:
        parts = [f"{day.turns} turns"] if day.turns is not None else []
        parts += [f"{day.layer:g} cm deep"] if day.layer is not None else []
        parts += ["rain"] if day.rain == "yes" else []
        parts += [{"yes": "covered", "no": "not covered"}[day.covered]] if day.covered else []
        lines.append(DatedLine(day.stage, str(day.on), str(day.on), "bed: " + ", ".join(parts)))
    for cupping in lot.cuppings:
        if cupping.on:
            lines.append(
                DatedLine("cupping_lab", str(cupping.on), str(cupping.on), f"cupped, {cupping.sample} sample")
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
