"""Drill cards from the cause graph, and when each is due again (free spaced repetition scheduler)."""

from __future__ import annotations

import datetime
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracer.causes.graph import reaches
from tracer.issues import InputError
from tracer.knowledge.base import KnowledgeBase
from tracer.wording.sentence import Own, joined, say

CHOICES = 4


@dataclass(frozen=True, slots=True)
class DrillCard:
    """A question with one right answer among several."""

    id: str
    question: str
    answer: str
    choices: tuple[str, ...]
    explained: str


def drill_cards(base: KnowledgeBase, generator: random.Random) -> tuple[DrillCard, ...]:
    """Three kinds: from a note to its stage, from a fault to a note it makes, from two notes to how they differ."""
    return (*_stages(base, generator), *_faults(base, generator), *_pairs(base, generator))


def _choices(right: str, others: Iterable[str], generator: random.Random) -> tuple[str, ...]:
    rest = sorted(set(others) - {right})
    chosen = [right, *generator.sample(rest, min(CHOICES - 1, len(rest)))]
    generator.shuffle(chosen)
    return tuple(chosen)


def _stages(base: KnowledgeBase, generator: random.Random) -> Iterable[DrillCard]:
    """Notes that come from one stage alone, so that the answer is not a matter of opinion."""
    sources: dict[str, set[str]] = {}
    faults: dict[str, list[str]] = {}
    for fault in base.faults.values():
        for note in reaches(base, fault.id):
            sources.setdefault(note, set()).add(fault.stage)
            faults.setdefault(note, []).append(fault.label)
    for note, stages in sources.items():
        if len(stages) == 1:
            right = base.stages[next(iter(stages))].label
            yield DrillCard(
                f"stage:{note}",
                say('At which stage does "{label}" begin?', label=base.descriptors[note].label),
                right,
                _choices(right, (s.label for s in base.stages.values()), generator),
                say(
                    "{label}: this lot may have been {names}.",
                    label=base.descriptors[note].label,
                    names=joined(faults[note][:3], ", or "),
                ),
            )


def _faults(base: KnowledgeBase, generator: random.Random) -> Iterable[DrillCard]:
    for fault in base.faults.values():
        made = reaches(base, fault.id)
        own = [
            note
            for note in made
            if any(note in {n.descriptor for n in base.compounds[c].evokes} for c in made[note])
        ]
        if not own:
            continue
        right = base.descriptors[own[0]].label
        others = (d.label for d in base.descriptors.values() if d.id not in made)
        yield DrillCard(
            f"fault:{fault.id}",
            say("A lot was {label}. Which note does it make?", label=fault.label),
            right,
            _choices(right, others, generator),
            fault.definition,
        )


def _pairs(base: KnowledgeBase, generator: random.Random) -> Iterable[DrillCard]:
    every = [(d, c) for d in base.descriptors.values() for c in d.not_to_confuse]
    tells = [c.tell_apart for _, c in every]
    for descriptor, confusion in every:
        other = base.descriptors[confusion.descriptor]
        yield DrillCard(
            f"pair:{descriptor.id}:{other.id}",
            say('How do you tell "{label}" from "{label_2}"?', label=descriptor.label, label_2=other.label),
            confusion.tell_apart,
            _choices(confusion.tell_apart, tells, generator),
            say("{label}: {definition}", label=descriptor.label, definition=descriptor.definition),
        )


def case_cards(base: KnowledgeBase, generator: random.Random) -> Iterable[DrillCard]:
    """Published cases without their truth: at which stage was the source, and what was it; the source's own answer counts."""
    cases = [
        case for case in base.precedents.values() if case.truth.stage in base.stages and not case.gives_away
    ]
    causes = [case.truth.fault for case in cases]
    stages = [stage.label for stage in base.stages.values()]
    for case in cases:
        record, source = case.record, case.source
        coffee = joined(one for one in (record.species, record.process, record.origin) if one)
        lines = (
            say(
                "Notes: {value}{value_2}.",
                value=joined(record.notes) or say("none told"),
                value_2=f" ({coffee})" if coffee else "",
            ),
            *map(Own, record.sentences),
        )
        told = joined(lines, "\n   ")
        stage = base.stages[case.truth.stage].label
        where = joined(filter(None, (source.authors, str(source.year or source.when or ""), source.title)))
        explained = say("{stage}: {fault}. {where}.", stage=stage, fault=case.truth.fault, where=where)
        for kind, asked, right, others in (
            ("stage", say("At which stage was its source?"), stage, stages),
            ("cause", say("What was it traced to?"), case.truth.fault, causes),
        ):
            yield DrillCard(
                f"case:{case.id}:{kind}",
                say("A published case. {asked}\n   {told}", asked=asked, told=told),
                right,
                _choices(right, others, generator),
                explained,
            )


def due_cards(
    cards: Sequence[DrillCard],
    answered: Iterable[tuple[datetime.datetime, str, bool]],
    now: datetime.datetime,
    target: float,
) -> tuple[tuple[DrillCard, datetime.datetime | None], ...]:
    """Cards due now, longest overdue first, then those never asked (due None). Later ones are left out.

    Every card's memory is worked out anew from its answers, so that only answers are kept. Raises InputError where
    the package that schedules them is not installed.
    """
    try:
        from fsrs import Card, Rating, Scheduler
    except ImportError:
        message = say("the drill needs one more package")
        raise InputError.of(
            "drill", message, say("pip install 'coffee-tracer[panel]', then again.")
        ) from None

    scheduler = Scheduler(desired_retention=target, enable_fuzzing=False)
    memory: dict[str, Card] = {}
    for at, identity, right in answered:
        card = memory.get(identity) or Card(card_id=len(memory) + 1, due=at)
        memory[identity], _ = scheduler.review_card(card, Rating.Good if right else Rating.Again, at)
    due = [(card, memory[card.id].due) for card in cards if card.id in memory and memory[card.id].due <= now]
    due.sort(key=lambda pair: pair[1])
    return (*due, *((card, None) for card in cards if card.id not in memory))


KINDS = ("stage", "fault", "pair", "case")


def queue(
    base: KnowledgeBase,
    person: str,
    answered: Iterable[tuple[datetime.datetime, str, bool]],
    now: datetime.datetime,
    kind: str | None = None,
) -> tuple[tuple[DrillCard, datetime.datetime | None], ...]:
    """What a person is asked today, due cards first; the same order and choices all day.

    Published cases are many and long, and come only where they are asked for.
    """
    generator = random.Random(f"{person} {now.date()}")
    made = case_cards(base, generator) if kind == "case" else drill_cards(base, generator)
    cards = [card for card in made if kind is None or card.id.startswith(f"{kind}:")]
    generator.shuffle(cards)
    return due_cards(cards, answered, now, base.settings.panel.drill_target)
