"""From a note in any language, or a compound, to its reference card or the reasons why there is none."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tracer.causes.browse import find_term
from tracer.issues import InputError
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.compound import Compound
from tracer.names import did_you_mean, printable
from tracer.panel.amounts import AmountError, per_litre
from tracer.panel.cards import Card, Refusal, candidates, card, refusal, threshold_of
from tracer.panel.weighing import Stock, suitable_mass
from tracer.wording.sentence import Own, say


@dataclass(frozen=True, slots=True)
class CardRequest:
    """What a trainer asks for; volume in L, mass in mg, purity 0 to 1, flask in mL. None takes what suits."""

    note: str
    volume: float = 1.0
    times: float | None = None
    compound: str | None = None
    threshold: str | None = None
    mass: float | None = None
    purity: float = 0.98
    flask: float = 100.0


@dataclass(frozen=True, slots=True)
class CardAnswer:
    """The card, or None; what is refused and why; other compounds that could be prepared."""

    note: str
    stop: bool
    card: Card | None
    refused: tuple[Refusal, ...]
    others: tuple[str, ...] = ()


def card_for(base: KnowledgeBase, request: CardRequest) -> CardAnswer:
    """The reference card of a note. Raises InputError for a word that names nothing and for amounts that cannot be."""
    found = find_term(base, request.note)
    if found is None or found[0] not in ("descriptors", "compounds"):
        remedy = did_you_mean(
            request.note, base.descriptors, say("See the notes of a stage with: tracer show STAGE")
        )
        raise InputError.of("NOTE", say("'{note}' is no off-note and no compound", note=request.note), remedy)
    kind, identity = found
    refused: list[Refusal] = []
    others: tuple[str, ...] = ()
    stop = False
    if kind == "compounds":
        links = base.compounds[base.node(identity)].evokes
        label = base.descriptors[links[0].descriptor].label if links else base.compounds[identity].label
        chosen = _named(base, identity)
    else:
        label, stop = base.descriptors[identity].label, base.descriptors[identity].stop_tasting
        allowed, refused = candidates(base, identity)
        if request.compound is not None:
            chosen = _named(base, request.compound)
        elif not allowed:
            return CardAnswer(label, stop, None, tuple(refused))
        else:
            chosen, others = allowed[0], tuple(one.id for one in allowed[1:])
    made = _made(base, request, chosen, label)
    return CardAnswer(label, stop, made, tuple(refused), others)


def _named(base: KnowledgeBase, identity: str) -> Compound:
    compound = base.compounds.get(identity)
    if compound is None:
        remedy = did_you_mean(
            identity, base.compounds, say("See the compounds of a note with: tracer show NOTE")
        )
        raise InputError.of(
            "--compound", say("'{compound}' is no compound of the knowledge base", compound=identity), remedy
        )
    because = refusal(compound)
    if because:
        remedy = say("Choose another, or train on real coffee.")
        raise InputError.of(
            "--compound",
            say("{compound} is not prepared: {because}", compound=compound.label, because=because),
            remedy,
        )
    return compound


def _made(base: KnowledgeBase, request: CardRequest, chosen: Compound, label: str) -> Card:
    try:
        amount = (
            (
                per_litre(request.threshold),
                say("your own threshold: {threshold}", threshold=Own(printable(request.threshold))),
            )
            if request.threshold
            else threshold_of(chosen)
        )
    except AmountError as error:
        raise InputError.of("--threshold", error.message, error.remedy) from None
    if amount is None:
        remedy = say("Give one with --threshold, and its source at hand.")
        raise InputError.of(
            "NOTE",
            say("no threshold in water or coffee is known for {compound}", compound=chosen.label),
            remedy,
        )
    settings = base.settings.panel
    times = request.times or settings.multiple
    stock = Stock(request.mass or 10.0, request.purity, request.flask)
    if request.mass is None:
        needed = amount[0] * times * request.volume
        stock = replace(stock, mass=suitable_mass(needed, request.volume, stock, settings))
    return card(chosen, label, amount, times, request.volume, stock, settings)
