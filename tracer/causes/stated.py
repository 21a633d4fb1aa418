"""What is stated of figures, in words: strengths, sources, how many lots have a fault."""

from __future__ import annotations

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Fault
from tracer.knowledge.scale import share_of_lots, suspicion
from tracer.knowledge.strength import Citation, Strength
from tracer.wording.sentence import Own, joined, say


def strength_text(strength: Strength | None) -> str:
    """A strength in words: 'often, judgement', '18/100, study', '0.2 to 0.5, statement'."""
    if strength is None:
        return ""
    if strength.unknown:
        return say("strength unknown")
    if strength.band or strength.count:
        figure = (strength.band or strength.count or "").replace("_", " ")
    else:
        figure = say("{low:g} to {high:g}", low=strength.low, high=strength.high)
    return say("{figure}, {basis}", figure=figure, basis=strength.basis)


def source_names(cites: tuple[Citation, ...]) -> tuple[str, ...]:
    """Sources of a statement, marked where they were not read themselves."""
    return tuple(
        Own(cite.source)
        if cite.read == "seen"
        else say("{source} ({read})", source=Own(cite.source), read=cite.read)
        for cite in cites
    )


def cited(text: str, cites: tuple[Citation, ...]) -> str:
    """A text with its sources behind it."""
    names = source_names(cites)
    return say("{text}; {names}", text=text, names=joined(names)) if names else text


def how_many(base: KnowledgeBase, fault: Fault) -> tuple[tuple[str, str], ...]:
    """How many of all lots cupped have a fault, and how many times the odds it has where somebody wants the lot traced."""
    share, factor = share_of_lots(fault, base.settings), suspicion(fault, base.settings)
    told = say(
        "{best:.2g} ({low:.2g} to {high:.2g}); {strength}",
        best=share.best,
        low=share.low,
        high=share.high,
        strength=strength_text(fault.prior),
    )
    found: list[tuple[str, str]] = [(say("share of all lots cupped"), told)]
    law = base.settings.suspicion
    if law is not None and factor.best != 1:
        stated = fault.suspicion or law
        told = say(
            "{best:g} times the odds ({low:g} to {high:g}); {basis}",
            best=factor.best,
            low=factor.low,
            high=factor.high,
            basis=stated.basis,
        )
        found.append((say("where somebody wants the lot traced"), cited(told, stated.cites)))
    return tuple(found)
