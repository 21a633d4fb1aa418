"""All of it: what logs, readings, bed days and confirmed sentences of a lot show."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.history import beds, dryer, drying, readings, store, tank, transit
from tracer.history.history import History, Measured, NotAssessed, Proposed
from tracer.history.usable import left_out
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.wording.sentence import say

STEPS = (
    readings.measures,
    beds.measures,
    tank.measures,
    drying.measures,
    dryer.measures,
    store.measures,
    transit.measures,
)


def measure(
    lot: Lot, base: KnowledgeBase, proposed: tuple[Proposed, ...] = (), unread: tuple[str, ...] = ()
) -> History:
    """Work out the history of a lot. Nothing logged means nothing measured, which is not the same as clean.

    `proposed` is what the sentences of the lot may mean, and `unread` those that were read only as text.
    """
    if not (lot.logs or lot.readings or lot.beds or lot.said):
        return History()
    physics = base.settings.physics
    found = [one for step in STEPS for one in step(lot, physics)]
    measured = tuple(one for one in found if isinstance(one, Measured))
    return History(
        measured=measured,
        not_assessed=(
            *left_out(lot, physics, frozenset().union(*(one.logs for one in measured))),
            *(one for one in found if isinstance(one, NotAssessed)),
        ),
        doubts=(
            *readings.doubts(lot, physics),
            *_against_the_sheet(lot, base, measured),
            *_told_twice(lot, base, proposed),
        ),
        proposed=proposed,
        unread=unread,
    )


def _against_the_sheet(lot: Lot, base: KnowledgeBase, measured: tuple[Measured, ...]) -> Iterator[str]:
    """Where the sheet says one thing and a log another: the log counts."""
    written = {record.record: record for record in lot.records if record.value is not None}
    for one in measured:
        record = written.get(one.record)
        if record is None or record.value == one.value:
            continue
        if isinstance(one.value, float) and isinstance(record.value, (int, float)):
            low = one.low if one.low is not None else one.value
            high = one.high if one.high is not None else one.value
            if low - 0.05 * abs(low) <= record.value <= high + 0.05 * abs(high):
                continue
        yield (
            say(
                "the sheet says {label}: {written} ({place}), but {source} gives {value}: what was measured counts. Ask which is right.",
                label=base.records[one.record].label,
                written=record.written,
                place=record.place,
                source=one.source,
                value=one.value,
            )
        )


def _told_twice(lot: Lot, base: KnowledgeBase, proposed: tuple[Proposed, ...]) -> Iterator[str]:
    """Where a confirmed sentence contradicts the sheet: the sheet counts."""
    written = {
        record.record: record for record in lot.records if record.value is not None and not record.said
    }
    for one in proposed:
        record = written.get(one.record) if one.kind == "record" else None
        if one.state == "confirmed" and record is not None and record.value != one.value:
            yield (
                say(
                    "{by} says '{sentence}', but the sheet says {label}: {written} ({place}): the sheet counts. Ask which is right.",
                    by=one.by,
                    sentence=one.sentence,
                    label=base.records[one.record].label,
                    written=record.written,
                    place=record.place,
                )
            )
