"""A blind set on the tasters' own devices: the references of a table, and what was said of them against what they held."""

from __future__ import annotations

import datetime
import random
from collections.abc import Mapping, Sequence

from tracer.casebook.table_facts import MARKS, SampleFacts, TableFacts
from tracer.casebook.tasting import Said, Tasted
from tracer.issues import Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.panel.blind import BLANK, Sample
from tracer.panel.order import williams
from tracer.panel.scoring import Served, understood
from tracer.panel.session import Scored
from tracer.wording.sentence import say
from tracer.words.vocabulary import Vocabulary


def set_facts(
    name: str,
    on: datetime.date,
    samples: Sequence[Sample],
    blanks: int,
    repeats: int,
    smell_only: bool,
    seed: int,
) -> TableFacts:
    """A blind set as a flight: references, hidden blanks and repeats in an order that the seed draws, one cup of each.

    Samples that are served last stand behind the others. Raises ValueError for more cups than there are marks.
    """
    if not samples:
        raise ValueError(say("there is nothing to serve"))
    draw = random.Random(seed)
    repeats = min(repeats, len(samples))
    if len(samples) + blanks + repeats > len(MARKS):
        raise ValueError(
            say(
                "{count} cups are more than the {most} of one set",
                count=len(samples) + blanks + repeats,
                most=len(MARKS),
            )
        )
    served: list[Sample | None] = [*samples, *([None] * blanks)]
    again = draw.sample(range(len(samples)), repeats)
    order = [(place, False) for place in range(len(served))] + [(place, True) for place in again]
    draw.shuffle(order)
    order.sort(key=lambda one: (found := served[one[0]]) is not None and found.last)
    first = {place: at for at, (place, twin) in enumerate(order) if not twin}
    flight = [_facts(served[place], first[place] if twin else None) for place, twin in order]
    return TableFacts(lot=name, on=on, cups=1, flight=tuple(flight), smell_only=smell_only)


def _facts(sample: Sample | None, repeats: int | None) -> SampleFacts:
    if sample is None:
        return SampleFacts(kind="blank", lot=BLANK)
    if repeats is not None:
        return SampleFacts(kind="repeat", lot=sample.name, repeats=repeats, last=sample.last)
    held = {"notes": sample.notes, "multiple": sample.multiple, "last": sample.last}
    return SampleFacts.model_validate({"kind": "reference", "lot": sample.name, **held})


def own_order(facts: TableFacts, seat: int) -> tuple[int, ...]:
    """In which order a taster takes the cups: of a blind set a row of a Williams square, with what lingers last; else as they stand."""
    places = tuple(range(len(facts.samples)))
    if not facts.blind_set:
        return places
    early = [place for place in places if not facts.flight[place].last]
    late = [place for place in places if facts.flight[place].last]
    return (*_row(early, seat), *_row(late, seat))


def _row(places: Sequence[int], seat: int) -> tuple[int, ...]:
    if not places:
        return ()
    rows = williams(len(places))
    return tuple(places[place - 1] for place in rows[seat % len(rows)])


def scored_table(
    facts: TableFacts, code: str, said: Mapping[int, Said], base: KnowledgeBase, vocabulary: Vocabulary
) -> Scored:
    """What every taster said of every cup against what it held. A cup that nobody said anything of is no answer.

    Words that are not understood are set aside with a warning, as in a session on paper.
    """
    issues: list[Issue] = []
    served = []
    for place, one in enumerate(facts.flight):
        held = facts.flight[one.repeats] if one.repeats is not None else one
        for taster, tasted in said.get(place, ()):
            where = Place(f"{taster} {facts.mark(place)}")
            named = _named(tasted, base, vocabulary, where, issues)
            if named is not None:
                cup = f"{code}-{facts.mark(place)}"
                repeat = one.repeats is not None
                served.append(Served(taster, cup, held.lot, held.notes, tuple(named), held.multiple, repeat))
    return Scored(facts.lot, tuple(served), tuple(issues))


def _named(
    tasted: Tasted, base: KnowledgeBase, vocabulary: Vocabulary, where: Place, issues: list[Issue]
) -> list[str] | None:
    """Off-notes that a taster named in a cup; None where nothing was said of it or nothing of it understood."""
    if not tasted.notes and not (tasted.done or tasted.checked_all):
        return None
    spoken = (tasted.language,) if tasted.language else None
    found: list[str] = []
    open_words = False
    for note in tasted.notes:
        if not note.found:
            continue
        if note.means in base.descriptors:
            found.append(str(note.means))
            continue
        named = understood(note.words, vocabulary, where, issues, spoken)
        open_words = open_words or named is None
        found += named or ()
    return None if open_words and not found else list(dict.fromkeys(found))
