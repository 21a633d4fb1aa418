"""Right answers over time, a line a taster, as SVG and as a row of blocks."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from tracer.names import printable
from tracer.panel.standing import Standing, Visit
from tracer.rate import Rate

BLOCKS = "▁▂▃▄▅▆▇█"
WIDTH, HEIGHT, LEFT, TOP, PANEL = 900, 40, 190, 50, 90


def blocks(visits: Sequence[Visit]) -> str:
    """One block a session: the share of cups answered right."""
    return "".join(BLOCKS[min(7, int(v.right / v.cups * 8))] if v.cups else " " for v in visits)


def trend_picture(standings: Sequence[Standing], title: str) -> str:
    """SVG: each taster's sessions with the interval of the share right; an alarm is written out."""
    days = sorted({v.on.toordinal() for one in standings for v in one.visits}) or [0]
    first, room = days[0], max(1, days[-1] - days[0])
    height = TOP + len(standings) * (PANEL + 30) + HEIGHT
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" aria-labelledby="title" font-family="sans-serif" '
        'font-size="12">',
        f'<title id="title">{escape(printable(title))}</title>',
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        f'<text x="10" y="24" font-weight="bold" fill="#222222">{escape(printable(title))}</text>',
    ]
    for index, one in enumerate(standings):
        top = TOP + index * (PANEL + 30)
        parts.append(
            f'<text x="10" y="{top + 20}" font-weight="bold" fill="#222222">{escape(printable(one.taster))}</text>'
        )
        parts.append(
            f'<text x="10" y="{top + 38}" fill="#222222">due {one.due}{", overdue" if one.overdue else ""}</text>'
        )
        if one.alarm:
            parts.append(f'<text x="10" y="{top + 56}" fill="#8a1c1c">alarm: worse than before</text>')
        parts.append(
            f'<rect x="{LEFT}" y="{top}" width="{WIDTH - LEFT - 20}" height="{PANEL}" fill="none" stroke="#222222" stroke-width="0.8"/>'
        )
        points = []
        for visit in one.visits:
            x = LEFT + 12 + (visit.on.toordinal() - first) / room * (WIDTH - LEFT - 44)
            low, high = Rate(0.5, 0.5).after(visit.right, visit.cups).interval()
            y = top + PANEL * (1 - visit.right / visit.cups)
            parts.append(
                f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top + PANEL * (1 - high):.1f}" y2="{top + PANEL * (1 - low):.1f}" stroke="#9a8a6a" stroke-width="2"/>'
            )
            parts.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="#1f5f8b"><title>{visit.on}: {visit.right} of {visit.cups}</title></circle>'
            )
            points.append(f"{x:.1f},{y:.1f}")
        parts.append(
            f'<polyline points="{" ".join(points)}" fill="none" stroke="#1f5f8b" stroke-width="1.3"/>'
        )
        parts.append(
            f'<text x="{LEFT - 34}" y="{top + 10}" fill="#222222">all</text><text x="{LEFT - 34}" y="{top + PANEL}" fill="#222222">none</text>'
        )
    parts.append("</svg>")
    return "\n".join(parts)
