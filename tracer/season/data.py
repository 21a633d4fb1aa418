"""A season as JSON and as a table of its lots."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

from tracer.names import printable
from tracer.season.lots import SeasonLot
from tracer.season.season import Season
from tracer.spreadsheets.write import csv_line
from tracer.wording.language import tell

HEADS = (
    "lot",
    "where",
    "exporter",
    "origin",
    "custody",
    "cupped",
    "stop",
    "hold",
    "traced",
    "verdict",
    "source",
    "probability",
    "stage",
    "next",
    "claim_day",
    "claim",
    "more_than_chance",
)
"""Columns of the table of lots."""


def as_json(season: Season) -> str:
    """One JSON object; figures to six places, days as year-month-day."""
    return json.dumps(_plain(asdict(tell(season))), ensure_ascii=False, indent=2)


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return float(f"{value:.6g}")
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return value if value is None or isinstance(value, (str, int)) else str(value)


def as_csv(season: Season) -> Iterator[str]:
    """Lines of the table of lots, its heads first."""
    season = tell(season)
    yield _row(HEADS)
    for lot in season.lots:
        yield _row(map(str, _cells(lot, season)))


def _cells(lot: SeasonLot, season: Season) -> tuple[object, ...]:
    standing = "; ".join(one.what for one in season.standing if lot.lot in one.lots)
    return (
        lot.lot,
        lot.where,
        lot.exporter,
        lot.origin,
        "; ".join(f"{stage}: {place}" for stage, place in lot.passed),
        lot.cupped or "",
        "; ".join(lot.stop),
        "; ".join(lot.hold),
        "yes" if lot.troubled else "no" if lot.tasted else "",
        lot.verdict,
        lot.source,
        f"{lot.probability:.4f}" if lot.source else "",
        lot.stage,
        lot.next,
        lot.claim_day or "",
        lot.claim,
        standing,
    )


def _row(cells: Iterable[str]) -> str:
    return csv_line(printable(cell) for cell in cells)
