"""Shares with their intervals as a picture, SVG: a dot for the share, a line for its interval, the figures as text beside it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from tracer.names import printable
from tracer.season.counts import Count
from tracer.wording.language import tell

WIDTH, LEFT, RIGHT, ROW, TOP = 760, 220, 150, 24, 34
INK, LINE, GRID = "#222222", "#1f5f8b", "#cccccc"
_LONGEST = 30


def share_plot(counts: Sequence[Count], title: str, usual: float, most: int = 25) -> str:
    """One row a count; the dashed line is the share of the whole season."""
    rows = counts[:most]
    height, width = TOP + len(rows) * ROW + 30, WIDTH - LEFT - RIGHT
    named = escape(printable(title))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" aria-label="{named}" '
        'font-family="sans-serif" font-size="12">',
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        _text(6, 18, title, "start", bold=True),
    ]
    bottom = TOP + len(rows) * ROW
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        x = LEFT + share * width
        parts.append(f'<path d="M{x:.1f},{TOP} V{bottom}" stroke="{GRID}" stroke-width="0.8"/>')
        parts.append(_text(x, bottom + 16, f"{share:.0%}", "middle"))
    x = LEFT + usual * width
    parts.append(
        f'<path d="M{x:.1f},{TOP} V{bottom}" stroke="{INK}" stroke-width="1.2" stroke-dasharray="5 4">'
        f"<title>{escape(tell('all lots'))}</title></path>"
    )
    for number, one in enumerate(rows):
        y = TOP + number * ROW + ROW / 2
        low, high = (LEFT + end * width for end in (one.low, one.high))
        at = LEFT + (one.troubled / one.cupped if one.cupped else 0.0) * width
        label = printable(one.label)
        shown = label if len(label) <= _LONGEST else label[: _LONGEST - 1] + "…"
        figures = tell("{troubled} of {cupped}", troubled=one.troubled, cupped=one.cupped)
        parts += [
            _text(LEFT - 8, y + 4, shown, "end"),
            f'<path d="M{low:.1f},{y:.1f} H{high:.1f}" stroke="{LINE}" stroke-width="2"/>',
            f'<circle cx="{at:.1f}" cy="{y:.1f}" r="4" fill="{LINE}"/>',
            _text(WIDTH - RIGHT + 12, y + 4, f"{figures}, {one.low:.0%}–{one.high:.0%}", "start"),
        ]
    return "\n".join([*parts, "</svg>"])


def _text(x: float, y: float, text: str, anchor: str, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{INK}"{weight}>{escape(printable(text))}</text>'
