"""Sentences under `said:` -> proposals, which count only once confirmed; and the lot with what was confirmed."""

from __future__ import annotations

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


@dataclass(frozen=True, slots=True)
class Spoken:
    """A proposal with the sentence and the person it comes from."""

    said: Said
    read: Read
    proposal: Proposal
    rank: int

    @property
    def state(self) -> str:
        """open, confirmed or declined."""
        if self.proposal.id in self.said.confirmed:
            return "confirmed"
        return "declined" if self.proposal.id in self.said.declined else "open"


def spoken(lot: Lot, reader: SentenceReader) -> tuple[tuple[Spoken, ...], tuple[tuple[Said, Read], ...]]:
    """Every proposal for the sentences of a lot, and the sentences that were read only as text."""
    found: list[Spoken] = []
    unread: list[tuple[Said, Read]] = []
    for said in lot.said:
        for read in reader.message(said.text, said.language):
            if not read.statements:
                unread.append((said, read))
            for statement in read.statements:
                for rank, proposal in enumerate(statement.proposals, 1):
                    found.append(Spoken(said, read, proposal, rank))
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
    missing = [(said, name) for said in lot.said for name in said.confirmed if (id(said), name) not in confirmed]
    if not confirmed and not missing:
        return lot
    by_said = {id(said): said for said in lot.said}
    records = {one.record for one in lot.records if one.value is not None or one.amount is not None}
    answers = dict(lot.answers)
    rows: list[RecordValue] = []
    patterns, comparisons, contacts, normal = list(lot.pattern), list(lot.comparisons), list(lot.contact), list(lot.normal)
    laboratory = list(lot.laboratory)
    cuppings: dict[tuple[int, str], list[Spoken]] = {}
    for (key, _), one in confirmed.items():
        said, p = by_said[key], one.proposal
        if p.kind == "record" and p.target not in records and p.target not in {row.record for row in rows}:
            rows.append(_record(one))
        elif p.kind == "answer":
            answers.setdefault(p.target, str(p.value))
        elif p.kind == "pattern":
            patterns.append(Pattern(p.target, str(p.value), None, said.place))
        elif p.kind == "comparison":
            comparisons.append(Comparison(p.target, str(p.value), None, None, said.by, said.place))
        elif p.kind == "contact":
            label = base.materials[p.target].label if p.target in base.materials else p.target
            contacts.append(Contact(p.target, label, p.stage, str(p.value), None, None, said.by, said.place))
        elif p.kind == "normal":
            normal.append(Normal(p.target, said.place))
        elif p.kind == "laboratory":
            laboratory.append(_result(one))
        elif p.kind == "note":
            sample = next(
                (other.proposal.target for (k, _), other in confirmed.items() if k == key and other.proposal.kind == "sample"),
                "unknown",
            )
            cuppings.setdefault((key, sample), []).append(one)
    for said, name in missing:
        phrase = base.phrases.get(name)
        if phrase is not None and phrase.record is not None and phrase.value is not None and phrase.record not in records:
            rows.append(_unproposed(said, phrase))
    return replace(
        lot,
        records=(*lot.records, *rows),
        answers=tuple(answers.items()),
        pattern=tuple(patterns),
        comparisons=tuple(comparisons),
        contact=tuple(contacts),
        normal=tuple(normal),
        laboratory=tuple(laboratory),
        cuppings=(*lot.cuppings, *(_cupping(by_said[key], sample, rest) for (key, sample), rest in cuppings.items())),
    )


def _confirmed(found: Iterable[Spoken]) -> dict[tuple[int, str], Spoken]:
    kept: dict[tuple[int, str], Spoken] = {}
    for one in found:
        if one.state == "confirmed":
            kept.setdefault((id(one.said), one.proposal.id), one)
    return kept


def _from(said: Said, sentence: str) -> str:
    on = f", {said.on}" if said.on else ""
    return f"said by {said.by}{on}: '{sentence}'"


def _record(one: Spoken) -> RecordValue:
    p = one.proposal
    amount = p.amount if p.amount is not None and not p.amount.exact else None
    value = p.amount.best if p.amount is not None else p.value
    return RecordValue(p.target, value, _from(one.said, one.read.text), one.said.place, amount, (), True)


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


def _cupping(said: Said, sample: str, found: Iterable[Spoken]) -> Cupping:
    notes, absent = [], []
    for one in found:
        heard = one.proposal.note
        note = Note(
            heard.words if heard else one.proposal.target,
            heard.cups if heard else None,
            heard.of if heard else None,
            heard.intensity if heard and heard.intensity != "unstated" else None,
            None,
            said.place,
            one.proposal.target,
            heard.which if heard else (),
        )
        (absent if one.proposal.value == "absent" else notes).append(note)
    tasting = Tasting(said.by, said.language, None, tuple(notes), tuple(absent), False, said.place)
    return Cupping(said.on, sample, None, None, (tasting,), None, said.place)
