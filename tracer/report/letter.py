"""A letter from a report and a template: facts, what is asked and by when. No verdict, no percentage, no name of a fault."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from tracer.enquiry.plan import AskLine
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.letter import Letter
from tracer.lots.lot import Lot
from tracer.names import printable
from tracer.report.document import Report
from tracer.wording.sentence import joined

OUTSIDE = ("exporter", "carrier", "warehouse", "importer")
MOST = 4
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


def asked_of_stage(report: Report, base: KnowledgeBase, stage: str) -> tuple[AskLine, ...]:
    """The two to four questions to somebody outside that tell most, of this stage first."""
    lines = [line for line in report.asks if line.kind == "question" and line.ask_of in OUTSIDE]
    own = [line for line in lines if base.enquiries[line.id].stage == stage]
    others = [line for line in lines if line not in own]
    return tuple([*own, *others][: max(2, min(MOST, len(own)))])


def write(
    report: Report,
    lot: Lot,
    base: KnowledgeBase,
    template: Letter,
    questions: Iterable[AskLine],
    by: str,
    sender: str,
) -> Written:
    """Fill in a template. A paragraph in which something is not known is left out; text of the sheet is shown as text only."""
    values, untranslated = _values(report, lot, base, template, tuple(questions), by, sender)
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


def _fill(template: str, values: dict[str, str | None], shown: object) -> str | None:
    names = _FIELD.findall(template)
    if any(not values.get(name) for name in names):
        return None
    assert callable(shown)
    return _FIELD.sub(lambda match: str(shown(values[match[1]] or "")), template)


def _values(
    report: Report,
    lot: Lot,
    base: KnowledgeBase,
    template: Letter,
    questions: tuple[AskLine, ...],
    by: str,
    sender: str,
) -> tuple[dict[str, str | None], tuple[str, ...]]:
    traced = [cupping for cupping in lot.cuppings if cupping.sample == report.sample]
    first = traced[0] if traced else None
    words, untranslated, asked = template.words, [], []
    for number, line in enumerate(questions, 1):
        enquiry = base.enquiries[line.id]
        told = enquiry.in_words.get(template.language)
        if told is None:
            told = template.question.format(text=enquiry.text, record=enquiry.record)
            if template.language != "en":
                untranslated.append(enquiry.text)
        asked.append(f"{number}. {told}")
    values: dict[str, str | None] = {
        "lot": report.lot,
        "contract": lot.contract,
        "container": next((one.node for one in lot.custody if one.stage == "transport"), None),
        "sample": _kind(report.sample, words),
        "on": str(first.on) if first and first.on else None,
        "drawn_by": first.drawn_by if first else None,
        "tasters": str(len(first.tastings)) if first else None,
        "cups": str(first.cups or base.settings.cups.usual) if first else None,
        "found": _found(report, base, template),
        "earlier": _earlier(lot, report, base, words),
        "moisture": _moisture(lot, base, words),
        "questions": "\n".join(asked) or None,
        "by": by,
        "claim": words["claim"].format(day=report.deadlines[0].last_day) if report.deadlines else None,
        "sender": sender or None,
    }
    return values, tuple(untranslated)


def _found(report: Report, base: KnowledgeBase, template: Letter) -> str | None:
    """Notes in the letter's language where the vocabulary has them, with the cups."""
    told = []
    for note in report.notes:
        own = base.descriptors[note.descriptor].words.get(template.language, ())
        name = note.label.lower() if template.language == "en" or not own else own[0]
        words = template.words
        counted = f" ({note.found} {words['of']} {note.of} {words['cups']})" if note.of else ""
        told.append(name + counted)
    return joined(told, "; ") or None


def _earlier(lot: Lot, report: Report, base: KnowledgeBase, words: dict[str, str]) -> str | None:
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
