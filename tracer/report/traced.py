"""One lot on its way into a report: everything worked out so far."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.findings.gathered import Gathered
from tracer.findings.weigh import Combined
from tracer.inference.evidence import Weighed
from tracer.inference.network import Network


@dataclass(frozen=True)
class Traced(Gathered):
    """One lot on its way into a report."""

    ratios: dict[str, Combined]
    network: Network
    weighed: Weighed
