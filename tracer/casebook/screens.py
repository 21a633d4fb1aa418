"""Kept cases on a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from tracer.names import printable

if TYPE_CHECKING:  # learning brings in all of the reasoner
    from tracer.casebook.cases import Case, Whole
    from tracer.casebook.common import Shared
    from tracer.casebook.learn import Learned


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


def common_screen(
    found: Sequence[Shared], affected: int, every: int, limit: float, labels: Mapping[str, str]
) -> RenderableType:
    """Shared places, and which other lots to cup."""
    if not found:
        return Text(
            f"{affected} affected lots of {every}; no place is on the sheets of two of them. Fill in custody: on the lot sheets."
        )
    table = Table(
        title=f"{affected} affected lots of {every} with a kept case",
        title_justify="left",
        title_style="bold",
        box=None,
        pad_edge=False,
        padding=(0, 2, 0, 0),
    )
    for name in (
        "",
        "stage",
        "place",
        "affected here",
        "others here",
        "times the usual",
        "p exact",
        "p corrected",
    ):
        table.add_column(name, header_style="dim")
    for one in found[:20]:
        mark = "!" if one.corrected <= limit else ""
        table.add_row(
            mark,
            labels.get(one.stage, one.stage),
            printable(one.node),
            f"{one.affected_here} of {one.affected}",
            f"{one.others_here} of {one.others}",
            f"{one.lift:.1f}",
            f"{one.p:.2g}",
            f"{one.corrected:.2g}",
        )
    lines: list[RenderableType] = [table]
    pointed = [one for one in found if one.corrected <= limit]
    if not pointed:
        lines.append(
            Text(
                "No place stands out beyond chance once so many are looked at. More lots with custody: would tell more."
            )
        )
    for one in pointed:
        shown = ", ".join(map(printable, one.to_cup[:12])) + (
            f" and {len(one.to_cup) - 12} more" if len(one.to_cup) > 12 else ""
        )
        lines.append(Text(f"\nAlso passed {printable(one.node)}, cup them: {shown or 'no other lot'}"))
    lines.append(
        Text("\nA shared place is a lead, not a proof: ask there what these lots had in common.", style="dim")
    )
    return Group(*lines)


def learned_screen(found: Learned) -> RenderableType:
    """What closed cases would change, and whether it helps."""
    head = f"{found.taught} closed cases teach"
    left = [f"{found.by_belief} closed by belief"] * bool(found.by_belief) + [
        f"{found.not_found} not found"
    ] * bool(found.not_found)
    lines: list[RenderableType] = [
        Text(head + (f"; {' and '.join(left)} teach nothing" if left else ""), style="bold")
    ]
    if found.loss_before is not None and found.loss_after is not None:
        better = found.loss_after < found.loss_before
        told = "better foreseen" if better else "NOT better foreseen: do not accept it"
        lines.append(
            Text(
                f"Mean log loss, each case judged by what those before it had taught: {found.loss_before:.3f} as shipped, "
                f"{found.loss_after:.3f} as learned ({told})",
                style="none" if better else "bold yellow",
            )
        )
    if not found.figures:
        lines.append(Text("No figure moves by enough to matter."))
        return Group(*lines)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("", "figure", "before", "after", "90 %", "confirmed", "of cases"):
        table.add_column(name, header_style="dim")
    for one in sorted(found.figures, key=lambda f: (f.kind, -abs(f.after / f.before - 1))):
        table.add_row(
            one.kind,
            printable(one.about),
            f"{one.before:.3g}",
            f"{one.after:.3g}",
            f"{one.low:.3g} to {one.high:.3g}",
            f"{one.confirmed:g}",
            str(one.cases),
        )
    lines.append(table)
    lines.append(
        Text("Nothing has changed. Read it, then: tracer cases learn --accept DIR --by NAME", style="dim")
    )
    return Group(*lines)
