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
from tracer.wording.language import tell
from tracer.wording.sentence import Own, joined, say

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


def draft(
    reads: Iterable[Read], confirm: Iterable[str] = (), take_first: bool = False, least: float = 1.0
) -> Iterator[Drafted]:
    """Number the sentences and their proposals; confirm those named, or each first one that is sure or right with `least` probability."""
    wanted = set(confirm)
    for number, read in enumerate(reads, 1):
        offered = tuple(_offered(number, read))
        chosen = [
            one.proposal.id
            for one in offered
            if one.mark in wanted or (take_first and one.mark[-1].isalpha() and _taken(one.proposal, least))
        ]
        yield Drafted(number, read, offered, tuple(dict.fromkeys(chosen)))


def _taken(one: Proposal, least: float) -> bool:
    return one.sure or (one.right is not None and one.right >= least)


def _offered(number: int, read: Read) -> Iterator[Offered]:
    for place, statement in enumerate(read.statements[: len(LETTERS)]):
        for rank, proposal in enumerate(statement.proposals, 1):
            yield Offered(f"{number}{LETTERS[place]}{rank if rank > 1 else ''}", proposal)


def says(base: KnowledgeBase, proposal: Proposal) -> str:
    """What a proposal would put on the sheet, in one line."""
    p = proposal
    value = shown(p.amount, p.unit or "") if p.amount is not None else str(p.value).replace("_", " ")
    if p.kind == "record":
        record = base.records[p.target]
        return say("{label}: {value}", label=record.label, value=value)
    if p.kind == "answer":
        enquiry = base.enquiries[p.target]
        return say("answer to '{text}' {answers}", text=enquiry.text, answers=enquiry.answers[str(p.value)])
    if p.kind == "note":
        return say("off-note {label}{cups}", label=base.descriptors[p.target].label, cups=_cups(p))
    if p.kind == "contact":
        stage = say(", {label}", label=base.stages[p.stage].label.lower()) if p.stage in base.stages else ""
        return say(
            "contact: {label}, {nearness}{stage}",
            label=base.materials[p.target].label,
            nearness=str(p.value).replace("_", " "),
            stage=stage,
        )
    if p.kind == "laboratory":
        return say(
            "laboratory: {label} {value}",
            label=base.compounds[p.target].label,
            value=value if p.amount is not None else str(p.value).replace("_", " "),
        )
    if p.kind == "pattern":
        return say("pattern: {value!s} of the {target}", value=p.value, target=p.target.replace("_", " "))
    if p.kind == "comparison":
        return say(
            "compared: {target} shows {shows}",
            target=p.target.replace("_", " "),
            shows=str(p.value).replace("_", " "),
        )
    if p.kind == "sample":
        return say("speaks of the {target} sample", target=p.target.replace("_", " "))
    if p.kind == "normal":
        where = base.stages[p.target].label.lower() if p.target in base.stages else say("the lot")
        return say("nothing unusual: {where}", where=where)
    return say("{target}: {value}", target=p.target, value=value)


def _cups(p: Proposal) -> str:
    if p.note is None:
        return ""
    if p.value == "absent":
        return say(", not there")
    parts: list[str] = []
    if p.note.which:
        parts.append(say("cups {names}", names=joined(map(str, p.note.which))))
    elif p.note.cups is not None and p.note.cups >= 0:
        parts.append(
            say("{cups} of {of} cups", cups=p.note.cups, of=p.note.of)
            if p.note.of
            else say("{cups} cups", cups=p.note.cups)
        )
    elif p.note.cups is not None:
        parts.append(say("all cups"))
    if p.note.intensity != "unstated":
        parts.append(p.note.intensity)
    return say(" ({names})", names=joined(parts)) if parts else ""


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
    yield tell(
        "# Drafted from {source}. Beside each sentence stands what it may mean; nothing counts until it is confirmed:",
        source=Own(_plain(source)),
    )
    yield tell(
        "# put the id in brackets under confirmed: of its sentence, or run tracer draft again with --confirm and the mark (1a)."
    )
    yield _flow("lot", lot)
    taken = "first_unread" if unread else "one_by_one"
    yield f"drafted: {_inline({'from': source, 'on': on, 'taken': taken})}"
    yield "said:"
    for one in drafted:
        yield f"# {one.number}"
        for offered in one.offered:
            p = offered.proposal
            mark = " " if p.id not in one.confirmed else "x"
            said = [says(base, p), *[say("hearsay")] * p.hearsay, *[say("perhaps")] * (not p.sure)]
            told = _plain(tell(joined(said, "; ")))
            yield f"#  {mark} {offered.mark:<5} {told}  [{p.id}]"
        if not one.offered:
            yield tell("#    read only as text")
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
