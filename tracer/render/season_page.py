"""A season as one printable page, whole in itself."""

from __future__ import annotations

from tracer.render.markup import document, items, section, shown, table
from tracer.render.season_plots import share_plot
from tracer.season.counts import BY, Count
from tracer.season.season import Season, Standing
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
from tracer.wording.sentence import say

TITLES = {
    "exporter": say("By exporter"),
    "mill": say("By mill"),
    "origin": say("By origin"),
    "stage": say("By stage traced to"),
    "source": say("By source traced to"),
    "month": say("By month of cupping"),
}


def page(season: Season) -> str:
    """The page as HTML."""
    return document(title(season), f"<h1>{shown(title(season))}</h1>{body(season)}")


def title(season: Season) -> str:
    """What it is, with its day."""
    return tell("The season, {today}", today=season.today)


def body(season: Season) -> str:
    """What stands below the title: alarms, claim days, more than chance, counts with plots, questions, samples side by side."""
    told = tell(season)
    together = several_sheets(season)
    parts = [
        f"<p>{shown(tell(head(season)))}</p>",
        _alarm(season, "stop", tell("STOP TASTING")),
        _alarm(season, "hold", tell("HOLD THE LOT")),
        f"<p>{shown(tell(together))}</p>" if together else "",
        _claims(told),
        _standing(told),
        *(_counts(told, by) for by in BY),
        _parties(told),
        _sides(told),
    ]
    return "".join(parts)


def _alarm(season: Season, which: str, title: str) -> str:
    found = [f"{lot}: {because}" for lot, because in tell(alarms(season, which))]
    return (
        f'<div class="{which}" role="alert"><strong>{shown(title)}</strong>{items(found)}</div>'
        if found
        else ""
    )


def _claims(season: Season) -> str:
    rows = [
        [
            shown(cell)
            for cell in (
                one.day,
                tell(left(one)),
                one.lot,
                one.exporter,
                one.what,
                tell("yes") if one.troubled else tell("no"),
            )
        ]
        for one in season.claims
    ]
    return section(tell("Claim days"), table(("day", "left", "lot", "exporter", "claim", "traced"), rows))


def _standing(season: Season) -> str:
    body = (
        "".join(map(_group, season.standing)) or f"<p>{shown(tell('No group stands out beyond chance.'))}</p>"
    )
    return section(tell("More than chance"), f'{body}<p class="small">{shown(tell(compared(season)))}</p>')


def _group(one: Standing) -> str:
    return f"<p><strong>{shown(one.what)}</strong></p>{items(tell(line) for line in standing_lines(one))}"


def _counts(season: Season, by: str) -> str:
    here = [one for one in season.counts if one.by == by]
    if not here:
        return ""
    title = tell(TITLES[by])
    usual = season.troubled / season.cupped if season.cupped else 0.0
    plot = share_plot(here, tell("{title}: share of the lots cupped, with 95 %", title=title), usual)
    heads = (by, "lots", "cupped", "held", counted_as(by), "95 %", "traced to most")
    return section(
        title, f'<div class="wide">{plot}</div>' + table(heads, [_row(one) for one in here], "rows counts")
    )


def _row(one: Count) -> list[str]:
    return [
        shown(cell)
        for cell in (
            one.label,
            one.lots,
            one.cupped,
            one.held,
            one.troubled,
            tell("{low:.0%} to {high:.0%}", low=one.low, high=one.high),
            "; ".join(f"{label} ({count})" for label, count in one.to),
        )
    ]


def _parties(season: Season) -> str:
    body = ""
    for party in season.parties:
        body += f"<p><strong>{shown(': '.join(filter(None, (party.party, party.name))))}</strong></p>"
        body += items(f"{one.text} ({tell(names(one.lots))})" for one in party.questions)
    return section(tell("Open questions, by whom they go to"), body)


def _sides(season: Season) -> str:
    rows = [
        [
            shown(one.lot),
            "<br>".join(shown(tell(line)) for line in notes(one)),
            shown(figure(one.score_before, one.score_after, 2)),
            shown(figure(one.moisture_before, one.moisture_after)),
            shown(one.changed),
            shown("; ".join(one.ask)),
        ]
        for one in season.sides
    ]
    return section(
        tell("Before shipment and on arrival"),
        table(("lot", "notes", "score", "moisture", "changed", "ask"), rows),
    )
