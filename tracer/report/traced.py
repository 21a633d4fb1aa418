"""One lot on its way into a report: everything worked out so far."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.findings.fact import Fact
from tracer.findings.finding import Finding
from tracer.findings.weigh import Combined
from tracer.history.history import History
from tracer.inference.evidence import Weighed
from tracer.inference.network import Network
from tracer.lots.lot import Lot
from tracer.lots.observations import Heard


@dataclass(frozen=True)
class Traced:
    """One lot on its way into a report."""

    lot: Lot
    heard: Heard
    facts: tuple[Fact, ...]
    findings: tuple[Finding, ...]
    ratios: dict[str, Combined]
    network: Network
    weighed: Weighed
    history: History
