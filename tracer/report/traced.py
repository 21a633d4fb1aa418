"""One lot on its way into a report: everything worked out so far."""

from __future__ import annotations

from dataclasses import dataclass

from tracer.findings.gathered import Gathered
from tracer.findings.weigh import Combined, Sign
from tracer.inference.assemble import Whole
from tracer.inference.chain import Chain
from tracer.inference.evidence import Weighed


@dataclass(frozen=True)
class Traced(Gathered):
    """One lot on its way into a report."""

    chain: Chain
    whole: Whole
    """The network of such a chain, before anything is known of the lot."""
    ratios: dict[str, Combined]
    signs: tuple[Sign, ...]
    weighed: Weighed
