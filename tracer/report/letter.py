"""A letter from a report and a template: facts, what is asked and by when. No verdict, no percentage, no name of a fault."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.knowledge.letter import Letter
from tracer.lots.lot import Cupping, Lot
from tracer.names import printable
from tracer.report.document import Report
from tracer.report.letter_questions import in_words
from tracer.wording.sentence import joined

_FIELD = re.compile(r"\{([a-z_]+)\}")
_MARKDOWN = re.compile(r"([\\`*_{}\[\]<>#|!~])")


@dataclass(frozen=True, slots=True)
class Written:
    """A letter, as plain text and as Markdown."""

    subject: str
    text: str
    markdown: str
    untranslated: tuple[str, ...]
    """Questions that have no words in the letter's language."""


@dataclass(frozen=True, slots=True)
class Contents:
    """What goes into a letter beside the facts of the sheet."""

    asked: tuple[Enquiry, ...]
    answered: tuple[Enquiry, ...]
    by: str
    sent: str
    enclosed: tuple[str, ...]
    sender: str


def write(report: Report, lot: Lot, base: KnowledgeBase, template: Letter, contents: Contents) -> Written:
    """Fill in a template. A paragraph in which something is not known is left out; text of the sheet is shown as text only."""
    values, untranslated = _values(report, lot, base, template, contents)
    return Written(
        _fill(template.subject, values, plain) or "",
        "\n\n".join(text for one in template.paragraphs if (text := _fill(one, values, plain))) + "\n",
        "\n\n".join(text for one in template.paragraphs if (text := _fill(one, values, markdown))) + "\n",
        untranslated,
    )


def plain(text: str) -> str:
    """Text without anything that could drive a terminal."""
    return "\n".join(printable(line) for line in text.splitlines())


def markdown(text: str) -> str:
    """Text that Markdown shows as it is.

    >>> markdown("lot *7* <b>")
    'lot \\\\*7\\\\* \\\\<b\\\\>'
    """
    return "\n".join(_MARKDOWN.sub(r"\\\1", printable(line)) for line in text.splitlines())


def _fill(template: str, values: dict[str, str | None], shown: Callable[[str], str]) -> str | None:
    names = _FIELD.findall(template)
    if any(not values.get(name) for name in names):
        return None
    return _FIELD.sub(lambda match: shown(values[match[1]] or ""), template)


def _values(
    report: Report, lot: Lot, base: KnowledgeBase, template: Letter, contents: Contents
) -> tuple[dict[str, str | None], tuple[str, ...]]:
    traced = [cupping for cupping in lot.cuppings if cupping.sample == report.sample]
    first = traced[0] if traced else None
    words = words_of(base, template.language)
    asked, lacking = in_words(contents.asked, base, template.language)
    answered, _ = in_words(contents.answered, base, template.language)
    values: dict[str, str | None] = {
        "lot": report.lot,
        "contract": lot.contract,
        "container": next((one.node for one in lot.custody if one.stage == "transport"), None),
        "sample": _kind(report.sample, words),
        "cupped": _cupped(report, first, words) if first else None,
        "drawn_by": first.drawn_by if first else None,
        "found": _found(report, base, template.language, words),
        "earlier": _earlier(report, words),
        "moisture": _moisture(lot, base, words),
        "questions": _numbered(asked),
        "answered": _numbered(answered),
        "by": contents.by or None,
        "sent": contents.sent or None,
        "enclosed": joined(contents.enclosed, "; ") or None,
        "claim": words["claim"].format(day=report.deadlines[0].last_day) if report.deadlines else None,
        "sender": contents.sender or None,
    }
    return values, tuple(lacking)


def words_of(base: KnowledgeBase, language: str) -> dict[str, str]:
    """The small phrases of a language, from whichever of its letters has them."""
    return {
        name: text
        for one in base.letters.values()
        if one.language == language
        for name, text in one.words.items()
    }


def _numbered(lines: Sequence[str]) -> str | None:
    return "\n".join(f"{number}. {line}" for number, line in enumerate(lines, 1)) or None


def _cupped(report: Report, cupping: Cupping, words: dict[str, str]) -> str:
    """How it was cupped: only what the sheet says."""
    count, cups = len(cupping.tastings), {one.cups for one in cupping.tastings}
    panel = words["taster"] if count == 1 else words["tasters"].format(count=count)
    each = cups.pop() if len(cups) == 1 else None
    return words["cupped"].format(
        sample=_kind(report.sample, words),
        lot=report.lot,
        on=words["on_day"].format(day=cupping.on) if cupping.on else "",
        blind=words["blind"] if cupping.blind else "",
        panel=(panel if count else "") + (words["cups"].format(count=each) if each else ""),
    )


def _found(report: Report, base: KnowledgeBase, language: str, words: dict[str, str]) -> str | None:
    """Notes in the letter's language where the vocabulary has them, with the cups."""
    told = []
    for note in report.notes:
        own = base.descriptors[note.descriptor].words.get(language, ())
        name = note.label.lower() if language == "en" or not own else own[0]
        form = words["found_one" if note.tasters == 1 else "found"]
        told.append(
            form.format(note=name, found=note.found, of=note.of, tasters=note.tasters)
            if note.of and note.found is not None and note.tasters
            else name
        )
    return joined(told, "; ") or None


def _earlier(report: Report, words: dict[str, str]) -> str | None:
    """Whether an earlier sample was clean of the notes, as the facts of the trace have it."""
    for finding in report.findings:
        for name, value in finding.reads:
            if name == "earlier_clean":
                return words["earlier_clean"].format(sample=_kind(value, words))
    return None


def _kind(sample: str, words: dict[str, str]) -> str:
    return words.get(sample, sample.replace("_", " "))


def _moisture(lot: Lot, base: KnowledgeBase, words: dict[str, str]) -> str | None:
    named = [
        f"{r.moisture:g} % ({r.method}{f', {r.on:%Y-%m-%d}' if r.on else ''})"
        for r in lot.readings
        if r.moisture is not None
    ]
    named += [
        f"{words.get(r.record, base.records[r.record].label)} {r.written}"
        for r in lot.records
        if r.record.startswith("moisture_") and r.value is not None
    ]
    return words["moisture"].format(values=joined(named, "; ")) if named else None
