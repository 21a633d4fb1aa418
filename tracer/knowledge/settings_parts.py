"""What every part of the settings carries: its basis and why."""

from __future__ import annotations

from tracer.knowledge.strength import Basis, Citation, Entry


class Explained(Entry):
    """Numbers of one kind with what they rest on."""

    basis: Basis
    why: str
    cites: tuple[Citation, ...] = ()
