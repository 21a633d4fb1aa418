"""A season on the terminal: stop and hold first, claim days, what shows more than chance, the counts, whom to ask, the samples side by side."""

from __future__ import annotations

from textwrap import shorten

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from tracer.names import printable
from tracer.render.columns import columns
from tracer.season.counts import Count
from tracer.season.season import Season
from tracer.season.told import (
    alarms,
    compared,
    counted_as,
    figure,
    head,
    left,
    names,
    notes,
    several_sheets,
    standing_lines,
)
from tracer.wording.language import tell
from tracer.wording.sentence import joined

ROWS = 20
"""Rows of a table of the screen; the files hold all."""
LONGEST = 60
"""Letters of a reason on the screen."""


def screen(season: Season, by: str) -> RenderableType:
    """The season; `by` chooses the table of counts."""
    told = tell(season)
    parts: list[RenderableType] = [_text(tell(head(season)), "bold")]
    for which, title, style in (
        ("stop", tell("STOP TASTING"), "bold red"),
        ("hold", tell("HOLD THE LOT"), "yellow"),
    ):
        found = [
            f"{lot} ({shorten(because, LONGEST, placeholder=' …')})"
            for lot, because in tell(alarms(season, which))
        ]
        if found:
            more = [tell("and {count} more", count=len(found) - ROWS)] if len(found) > ROWS else []
            parts.append(_text(f"{title}: {', '.join([*found[:ROWS], *more])}", style))
    if together := several_sheets(season):
        parts.append(_text(tell(together)))
    parts += [Text(), *_claims(told), *_standing(told), Text(), _counts(told, by)]
    parts += [*_parties(told), *_sides(told)]
    return Group(*parts)


def _text(text: str, style: str = "") -> Text:
    return Text(printable(text), style=style)


def _claims(season: Season) -> list[RenderableType]:
    if not season.claims:
        return []
    table = columns("day", "left", "lot", "exporter", "claim", "traced", title="Claim days")
    for one in season.claims[:ROWS]:
        table.add_row(
            str(one.day),
            tell(left(one)),
            *map(_text, (one.lot, one.exporter, one.what)),
            tell("yes") if one.troubled else tell("no"),
        )
    return [table, *_more(len(season.claims)), Text()]


def _standing(season: Season) -> list[RenderableType]:
    parts: list[RenderableType] = [_text(tell("More than chance"), "bold")]
    if not season.standing:
        parts.append(_text(tell("No group stands out beyond chance.")))
    for number, one in enumerate(season.standing, 1):
        parts.append(_text(f"{number}. {one.what}", "bold"))
        parts += [Padding(_text(tell(line)), (0, 0, 0, 3)) for line in standing_lines(one)]
    parts.append(_text(tell(compared(season)), "dim"))
    return parts


def _counts(season: Season, by: str) -> RenderableType:
    here = [one for one in season.counts if one.by == by]
    table = columns(by, "lots", "cupped", "held", counted_as(by), "95 %", "traced to most", title="Counts")
    for one in here[:ROWS]:
        table.add_row(_text(one.label), str(one.lots), str(one.cupped), str(one.held), *_share(one))
    return Group(table, *_more(len(here)))


def _share(one: Count) -> tuple[str, str, Text]:
    most = joined((f"{label} ({count})" for label, count in one.to), "; ")
    return (
        f"{one.troubled} ({one.troubled / one.cupped:.0%})" if one.cupped else "0",
        tell("{low:.0%} to {high:.0%}", low=one.low, high=one.high) if one.cupped else "",
        _text(most),
    )


def _parties(season: Season) -> list[RenderableType]:
    if not season.parties:
        return []
    parts: list[RenderableType] = [Text(), _text(tell("Open questions, by whom they go to"), "bold")]
    for party in season.parties:
        parts.append(_text(": ".join(filter(None, (party.party, party.name))), "bold"))
        parts += [
            Padding(_text(f"- {one.text} ({tell(names(one.lots))}; {one.id})"), (0, 0, 0, 2))
            for one in party.questions[:5]
        ]
        rest = len(party.questions) - 5
        parts += [_text(tell("   and {count} more", count=rest), "dim")] if rest > 0 else []
    return parts


def _sides(season: Season) -> list[RenderableType]:
    if not season.sides:
        return []
    table = columns(
        "lot", "notes", "score", "moisture", "changed", "ask", title="Before shipment and on arrival"
    )
    for one in season.sides[:ROWS]:
        table.add_row(
            _text(one.lot),
            _text(tell(joined(notes(one), "; "))),
            figure(one.score_before, one.score_after, 2),
            figure(one.moisture_before, one.moisture_after),
            _text(one.changed),
            _text("; ".join(one.ask)),
        )
    return [Text(), table, *_more(len(season.sides))]


def _more(rows: int) -> list[RenderableType]:
    rest = rows - ROWS
    return (
        [_text(tell("and {count} more: see --json, --csv or --html", count=rest), "dim")] if rest > 0 else []
    )
