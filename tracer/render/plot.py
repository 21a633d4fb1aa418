"""Logs as a picture: one panel a channel, risky stretches shaded and named, as SVG."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from html import escape

from tracer.history.charts import Chart, Series
from tracer.names import printable
from tracer.wording.language import tell
from tracer.wording.sentence import joined

WIDTH, LEFT, RIGHT, PANEL, GAP, TOP = 960, 96, 20, 110, 34, 44
INK, LINE, SHADE = "#222222", "#1f5f8b", "#f3c9a8"


def log_picture(charts: Sequence[Chart], title: str) -> str:
    """SVG of every log; shaded stretches carry their name as text, so that nothing rests on colour alone."""
    parts: list[str] = []
    y = TOP
    for chart in charts:
        parts.append(
            _text(
                LEFT,
                y,
                tell(
                    "{file} ({where}), {times} to {times_2}",
                    file=chart.file,
                    where=chart.where,
                    times=chart.times[0],
                    times_2=chart.times[-1],
                ),
                bold=True,
            )
        )
        y += 14
        for series in chart.series:
            parts += _panel(chart, series, y)
            y += PANEL + GAP
        names = joined(dict.fromkeys(shaded.what for shaded in chart.shaded))
        parts.append(
            _text(
                LEFT,
                y - 2,
                tell("shaded: {names}", names=names)
                if names
                else tell("nothing shaded: no finding rests on this log"),
            )
        )
        y += 24
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {y + 10}" role="img" aria-labelledby="title" '
        'font-family="sans-serif" font-size="12">'
    )
    name = escape(printable(title))
    return "\n".join(
        [
            head,
            f'<title id="title">{name}</title>',
            f'<rect width="{WIDTH}" height="{y + 10}" fill="#ffffff"/>',
            *parts,
            "</svg>",
        ]
    )


def _seconds(time: str) -> float:
    return datetime.datetime.fromisoformat(time).replace(tzinfo=datetime.UTC).timestamp()


def _panel(chart: Chart, series: Series, top: int) -> list[str]:
    first, last = _seconds(chart.times[0]), _seconds(chart.times[-1])
    known = [one for one in series.values if one is not None]
    low, high = min(known), max(known)
    room, width = (high - low) or 1.0, WIDTH - LEFT - RIGHT

    def across(time: str) -> float:
        return LEFT + (min(max(_seconds(time), first), last) - first) / ((last - first) or 1) * width

    def down(number: float) -> float:
        return top + PANEL - (number - low) / room * PANEL

    parts = [
        f'<rect x="{across(s.first):.1f}" y="{top}" width="{max(1.5, across(s.last) - across(s.first)):.1f}" height="{PANEL}" '
        f'fill="{SHADE}"><title>{escape(s.what)}, {s.first} to {s.last}</title></rect>'
        for s in chart.shaded
    ]
    parts.append(
        f'<rect x="{LEFT}" y="{top}" width="{width}" height="{PANEL}" fill="none" stroke="{INK}" stroke-width="0.8"/>'
    )
    pieces, pen = [], "M"
    for time, number in zip(chart.times, series.values, strict=True):
        if number is None:
            pen = "M"
            continue
        pieces.append(f"{pen}{across(time):.1f},{down(number):.1f}")
        pen = "L"
    parts.append(f'<path d="{" ".join(pieces)}" fill="none" stroke="{LINE}" stroke-width="1.3"/>')
    parts.append(_text(6, top + 12, f"{high:.1f} {series.unit}"))
    parts.append(_text(6, top + PANEL, f"{low:.1f} {series.unit}"))
    parts.append(_text(6, top + PANEL / 2 + 4, series.name, bold=True))
    parts.append(_text(LEFT, top + PANEL + 14, chart.times[0]))
    parts.append(_text(WIDTH - RIGHT - 110, top + PANEL + 14, chart.times[-1]))
    return parts


def _text(x: float, y: float, text: str, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x:.0f}" y="{y:.0f}" fill="{INK}"{weight}>{escape(printable(text))}</text>'
