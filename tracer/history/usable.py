"""Which logs of a stage can be used, and why others cannot."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.history.history import NotAssessed
from tracer.history.series import span
from tracer.knowledge.physics import Physics
from tracer.lots.logs.log import Log
from tracer.lots.lot import Lot
from tracer.wording.sentence import say


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
    return sorted(found, key=span, reverse=True)


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


def left_out(lot: Lot, physics: Physics) -> Iterator[NotAssessed]:
    """Logs from which nothing is concluded."""
    for log in lot.logs:
        because = why_not(log, physics)
        if because:
            yield NotAssessed(log.stage, say("log {file}", file=log.file), because)
            continue
        kin = [one for one in lot.logs if (one.stage, one.where) == (log.stage, log.where)]
        read = max((one for one in kin if why_not(one, physics) is None), key=span)
        if read is not log and set(log.channels) <= set(read.channels):
            yield NotAssessed(
                log.stage,
                say("log {file}", file=log.file),
                say(
                    "{longest} is longer and was read of this place; trace this one by itself to compare",
                    longest=read.file,
                ),
            )
