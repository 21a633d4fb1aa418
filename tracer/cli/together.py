"""`tracer trace FOLDER --together`: what lots share, on one screen or as JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from tracer.batch.archive import pieces, read_piece
from tracer.batch.together import Together, trace_together
from tracer.casebook.sessions import Kept
from tracer.issues import InputError, Issue, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.names import printable
from tracer.panel.reliability import panels
from tracer.report.verdict import NAMED, in_a_table
from tracer.tracing import Prepared
from tracer.wording.language import tell
from tracer.wording.sentence import joined

MOST = 200
"""Lots traced together at once."""


def trace_folder(
    path: Path, base: KnowledgeBase, as_json: bool, ready: Prepared, cups: Sequence[Kept] = ()
) -> int:
    """Trace the lots of an archive together and print what they share; the number of sheets that could not be read."""
    lots: list[Lot] = []
    bad: list[Issue] = []
    for piece in pieces(path, base):
        lot, issues = read_piece(piece, base)
        errors = [issue for issue in issues if issue.level == "error"]
        bad += errors
        if lot is not None and not has_errors(issues):
            lots.append(lot)
        if len(lots) > MOST:
            message = tell("more than {MOST} lots are too many to trace together", MOST=MOST)
            raise InputError.of(path, message, tell("Put the lots that share something in a folder."))
    for issue in bad:
        print(issue, file=sys.stderr)
    if lots:
        found = trace_together(lots, base, ready, panels(cups, base))
        if as_json:
            print(json.dumps(_data(found), ensure_ascii=False, indent=2))
        else:
            from tracer.cli.screen import console

            console().print(screen(found, base))
    return len(bad)


def _data(found: Together) -> dict[str, object]:
    data = asdict(found)
    for lot in data["lots"]:
        lot["alone"] = {
            key: lot["alone"][key] for key in ("lot", "verdict", "notes", "sources", "stages", "stop", "hold")
        }
    return data


def screen(found: Together, base: KnowledgeBase) -> RenderableType:
    """Stop and hold first; then common sources; then each lot, alone and with the others."""
    parts: list[RenderableType] = []
    for title, style, told in (
        ("STOP TASTING", "bold red", [(one.alone.lot, one.alone.stop) for one in found.lots]),
        ("HOLD", "yellow", [(one.alone.lot, one.alone.hold) for one in found.lots]),
    ):
        lines = [f"{printable(lot)} ({'; '.join(because)})" for lot, because in told if because]
        if lines:
            parts.append(Text(f"{title}: {', '.join(lines)}", style=style))
    if not found.shared:
        parts.append(
            Text(
                tell(
                    "These lots share no place, table or exporter on their sheets: each stands by itself. See custody: in the sheet."
                )
            )
        )
    elif not found.common:
        parts.append(
            Text(
                tell(
                    "Nothing that these lots share is a likely common source (none: {none:.2f}).",
                    none=found.none,
                )
            )
        )
    else:
        parts.append(_common(found, base))
    parts += [Text(), _lots(found)]
    return Group(*parts)


def _table(title: str, *columns: str) -> Table:
    table = Table(
        title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, 2, 0, 0)
    )
    for column in columns:
        table.add_column(column, header_style="dim", justify="right" if column == "probability" else "left")
    return table


def _common(found: Together, base: KnowledgeBase) -> Table:
    table = _table(
        tell("Common sources, most probable first"),
        tell("shared"),
        tell("stage"),
        tell("what may be wrong there"),
        tell("probability"),
        tell("lots"),
    )
    for one in found.common:
        table.add_row(
            Text(printable(one.place)),
            base.stages[one.stage].label,
            one.label,
            f"{one.probability:.2f}",
            Text(joined(map(printable, one.lots))),
        )
    table.add_row(Text(tell("nothing shared"), style="italic"), "", "", f"{found.none:.2f}", "")
    return table


def _lots(found: Together) -> Table:
    table = _table(
        tell("Each lot"),
        tell("lot"),
        tell("notes"),
        tell("first source, alone"),
        tell("first source, with the others"),
    )
    for one in found.lots:
        alone = one.alone.sources[0] if one.alone.sources else None
        table.add_row(
            Text(printable(one.alone.lot)),
            Text(joined(one.alone.notes) or "none"),
            f"{tell(alone.label)} {alone.probability:.2f}"
            if alone and one.alone.verdict in NAMED
            else tell(in_a_table(one.alone.verdict, alone.label if alone else None)),
            f"{one.label} {one.probability:.2f}" if one.source else tell("nothing to trace"),
        )
    return table
