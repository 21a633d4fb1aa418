"""Kept cases on a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from tracer.casebook.cases import Case, Whole
from tracer.names import printable


def case_table(found: Sequence[Case], total: int) -> Table:
    """Cases in one line each."""
    title = f"{len(found)} of {total} cases" if len(found) < total else f"{total} case{'s' * (total != 1)}"
    table = Table(
        title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, 2, 0, 0)
    )
    for name in ("case", "kept", "lot", "origin", "first source", "", "closed"):
        table.add_column(name, header_style="dim", justify="right" if name == "case" else "left")
    for one in found:
        closed = f"{one.closed} ({one.how})" if one.closed else "open"
        lot = printable(one.lot) + (" (replaced)" if one.replaced else "")
        table.add_row(
            str(one.id),
            one.added[:10],
            lot,
            printable(one.origin),
            one.source or "none",
            f"{one.probability:.2f}" if one.source else "",
            closed,
        )
    return table


def case_screen(kept: Whole) -> RenderableType:
    """One case: how it stood, what was answered, how it was closed."""
    case, report = kept.case, kept.report
    lines = [
        Text(
            f"Case {case.id}: lot {printable(case.lot)}, kept {case.added} {printable(case.by)}".rstrip(),
            style="bold",
        ),
        Text(f"How sure  {report['verdict_text']}"),
    ]
    for source in report["sources"][:3]:
        lines.append(Text(f"  {source['probability']:.2f}  {source['label']} [{source['fault']}]"))
    lines.append(
        Text(
            f"knowledge {report['knowledge']['version']} {kept.knowledge[:8]}; files kept: {', '.join(map(printable, kept.files)) or 'none'}",
            style="dim",
        )
    )
    if kept.received:
        lines.append(Text("\nAnswers received", style="bold"))
        lines += [
            Text(printable(f"- {r.at[:10]} {r.by}: {r.enquiry} = {r.answer} {r.note}".rstrip()))
            for r in kept.received
        ]
    if kept.closings:
        lines.append(Text("\nClosed", style="bold"))
        lines += [
            Text(printable(f"- {c.at[:10]} {c.by}: {c.fault}, by {c.how}. {c.note}".rstrip()))
            for c in kept.closings
        ]
    else:
        lines.append(Text("\nOpen. Close it with: tracer close", style="bold"))
    return Group(*lines)
