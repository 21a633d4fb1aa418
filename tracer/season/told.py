"""Lines of a season that its screen and its page tell alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tracer.season.season import ClaimDay, Season, Standing
from tracer.season.sides import Side
from tracer.wording.sentence import Own, joined, say

MOST = 12
"""Names of lots told in one line."""


def head(season: Season) -> str:
    """How many lots, from when to when, and how many were traced."""
    span = (
        say(", cupped from {first} to {last}", first=season.first, last=season.last) if season.first else ""
    )
    lots = say("1 lot") if len(season.lots) == 1 else say("{lots} lots", lots=len(season.lots))
    return say(
        "{lots}{span}; with an off-note {troubled} of {cupped} cupped: {share:.0%} ({low:.0%} to {high:.0%}); traced to a source {named}",
        lots=lots,
        span=span,
        troubled=season.troubled,
        cupped=season.cupped,
        share=season.troubled / season.cupped if season.cupped else 0.0,
        low=season.low,
        high=season.high,
        named=sum(bool(lot.source) for lot in season.lots if lot.tasted and lot.troubled),
    )


def several_sheets(season: Season) -> str:
    """Lots that stand on several sheets, with these; empty where there are none."""
    found = [lot for lot in season.lots if lot.sheets > 1]
    if not found:
        return ""
    shown = joined(
        (say("{lot} ({where})", lot=Own(lot.lot), where=lot.where) for lot in found[:MOST]),
        ", ",
    )
    more = len(found) - MOST
    return say(
        "Several sheets of one lot count together, and it shows the off-notes of all: {lots}",
        lots=shown + say(" and {count} more", count=more) if more > 0 else shown,
    )


def names(lots: Iterable[str]) -> str:
    """Names of lots, the first of them where they are many."""
    every = tuple(lots)
    shown = joined(Own(one) for one in every[:MOST])
    more = len(every) - MOST
    return shown + say(" and {count} more", count=more) if more > 0 else shown


def standing_lines(one: Standing) -> tuple[str, ...]:
    """What a group shows, its custody, and what to do."""
    lines = [
        say(
            "{troubled} of {here} lots {trouble} ({low:.0%} to {high:.0%}); of the others {troubled_others} of {others}. p {p:.1g}, corrected {corrected:.1g}",
            troubled=one.troubled,
            here=one.here,
            trouble=one.trouble,
            low=one.low,
            high=one.high,
            troubled_others=one.troubled_others,
            others=one.others,
            p=one.p,
            corrected=one.corrected,
        ),
        say(
            "traced to: {sources}",
            sources=joined(say("{label} ({count})", label=label, count=count) for label, count in one.traced),
        ),
        say("lots: {lots}", lots=names(one.lots)),
    ]
    if one.traced_elsewhere:
        lines.append(say("with an off-note traced elsewhere: {lots}", lots=names(one.traced_elsewhere)))
    if one.custody:
        places = (
            say(
                "{label}: {place} ({lots} of {of})",
                label=p.label,
                place=Own(p.place),
                lots=p.lots,
                of=len(one.lots),
            )
            for p in one.custody
        )
        lines.append(say("their custody besides: {places}", places=joined(places, "; ")))
    if one.alike:
        lines.append(say("cannot be told apart from: {groups}", groups=joined(one.alike, "; ")))
    if one.look_at:
        lines.append(say("was there too, cup again: {lots}", lots=names(one.look_at)))
    if one.ask:
        lines.append(say("ask: {parties}", parties=joined(one.ask, "; ")))
    return tuple(lines)


def compared(season: Season) -> str:
    """How the comparison was made, and what it can be wrong in."""
    return say(
        "Compared (by exporter, place, own bench, and these by week or month): {compared}, of which {counted} could pass at all; exact, "
        "corrected for all of them: by chance alone a season shows a group in less than {limit:.0%}. A group is a lead, not a proof.",
        compared=season.compared,
        counted=season.counted,
        limit=season.limit,
    )


def left(claim: ClaimDay) -> str:
    """How long a time limit still runs."""
    if claim.left < 0:
        return say("passed")
    if claim.left == 0:
        return say("today")
    return say("1 day" if claim.left == 1 else "{left} days", left=claim.left)


def figure(before: float | None, after: float | None, places: int = 1) -> str:
    """A figure before and after; a dash where one is not known."""
    if before is None and after is None:
        return ""
    return " → ".join("–" if one is None else f"{one:.{places}f}" for one in (before, after))


def notes(side: Side) -> tuple[str, ...]:
    """Each off-note in the one sample and in the other."""
    return tuple(
        say("{note}: {before} → {after}", note=one.note, before=one.before, after=one.after)
        for one in side.notes
    )


def alarms(season: Season, which: str) -> Sequence[tuple[str, str]]:
    """Lots that are stopped, or held, and why."""
    told = ((lot.lot, lot.stop if which == "stop" else lot.hold) for lot in season.lots)
    return [(lot, joined(because, "; ")) for lot, because in told if because]


def counted_as(by: str) -> str:
    """The head over the lots counted."""
    return "traced" if by in ("stage", "source") else "off-note"
