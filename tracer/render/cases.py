"""Kept cases on a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from tracer.names import printable
from tracer.report.verdict import NAMED, in_a_table
from tracer.wording.language import tell
from tracer.wording.sentence import Own, joined

if TYPE_CHECKING:  # learning brings in all of the reasoner
    from tracer.casebook.cases import Case, Whole
    from tracer.casebook.common import Shared
    from tracer.casebook.learn import Learned


def case_table(found: Sequence[Case], total: int) -> Table:
    """Cases in one line each."""
    title = (
        tell("{count} of {total} cases", count=len(found), total=total)
        if len(found) < total
        else tell("1 case" if total == 1 else "{total} cases", total=total)
    )
    table = Table(
        title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, 2, 0, 0)
    )
    for name in ("case", "kept", "lot", "origin", tell("first source"), "", "closed"):
        table.add_column(tell(name), header_style="dim", justify="right" if name == "case" else "left")
    for one in found:
        closed = printable(f"{one.closed} ({one.how})") if one.closed else tell("open")
        lot = printable(one.lot) + (tell(" (replaced)") if one.replaced else "")
        table.add_row(
            str(one.id),
            printable(one.added[:10]),
            lot,
            printable(one.origin),
            tell(in_a_table(one.verdict, Own(printable(one.source)) if one.source else None)),
            f"{one.probability:.2f}" if one.verdict in NAMED else "",
            closed,
        )
    return table


def case_screen(kept: Whole) -> RenderableType:
    """One case: how it stood, what was answered, how it was closed."""
    case, report = kept.case, kept.report
    lines = [
        Text(
            tell(
                "Case {id}: lot {lot}, kept {added} {by}",
                id=case.id,
                lot=printable(case.lot),
                added=case.added,
                by=printable(case.by),
            ).rstrip(),
            style="bold",
        ),
        Text(tell("How sure  {report}", report=report["verdict_text"])),
    ]
    for source in report["sources"][:3]:
        lines.append(Text(f"  {source['probability']:.2f}  {tell(source['label'])} [{source['fault']}]"))
    lines.append(
        Text(
            tell(
                "knowledge {report} {knowledge}; files kept: {value}",
                report=report["knowledge"]["version"],
                knowledge=kept.knowledge[:8],
                value=joined(map(printable, kept.files)) or tell("none"),
            ),
            style="dim",
        )
    )
    if kept.received:
        lines.append(Text(tell("\nAnswers received"), style="bold"))
        lines += [
            Text(
                printable(
                    f"- {r.at[:10]} {r.by}: {r.enquiry} = {r.answer or tell('taken back')} {r.note}".rstrip()
                )
            )
            for r in kept.received
        ]
    if kept.closings:
        lines.append(Text(tell("\nClosed"), style="bold"))
        lines += [
            Text(
                printable(
                    tell(
                        "- {at} {by}: {fault}, by {how}. {note}",
                        at=c.at[:10],
                        by=c.by,
                        fault=c.fault,
                        how=c.how,
                        note=c.note,
                    ).rstrip()
                )
            )
            for c in kept.closings
        ]
    else:
        lines.append(Text(tell("\nOpen. Close it with: tracer close"), style="bold"))
    return Group(*lines)


def common_screen(
    found: Sequence[Shared], affected: int, every: int, limit: float, labels: Mapping[str, str]
) -> RenderableType:
    """Shared places, and which other lots to cup."""
    if not affected:
        told = tell(
            "None of the {every} lots kept is affected: neither its first source nor a confirmed one lies there.",
            every=every,
        )
        return Text(told)
    if not found:
        return Text(
            tell(
                "{affected} affected lots of {every}; no place is on the sheets of two of them. Fill in custody: on the lot sheets.",
                affected=affected,
                every=every,
            )
        )
    table = Table(
        title=tell("{affected} affected lots of {every} with a kept case", affected=affected, every=every),
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
        tell("affected here"),
        tell("others here"),
        tell("times the usual"),
        tell("p exact"),
        tell("p corrected"),
    ):
        table.add_column(tell(name), header_style="dim")
    for one in found[:20]:
        mark = "!" if one.corrected <= limit else ""
        table.add_row(
            mark,
            tell(labels.get(one.stage, one.stage)),
            printable(one.node),
            tell("{affected_here} of {affected}", affected_here=one.affected_here, affected=one.affected),
            tell("{others_here} of {others}", others_here=one.others_here, others=one.others),
            f"{one.lift:.1f}",
            f"{one.p:.2g}",
            f"{one.corrected:.2g}",
        )
    lines: list[RenderableType] = [table]
    pointed = [one for one in found if one.corrected <= limit]
    if not pointed:
        lines.append(
            Text(
                tell(
                    "No place stands out beyond chance once so many are looked at. More lots with custody: would tell more."
                )
            )
        )
    for one in pointed:
        shown = joined(map(printable, one.to_cup[:12])) + (
            tell(" and {count} more", count=len(one.to_cup) - 12) if len(one.to_cup) > 12 else ""
        )
        lines.append(
            Text(
                tell(
                    "\nAlso passed {node}, cup them: {value}",
                    node=printable(one.node),
                    value=shown or tell("no other lot"),
                )
            )
        )
    lines.append(
        Text(
            tell("\nA shared place is a lead, not a proof: ask there what these lots had in common."),
            style="dim",
        )
    )
    return Group(*lines)


def learned_screen(found: Learned) -> RenderableType:
    """What closed cases would change, and whether it helps."""
    closed = found.taught - found.clean
    head = (
        tell("{closed} closed cases and {clean} lots cupped clean teach", closed=closed, clean=found.clean)
        if found.clean
        else tell("{taught} closed cases teach", taught=closed)
    )
    left = [tell("{by_belief} closed by belief", by_belief=found.by_belief)] * bool(found.by_belief) + [
        tell("{not_found} not found", not_found=found.not_found)
    ] * bool(found.not_found)
    lines: list[RenderableType] = [
        Text(
            head + (tell("; {left} teach nothing", left=joined(left, " and ")) if left else ""), style="bold"
        )
    ]
    if found.loss_before is not None and found.loss_after is not None:
        better = found.loss_after < found.loss_before
        told = tell("better foreseen") if better else tell("NOT better foreseen: do not accept it")
        lines.append(
            Text(
                tell(
                    "Mean log loss, each case judged by what those before it had taught: {loss_before:.3f} as shipped, {loss_after:.3f} as learned ({told})",
                    loss_before=found.loss_before,
                    loss_after=found.loss_after,
                    told=told,
                ),
                style="none" if better else "bold yellow",
            )
        )
    if not found.figures:
        lines.append(Text(tell("No figure moves by enough to matter.")))
        return Group(*lines)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("", "figure", "before", "after", "90 %", "confirmed", tell("of cases")):
        table.add_column(tell(name), header_style="dim")
    for one in sorted(found.figures, key=lambda f: (f.kind, -abs(f.after / f.before - 1))):
        table.add_row(
            one.kind,
            printable(one.about),
            f"{one.before:.3g}",
            f"{one.after:.3g}",
            tell("{low:.3g} to {high:.3g}", low=one.low, high=one.high),
            f"{one.confirmed:g}",
            str(one.cases),
        )
    lines.append(table)
    lines.append(
        Text(
            tell("Nothing has changed. Read it, then: tracer cases learn --accept DIR --by NAME"), style="dim"
        )
    )
    return Group(*lines)
