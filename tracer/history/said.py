"""Sentences under `said:` -> proposals, which count only once confirmed; and the lot with what was confirmed."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace

from tracer.amounts import shown
from tracer.history.history import Proposed
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.phrase import Phrase
from tracer.lots.lot import (
    Comparison,
    Contact,
    Cupping,
    LaboratoryResult,
    Lot,
    Normal,
    Note,
    Pattern,
    RecordValue,
    Said,
    Tasting,
)
from tracer.sentences.proposal import Proposal, Read
from tracer.sentences.reader import SentenceReader
from tracer.wording.sentence import say


@dataclass(frozen=True, slots=True)
class Spoken:
    """A proposal with the sentence and the person it comes from."""

    said: Said
    read: Read
    proposal: Proposal
    rank: int
    rivals: tuple[str, ...] = ()
    """Ids of all that the same words may mean."""

    @property
    def state(self) -> str:
        """open, confirmed or declined; passed_over where another meaning of the same words is confirmed."""
        if self.proposal.id in self.said.confirmed:
            return "confirmed"
        if self.proposal.id in self.said.declined:
            return "declined"
        return "passed_over" if set(self.rivals) & set(self.said.confirmed) else "open"


def spoken(lot: Lot, reader: SentenceReader) -> tuple[tuple[Spoken, ...], tuple[tuple[Said, Read], ...]]:
    """Every proposal for the sentences of a lot, and the sentences that were read only as text."""
    found: list[Spoken] = []
    unread: list[tuple[Said, Read]] = []
    for said in lot.said:
        for read in reader.message(said.text, said.language, said.on or lot.drafted_on):
            if not read.statements:
                unread.append((said, read))
            for statement in read.statements:
                rivals = tuple(one.id for one in statement.proposals)
                for rank, proposal in enumerate(statement.proposals, 1):
                    found.append(Spoken(said, read, proposal, rank, rivals))
    return tuple(found), tuple(unread)


def proposed(found: Iterable[Spoken]) -> tuple[Proposed, ...]:
    """Proposals as the history shows them."""
    return tuple(
        Proposed(
            one.proposal.id,
            one.proposal.target,
            value_of(one.proposal),
            one.read.text,
            one.said.by,
            str(one.said.on) if one.said.on else None,
            one.state,
            str(one.said.place),
            one.proposal.kind,
            one.rank,
            one.proposal.hearsay,
        )
        for one in found
    )


def value_of(proposal: Proposal) -> float | str:
    """What a proposal says, as plain data."""
    if proposal.amount is not None and proposal.amount.exact and proposal.amount.best is not None:
        return round(proposal.amount.best, 3)
    if proposal.amount is not None:
        return shown(proposal.amount, proposal.unit or "")
    return proposal.value if proposal.value is not None else "yes"


def taken(lot: Lot, found: Iterable[Spoken], base: KnowledgeBase) -> Lot:
    """The lot with everything confirmed in its place; where the sheet itself says something, the sheet counts."""
    confirmed = _confirmed(found)
    missing = [
        (said, name) for said in lot.said for name in said.confirmed if (id(said), name) not in confirmed
    ]
    if not confirmed and not missing:
        return lot
    sheet = _Taken(lot, base)
    for one in sorted(confirmed.values(), key=lambda found: -found.proposal.score):
        sheet.take(one)
    for said, name in missing:
        phrase = base.phrases.get(name)
        if phrase is not None and phrase.record is not None and phrase.value is not None:
            sheet.row(_unproposed(said, phrase))
    return sheet.lot_with(_cuppings(confirmed.values()))


class _Taken:
    """A lot sheet being filled in from sentences; where it already says something, that stays."""

    def __init__(self, lot: Lot, base: KnowledgeBase) -> None:
        self.lot, self.base = lot, base
        self.taken = {one.record for one in lot.records if one.value is not None or one.amount is not None}
        self.rows = list(lot.records)
        self.answers = dict(lot.answers)
        self.patterns, self.comparisons = list(lot.pattern), list(lot.comparisons)
        self.contacts, self.normal = list(lot.contact), list(lot.normal)
        self.laboratory, self.declared = list(lot.laboratory), list(lot.declared)
        self.process, self.species, self.origin = lot.process, lot.species, lot.origin

    def row(self, row: RecordValue) -> None:
        if row.record not in self.taken:
            self.taken.add(row.record)
            self.rows.append(row)

    def take(self, one: Spoken) -> None:
        said, p = one.said, one.proposal
        if p.kind == "record":
            self.row(_record(one))
        elif p.kind == "answer":
            self.answers.setdefault(p.target, str(p.value))
        elif p.kind == "pattern":
            self.patterns.append(Pattern(p.target, str(p.value), None, said.place))
        elif p.kind == "comparison":
            self.comparisons.append(Comparison(p.target, str(p.value), None, None, said.by, said.place))
        elif p.kind == "contact":
            label = self.base.materials[p.target].label if p.target in self.base.materials else p.target
            self.contacts.append(
                Contact(p.target, label, p.stage, str(p.value), None, None, said.by, said.place)
            )
        elif p.kind == "normal":
            self.normal.append(Normal(p.target, said.place))
        elif p.kind == "laboratory":
            self.laboratory.append(_result(one))
        elif p.kind == "lot" and p.target == "declared":
            self.declared += [] if str(p.value) in self.declared else [str(p.value)]
        elif p.target == "process":
            self.process = self.process or str(p.value)
        elif p.target == "species":
            self.species = self.species or str(p.value)
        elif p.target == "origin":
            self.origin = self.origin or str(p.value)

    def lot_with(self, cuppings: tuple[Cupping, ...]) -> Lot:
        return replace(
            self.lot,
            records=tuple(self.rows),
            answers=tuple(self.answers.items()),
            pattern=tuple(self.patterns),
            comparisons=tuple(self.comparisons),
            contact=tuple(self.contacts),
            normal=tuple(self.normal),
            laboratory=tuple(self.laboratory),
            declared=tuple(self.declared),
            cuppings=(*self.lot.cuppings, *cuppings),
            process=self.process,
            species=self.species,
            origin=self.origin,
        )


def _cuppings(confirmed: Iterable[Spoken]) -> tuple[Cupping, ...]:
    """One table a sample and person, of the notes confirmed; a sentence that names its sample says which."""
    confirmed = tuple(confirmed)
    samples = {id(one.said): one.proposal.target for one in confirmed if one.proposal.kind == "sample"}
    tables: dict[tuple[str, str], list[Spoken]] = {}
    for one in confirmed:
        if one.proposal.kind == "note":
            tables.setdefault((samples.get(id(one.said), "unknown"), one.said.by), []).append(one)
    return tuple(_cupping(sample, found) for (sample, _), found in tables.items())


def _confirmed(found: Iterable[Spoken]) -> dict[tuple[int, str], Spoken]:
    kept: dict[tuple[int, str], Spoken] = {}
    for one in found:
        if one.state == "confirmed":
            kept.setdefault((id(one.said), one.proposal.id), one)
    return kept


def _from(said: Said, sentence: str) -> str:
    on = say(", {on}", on=said.on) if said.on else ""
    return say("said by {by}{on}: '{sentence}'", by=said.by, on=on, sentence=sentence)


def _record(one: Spoken) -> RecordValue:
    p = one.proposal
    amount = p.amount if p.amount is not None and not p.amount.exact else None
    value: float | str | datetime.date | None = p.amount.best if p.amount is not None else p.value
    if p.day is not None:
        value = p.day
    written = _from(one.said, one.read.text)
    return RecordValue(p.target, value, written, one.said.place, amount, (), True, p.right)


def _unproposed(said: Said, phrase: Phrase) -> RecordValue:
    """Confirmed by hand although the words are read otherwise: the hand counts."""
    return RecordValue(str(phrase.record), phrase.value, _from(said, said.text), said.place, None, (), True)


def _result(one: Spoken) -> LaboratoryResult:
    p = one.proposal
    exact = p.amount is not None and p.amount.exact
    return LaboratoryResult(
        p.target,
        p.amount.best if exact and p.amount is not None else None,
        p.unit,
        None,
        None,
        str(p.value) if p.value is not None else None,
        one.said.place,
        None if exact else p.amount,
    )


def _cupping(sample: str, found: list[Spoken]) -> Cupping:
    said = found[0].said
    notes: dict[str, Note] = {}
    absent: dict[str, Note] = {}
    for one in found:
        heard = one.proposal.note
        note = Note(
            heard.words if heard else one.proposal.target,
            heard.cups if heard else None,
            heard.of if heard else None,
            heard.intensity if heard and heard.intensity != "unstated" else None,
            None,
            one.said.place,
            one.proposal.target,
            heard.which if heard else (),
        )
        (absent if one.proposal.value == "absent" else notes).setdefault(one.proposal.target, note)
    gone = tuple(note for name, note in absent.items() if name not in notes)
    tasting = Tasting(said.by, said.language, None, tuple(notes.values()), gone, False, said.place)
    return Cupping(said.on, sample, None, None, (tasting,), None, said.place)
