"""Reference cards: what to weigh and dilute for a note at a multiple of its threshold, or why not to."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.compound import Compound, Threshold
from tracer.knowledge.panel_settings import PanelSettings
from tracer.knowledge.scale import link
from tracer.panel.amounts import PER_LITRE, figure, two_units
from tracer.panel.weighing import Stock, relative_error
from tracer.wording.sentence import Id, Own, joined, say

REFUSED = {
    "smell_only": say(
        "smell only, never in the mouth: it is on no flavouring list, or too potent to keep out of the room"
    ),
    "never_prepare": say("never prepared in a cupping room, not even to smell"),
    "never_mixture": say("a mixture whose make-up nobody here can answer for"),
}
_WATER = ("coffee", "brew", "water")
_STEPS = (10.0, 100.0, 1000.0)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A compound that makes the note and is not prepared, and why."""

    compound: Id
    label: str
    because: str


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do at the bench."""

    text: str
    check: str
    """The same in another unit, to be compared by eye."""


@dataclass(frozen=True, slots=True)
class Card:
    """A recipe for one reference."""

    compound: Id
    label: str
    note: str
    threshold: float
    """ug/L."""
    threshold_words: str
    multiple: float
    volume: float
    """L."""
    needed: float
    """ug in the volume."""
    steps: tuple[Step, ...]
    carrier: float
    """mL in a litre."""
    uncertainty: float
    """Relative."""
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    tag: str


def candidates(base: KnowledgeBase, note: str) -> tuple[list[Compound], list[Refusal]]:
    """Compounds that stand for a note, members of groups one by one: those that may be prepared, and refusals."""
    allowed, refused = [], []
    for compound in _standing_for(base, note):
        because = refusal(compound)
        if because is None and _usable(compound) is None:
            because = say("no threshold in water or coffee is known: give your own and its source at hand")
        if because is None:
            allowed.append(compound)
        else:
            refused.append(Refusal(compound.id, compound.label, because))
    return allowed, refused


def _standing_for(base: KnowledgeBase, note: str) -> list[Compound]:
    """Compounds that make a note, the one that makes it oftenest first; one that makes it only now and then is no reference."""
    share = {
        compound.id: link(one.strength, base.settings).best
        for compound in base.compounds.values()
        for one in compound.evokes
        if one.descriptor == note
    }
    least = base.settings.panel.reference_share * max(share.values(), default=0.0)
    nodes = sorted((node for node in share if share[node] >= least), key=lambda node: -share[node])
    return [base.compounds[member] for node in nodes for member in (base.members(node) or (node,))]


@dataclass(frozen=True, slots=True)
class Serving:
    """How a note may be served in a blind set: to taste, to smell only, or not at all."""

    how: str
    """taste, smell, or never."""
    because: str


def serving(base: KnowledgeBase, note: str) -> Serving:
    """How a note may be served, by the handling of the compounds that make it; a stop note is never served."""
    entry = base.descriptors[note]
    compounds = _standing_for(base, note)
    handlings = {compound.handling for compound in compounds}
    reasons = joined(
        dict.fromkeys(
            say("{label}: {because}", label=one.label, because=because)
            for one in compounds
            if (because := refusal(one)) is not None
        ),
        "; ",
    )
    if entry.stop_tasting:
        return Serving(
            "never",
            say(
                "nobody goes on tasting a cup with this note, so it is never served; {reasons}",
                reasons=reasons,
            ),
        )
    if entry.lack_of is not None or not compounds:
        return Serving("never", say("no compound makes it, so there is nothing to add"))
    if handlings & {"food_grade", "food_grade_with_care"}:
        return Serving("taste", "")
    return Serving("smell" if "smell_only" in handlings else "never", reasons)


def refusal(compound: Compound) -> str | None:
    """Why a compound is not prepared, or None."""
    because = REFUSED.get(compound.handling)
    if because is not None:
        return because + (
            say("; {handling_note}", handling_note=compound.handling_note) if compound.handling_note else ""
        )
    return None if compound.identified else say("no molecule is known for it")


def _usable(compound: Compound) -> Threshold | None:
    """The threshold to start from: in coffee before water, an amount in a litre only."""
    fitting = [
        t
        for t in compound.thresholds
        if t.unit.lower().replace("µ", "u") in PER_LITRE and any(word in t.matrix.lower() for word in _WATER)
    ]
    fitting.sort(key=lambda t: next(i for i, word in enumerate(_WATER) if word in t.matrix.lower()))
    return fitting[0] if fitting else None


def threshold_of(compound: Compound) -> tuple[float, str] | None:
    """A compound's threshold (ug/L) with its matrix, kind and source in words."""
    found = _usable(compound)
    if found is None:
        return None
    factor = PER_LITRE[found.unit.lower().replace("µ", "u")]
    value = found.value if found.value is not None else math.sqrt((found.low or 0) * (found.high or 0))
    spread = (
        say(" (middle of {low:g} to {high:g})", low=found.low, high=found.high) if found.value is None else ""
    )
    sources = joined(
        say("{source} ({read})", source=Own(cite.source), read=cite.read) for cite in found.cites
    )
    words = say(
        "{kind} threshold in {matrix}: {value:g} {unit}{spread}; {sources}",
        kind=found.kind,
        matrix=found.matrix,
        value=value,
        unit=found.unit,
        spread=spread,
        sources=sources,
    )
    return value * factor, words


def card(
    compound: Compound,
    note: str,
    threshold: tuple[float, str],
    multiple: float,
    volume: float,
    stock: Stock,
    settings: PanelSettings,
) -> Card:
    """The recipe: needed = threshold x multiple x volume; diluted until the aliquot can be pipetted and the carrier is little.

    Raises ValueError for a compound that is refused.
    """
    because = refusal(compound)
    if because:
        raise ValueError(because)
    amount, words = threshold
    needed = amount * multiple * volume
    warnings: list[str] = []
    if stock.mass < settings.smallest_mass:
        warnings.append(
            say(
                "{mass:g} mg is less than an ordinary balance weighs well ({smallest_mass:g} mg): weigh more and dilute once more",
                mass=stock.mass,
                smallest_mass=settings.smallest_mass,
            )
        )
    steps = [
        Step(
            say(
                "Weigh {mass} mg ({purity:.0%} pure) and make up to {volume:g} mL in the carrier: stock 1.",
                mass=figure(stock.mass),
                purity=stock.purity,
                volume=stock.volume,
            ),
            say(
                "{strength} ug/mL = {strength_2}",
                strength=figure(stock.strength),
                strength_2=two_units(stock.strength * 1000),
            ),
        )
    ]
    strength, errors = stock.strength, [settings.balance_error / stock.mass, settings.flask_error]
    number = 1
    while 1000 * needed / strength < settings.smallest_volume:
        factor = next(
            (f for f in _STEPS if 1000 * needed / (strength / f) >= settings.smallest_volume), _STEPS[-1]
        )
        strength /= factor
        number += 1
        taken = 100 / factor
        steps.append(
            Step(
                say(
                    "Dilute stock {number} 1:{factor:g}: {taken:g} mL made up to 100 mL in the carrier: stock {number_2}.",
                    number=number - 1,
                    factor=factor,
                    taken=taken,
                    number_2=number,
                ),
                say(
                    "{strength} ug/mL = {strength_2}",
                    strength=figure(strength),
                    strength_2=two_units(strength * 1000),
                ),
            )
        )
        errors += [settings.pipette_error, settings.flask_error]
    aliquot = 1000 * needed / strength
    carrier = aliquot / 1000 / volume
    steps.append(
        Step(
            say(
                "Put {aliquot} uL of stock {number} into {volume:g} L of your own clean coffee or water.",
                aliquot=figure(aliquot),
                number=number,
                volume=volume,
            ),
            say(
                "{aliquot} mL; in the cup {needed}",
                aliquot=figure(aliquot / 1000),
                needed=two_units(needed / volume),
            ),
        )
    )
    errors += [settings.pipette_error, settings.water_error]
    if carrier > settings.most_carrier:
        warnings.append(
            say(
                "{carrier} mL of carrier a litre is more than {most_carrier:g}: it can be tasted itself; use a stronger stock",
                carrier=figure(carrier),
                most_carrier=settings.most_carrier,
            )
        )
    if "(memory)" in words:
        warnings.append(say("This threshold was written down from memory: confirm it before you rely on it."))
    warnings.append(say("Put the same amount of the same carrier into the blank."))
    if compound.handling == "food_grade_with_care":
        warnings.append(
            compound.handling_note or say("Handle with more care than the others: see its safety sheet.")
        )
    elif compound.handling_note:
        warnings.append(compound.handling_note)
    warnings.append(
        say(
            "A threshold in water is not one in coffee: try it in your own coffee before the session and write down the hits."
        )
    )
    tag = say(
        "{label} | {needed} | stock {number} | batch ____ | made on ____ by ____ | use by ____ | food grade, do not swallow",
        label=compound.label,
        needed=two_units(needed / volume),
        number=number,
    )
    return Card(
        compound.id,
        compound.label,
        note,
        amount,
        words,
        multiple,
        volume,
        needed,
        tuple(steps),
        carrier,
        relative_error(errors),
        tuple(warnings),
        settings.cautions,
        tag,
    )
