"""What an id that is no longer in use is called now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tracer.knowledge.entries import Descriptor, Enquiry, Fault, Record
from tracer.names import did_you_mean
from tracer.wording.sentence import Own, say

Renamed = Descriptor | Enquiry | Fault | Record


def now_called(name: str, entries: Mapping[str, Renamed], known: Iterable[str], otherwise: str) -> str:
    """The remedy for an id that is not known: its successor if it was renamed, else one of those `known` that is near."""
    successor = next((one.id for one in entries.values() if name in one.was), None)
    return (
        say("It is called {now} now.", now=Own(successor))
        if successor
        else did_you_mean(name, known, otherwise)
    )
