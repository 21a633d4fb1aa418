"""Which logs of a stage can be used, and why others cannot."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from tracer.history.history import NotAssessed
from tracer.history.series import HOUR, span, usual_step
from tracer.knowledge.physics import Physics
from tracer.lots.logs.log import Log
from tracer.lots.lot import Lot
from tracer.wording.sentence import say

_AND = " + "


def logs_of(
    lot: Lot, stage: str, where: tuple[str, ...], physics: Physics, needs: tuple[str, ...] = ()
) -> list[Log]:
    """Logs of a stage in one of some places that hold what is needed and miss little; the longest first."""
    found = [
        log
        for log in lot.logs
        if log.stage == stage
        and log.where in where
        and set(needs) <= set(log.channels)
        and why_not(log, physics) is None
    ]
    return sorted(in_turn(found, physics), key=span, reverse=True)


def in_turn(found: Sequence[Log], physics: Physics) -> list[Log]:
    """Loggers of one place that ran one after the other, as one; those that ran at the same time stay apart.

    They also stay apart where too much time between them has no readings.
    """
    made: list[Log] = []
    for log in sorted(found, key=lambda one: one.at[0]):
        for place, before in enumerate(made):
            same = before.where == log.where and set(before.channels) == set(log.channels)
            if same and before.at[-1] < log.at[0]:
                both = _end_to_end(before, log, physics)
                if why_not(both, physics) is None:
                    made[place] = both
                    break
        else:
            made.append(log)
    return made


def _end_to_end(one: Log, other: Log, physics: Physics) -> Log:
    hours = float((other.at[0] - one.at[-1]) / HOUR)
    usual = usual_step(one)
    between = (
        ((int(one.rows[-1]), int(other.rows[0]), hours - usual),)
        if hours > physics.logs.gap_factor * usual
        else ()
    )
    return replace(
        one,
        file=f"{one.file}{_AND}{other.file}",
        rows=np.concatenate((one.rows, other.rows)),
        at=np.concatenate((one.at, other.at)),
        channels={
            name: np.concatenate((values, other.channels[name])) for name, values in one.channels.items()
        },
        total=one.total + other.total,
        defects=(*one.defects, *other.defects),
        gaps=(*one.gaps, *between, *other.gaps),
    )


def why_not(log: Log, physics: Physics) -> str | None:
    """Why nothing is concluded from a log: too much of it is missing or could not be used."""
    most = physics.logs.most_missing
    if log.dropped > most:
        return say(
            "{dropped:.0%} of the rows of {file} could not be used (more than {most:.0%})",
            dropped=log.dropped,
            file=log.file,
            most=most,
        )
    if log.missing > most:
        return say(
            "{missing:.0%} of the time in {file} has no readings (more than {most:.0%})",
            missing=log.missing,
            file=log.file,
            most=most,
        )
    return None


def left_out(lot: Lot, physics: Physics, read: Collection[str]) -> Iterator[NotAssessed]:
    """Logs from which nothing is concluded; `read` are the files that values were worked out from."""
    for log in lot.logs:
        because = why_not(log, physics)
        if because is None:
            same = [one for one in lot.logs if (one.stage, one.where) == (log.stage, log.where)]
            kin = in_turn([one for one in same if why_not(one, physics) is None], physics)
            used = [one for one in kin if one.file in read] or [max(kin, key=span)]
            if any(log.file in one.file.split(_AND) for one in used):
                continue
            first = used[0]
            because = (
                say(
                    "{longest} is longer and was read of this place; trace this one by itself to compare",
                    longest=first.file,
                )
                if span(first) >= span(log)
                else say(
                    "{read} was read of this place, as it holds more of what is needed; trace this one by itself to compare",
                    read=first.file,
                )
            )
        yield NotAssessed(log.stage, say("log {file}", file=log.file), because)
