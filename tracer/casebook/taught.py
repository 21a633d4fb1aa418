"""Which kept cases teach: those closed on better grounds than belief, and lots that were cupped clean."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tracer.casebook.again import lot_of
from tracer.casebook.answers import with_answers
from tracer.casebook.cases import NONE, NOT_FOUND, Whole
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.report.verdict import NO_DEFECT_SUPPORTED


@dataclass(frozen=True, slots=True)
class Taught:
    """One case that teaches: its lot and its confirmed fault, or None where the coffee was sound."""

    case: int
    lot: Lot
    fault: str | None
    closed: bool = True
    """False for a lot that was cupped clean and nobody closed: it counts, but there is nothing to foresee."""


def taught_cases(wholes: Iterable[Whole], base: KnowledgeBase) -> tuple[list[Taught], int, int]:
    """Cases that teach, in the order in which their outcome was known; and how many were closed by belief, and how many not found."""
    found, belief, missing = [], 0, 0
    standing = [one for one in wholes if not one.case.replaced and not one.case.example]
    for kept in sorted(standing, key=lambda one: (_known_at(one), one.case.id)):
        if not kept.closings:
            lot = lot_of(kept, base) if _cupped_clean(kept) else None
            if lot is not None and any(cupping.tastings for cupping in lot.cuppings):
                found.append(Taught(kept.case.id, lot, None, closed=False))
            continue
        last = kept.closings[-1]
        if last.how == "belief":
            belief += 1
        elif last.fault == NOT_FOUND:
            missing += 1
        elif last.fault == NONE or last.fault in base.faults:
            lot = with_answers(lot_of(kept, base), kept.received, base)
            found.append(Taught(kept.case.id, lot, None if last.fault == NONE else last.fault))
    return found, belief, missing


def _known_at(kept: Whole) -> str:
    return kept.closings[-1].at if kept.closings else kept.case.added


def _cupped_clean(kept: Whole) -> bool:
    """True for a lot of which nothing was to be traced, and nobody asked further."""
    return kept.case.verdict == NO_DEFECT_SUPPORTED and kept.case.source is None and not kept.received
