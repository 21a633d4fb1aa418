"""How a sheet was understood, told before it is traced: words, sentences, and what will move nothing."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.findings.gathered import Gathered
from tracer.issues import Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.observed import Asked
from tracer.names import did_you_mean, printable
from tracer.report.not_weighed import not_weighed
from tracer.wording.language import tell
from tracer.wording.sentence import Own, joined, say, to_type


def remarks(base: KnowledgeBase, gathered: Gathered) -> list[Issue]:
    """Notes on a sheet, each with what to do; none of them stops the work."""
    found = [
        *_words(base, gathered),
        *_sentences(gathered),
        *_styles(base, gathered),
        *_quarrels(gathered),
        *_unweighed(base, gathered),
    ]
    return sorted(found)


def _words(base: KnowledgeBase, gathered: Gathered) -> Iterator[Issue]:
    heard = gathered.heard
    for word in (*heard.asked, *heard.asked_elsewhere, *heard.asked_beside):
        names = [base.descriptors[name].label for name in word.candidates if name in base.descriptors]
        stop = any(
            base.descriptors[name].stop_tasting for name in word.candidates if name in base.descriptors
        )
        text = printable(word.words)
        if word.outcome == "unknown":
            near = [base.descriptors[name].label for name in word.suggestions if name in base.descriptors]
            remedy = say("Near it: {near}. ", near=joined(near)) if near else ""
            remedy += say(
                "It does not count. Ask the taster for another word, or add means: and the id of the note."
            )
            yield Issue(word.place, say("'{text}' is no word known here", text=text), remedy, "note")
        else:
            remedy = say(
                "{question} Write means: {word}, or means: innocent.",
                question=word.question,
                word=_options(word),
            )
            told = say(
                "'{text}' may mean {names}, and is weighed by what tasters mean by it until this one says which",
                text=text,
                names=joined(names),
            )
            if stop:
                told += say("; stop tasting until it is settled")
            yield Issue(word.place, told, remedy, "note")
    for one in heard.understood:
        label = base.descriptors[one.descriptor].label if one.descriptor in base.descriptors else ""
        taken = (
            say("'{taken_for}' ({label})", taken_for=one.taken_for, label=label) if one.taken_for else label
        )
        told = say("'{words}' is read as {taken}", words=printable(one.words), taken=taken)
        remedy = say("Write it so, or add means: if something else is meant.")
        if one.others:
            told = say(
                "'{words}' is read by its usual meaning, {label}", words=printable(one.words), label=label
            )
            others = to_type((name for name in one.others if name != one.descriptor), " or ")
            remedy = say(
                "If the taster means something else, add means: {value}, or innocent.",
                value=others or Own("innocent"),
            )
        yield Issue(one.place, told, remedy, "note")


def _options(word: Asked) -> str:
    return to_type(word.candidates[:4], " or ")


def _sentences(gathered: Gathered) -> Iterator[Issue]:
    for said, read in gathered.text_only:
        message = say("the sentence '{text}' is read only as text", text=printable(read.text))
        yield Issue(said.place, message, say("If it matters, put it on its row of the sheet."), "note")
    shown: set[str] = set()
    for one in gathered.said:
        if one.state == "open" and one.rank == 1 and one.read.text not in shown:
            shown.add(one.read.text)
            message = say("the sentence '{text}' is not confirmed", text=printable(one.read.text))
            remedy = say(
                "If it says so, put confirmed: [{id}]; all proposals: tracer history LOT",
                id=Own(one.proposal.id),
            )
            yield Issue(one.said.place, message, remedy, "note")


def _styles(base: KnowledgeBase, gathered: Gathered) -> Iterator[Issue]:
    known = {
        condition.record.removeprefix("declared_")
        for rule in base.rules.values()
        for condition in (*(rule.when.all or ()), *(rule.when.any or ()))
        if condition.record and condition.record.startswith("declared_")
    }
    for fact in gathered.facts:
        name = fact.name.removeprefix("declared_")
        if name != fact.name and name not in known:
            remedy = did_you_mean(
                name,
                known,
                say("Known: {names}. It is kept and moves nothing.", names=to_type(sorted(known))),
            )
            yield Issue(
                Place(gathered.lot.file),
                say("the style '{name}' is not known here", name=printable(name)),
                remedy,
                "note",
            )


def _quarrels(gathered: Gathered) -> Iterator[Issue]:
    for doubt in gathered.history.doubts:
        yield Issue(Place(gathered.lot.file), doubt, say("Ask which is right, and keep that one."), "note")
    rows = {row.record: row for row in gathered.lot.records if row.value is not None and not row.said}
    for row in gathered.lot.records:
        if len({one.written for one in row.witnesses}) > 1 and row.value is None:
            yield Issue(
                row.place,
                say("witnesses contradict each other: {written}", written=printable(row.written)),
                say("Nothing counts until it is settled."),
                "note",
            )
    for one in gathered.said:
        held = rows.get(one.proposal.target) if one.proposal.kind == "record" else None
        if (
            held is not None
            and one.state == "open"
            and one.rank == 1
            and one.proposal.sure
            and one.proposal.value != held.value
            and one.proposal.amount is None
        ):
            message = say(
                "the sheet says {record}: {written}, but '{text}' seems to say {value}",
                record=held.record,
                written=printable(held.written),
                text=printable(one.read.text),
                value=one.proposal.value,
            )
            yield Issue(held.place, message, say("Ask which is right, and keep that one."), "note")


def _unweighed(base: KnowledgeBase, gathered: Gathered) -> Iterator[Issue]:
    for one in not_weighed(base, gathered):
        if one.kind != "said":
            because = tell(one.because)
            yield Issue(
                _place(one.place),
                say("not weighed: {what}", what=printable(one.what)),
                because[:1].upper() + because[1:] + ".",
                "note",
            )


def _place(text: str) -> Place:
    file, *rest = text.rsplit(":", 2)
    return (
        Place(file, int(rest[0]), int(rest[1]))
        if len(rest) == 2 and all(r.isdigit() for r in rest)
        else Place(text)
    )
