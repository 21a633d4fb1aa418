"""A message -> a lot sheet with what each sentence may mean beside it; nothing counts until it is confirmed."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import yaml

from tracer.amounts import shown
from tracer.knowledge.base import KnowledgeBase
from tracer.sentences.proposal import Proposal, Read

LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, slots=True)
class Offered:
    """A proposal under the mark it is confirmed by: 3a, or 3a2 for a rival of 3a."""

    mark: str
    proposal: Proposal


@dataclass(frozen=True, slots=True)
class Drafted:
    """A sentence, what is offered for it, and the ids confirmed."""

    number: int
    read: Read
    offered: tuple[Offered, ...]
    confirmed: tuple[str, ...]


def draft(reads: Iterable[Read], confirm: Iterable[str] = (), take_first: bool = False) -> Iterator[Drafted]:
    """Number the sentences and their proposals; confirm those named, or each first one that is sure."""
    wanted = set(confirm)
    for number, read in enumerate(reads, 1):
        offered = tuple(_offered(number, read))
        chosen = [
            one.proposal.id
            for one in offered
            if one.mark in wanted or (take_first and one.mark[-1].isalpha() and one.proposal.sure)
        ]
        yield Drafted(number, read, offered, tuple(dict.fromkeys(chosen)))


def _offered(number: int, read: Read) -> Iterator[Offered]:
    for place, statement in enumerate(read.statements[: len(LETTERS)]):
        for rank, proposal in enumerate(statement.proposals, 1):
            yield Offered(f"{number}{LETTERS[place]}{rank if rank > 1 else ''}", proposal)


def says(base: KnowledgeBase, proposal: Proposal) -> str:
    """What a proposal would put on the sheet, in one line."""
    p = proposal
    value = shown(p.amount, p.unit or "") if p.amount is not None else str(p.value)
    if p.kind == "record":
        record = base.records[p.target]
        return f"{record.label}: {value}"
    if p.kind == "answer":
        enquiry = base.enquiries[p.target]
        return f"answer to '{enquiry.text}' {enquiry.answers[str(p.value)]}"
    if p.kind == "note":
        return f"off-note {base.descriptors[p.target].label}{_cups(p)}"
    if p.kind == "contact":
        stage = f", {base.stages[p.stage].label.lower()}" if p.stage in base.stages else ""
        return f"contact: {base.materials[p.target].label}, {str(p.value).replace('_', ' ')}{stage}"
    if p.kind == "laboratory":
        return f"laboratory: {base.compounds[p.target].label} {value if p.amount is not None else str(p.value).replace('_', ' ')}"
    if p.kind == "pattern":
        return f"pattern: {p.value!s} of the {p.target.replace('_', ' ')}"
    if p.kind == "comparison":
        return f"compared: {p.target.replace('_', ' ')} shows {str(p.value).replace('_', ' ')}"
    if p.kind == "sample":
        return f"speaks of the {p.target.replace('_', ' ')} sample"
    if p.kind == "normal":
        where = base.stages[p.target].label.lower() if p.target in base.stages else "the lot"
        return f"nothing unusual: {where}"
    return f"{p.target}: {value}"


def _cups(p: Proposal) -> str:
    if p.note is None:
        return ""
    if p.value == "absent":
        return ", not there"
    parts = []
    if p.note.which:
        parts.append(f"cups {', '.join(map(str, p.note.which))}")
    elif p.note.cups is not None and p.note.cups >= 0:
        parts.append(f"{p.note.cups} of {p.note.of} cups" if p.note.of else f"{p.note.cups} cups")
    elif p.note.cups is not None:
        parts.append("all cups")
    if p.note.intensity != "unstated":
        parts.append(p.note.intensity)
    return f" ({', '.join(parts)})" if parts else ""


def sheet_lines(
    drafted: Iterable[Drafted],
    base: KnowledgeBase,
    lot: str,
    source: str,
    by: str,
    on: datetime.date,
    unread: bool,
) -> Iterator[str]:
    """The sheet, a line at a time: each sentence under `said:`, its proposals beside it."""
    yield f"# Drafted from {_plain(source)}. Beside each sentence stands what it may mean; nothing counts until it is confirmed:"
    yield "# put the id in brackets under confirmed: of its sentence, or run tracer draft again with --confirm and the mark (1a)."
    yield _flow("lot", lot)
    taken = "first_unread" if unread else "one_by_one"
    yield f"drafted: {_inline({'from': source, 'on': on, 'taken': taken})}"
    yield "said:"
    for one in drafted:
        yield f"# {one.number}"
        for offered in one.offered:
            p = offered.proposal
            mark = " " if p.id not in one.confirmed else "x"
            told = f"{_plain(says(base, p))}{'; hearsay' if p.hearsay else ''}{'' if p.sure else '; perhaps'}"
            yield f"#  {mark} {offered.mark:<5} {told}  [{p.id}]"
        if not one.offered:
            yield "#    read only as text"
        entry = {
            "by": by,
            "language": one.read.language,
            "text": one.read.text,
            "confirmed": list(one.confirmed),
        }
        yield f"  - {_inline(entry)}"


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def _inline(data: object) -> str:
    text = yaml.safe_dump(data, default_flow_style=True, allow_unicode=True, width=10**9, sort_keys=False)
    return str(text).strip()


def _flow(name: str, value: str) -> str:
    return str(yaml.safe_dump({name: value}, allow_unicode=True, width=10**9)).strip()
