"""Reads the record of every case as a message would be, and keeps its marks: `python -m tracer.precedents.read`."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from tracer.findings.gathered import Listener, gather, listener
from tracer.issues import Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail
from tracer.knowledge.precedent import Precedent
from tracer.knowledge.shipped import knowledge_folder
from tracer.lots.lot import Lot
from tracer.lots.read import lot_of_data
from tracer.precedents.features import features, words
from tracer.precedents.shipped import READINGS
from tracer.sentences.draft import draft


def as_lot(case: Precedent, base: KnowledgeBase, ready: Listener) -> Lot:
    """The record of a case as a lot sheet: its notes, and its sentences with each first proposal taken unread."""
    record = case.record
    data: dict[str, Any] = {"lot": case.id}
    data |= {
        name: value
        for name in ("species", "process", "origin")
        if (value := getattr(record, name)) is not None
    }
    if record.notes:
        language = {"language": case.language} if case.language in base.languages else {}
        notes = [{"note": note} for note in record.notes]
        data["cuppings"] = [{"tasters": [{"taster": "the record", **language, "notes": notes}]}]
    text = "\n".join(one if one.rstrip().endswith((".", "。")) else f"{one}." for one in record.sentences)
    data["said"] = [
        {
            "by": "the record",
            "language": one.read.language,
            "text": one.read.text,
            "confirmed": list(one.confirmed),
        }
        for one in draft(ready.reader.message(text), (), take_first=True)
    ]
    lot, _ = lot_of_data(data, Place(case.id), base)
    if lot is None:  # words for species or process that the sheet does not know
        plain = {name: value for name, value in data.items() if name not in ("species", "process", "origin")}
        lot, issues = lot_of_data(plain, Place(case.id), base)
        assert lot is not None, issues
    return lot


def marks_of(case: Precedent, base: KnowledgeBase, ready: Listener) -> tuple[str, ...]:
    """The marks of a case, sorted; the words are those of its whole record."""
    found = features(base, gather(as_lot(case, base, ready), base, ready))
    return tuple(sorted(found.union(*(words(text, case.language) for text in case.record.sentences))))


def for_marks(base: KnowledgeBase) -> KnowledgeBase:
    """The knowledge with rows of records taken from the probability that is enough for a mark."""
    reading = base.settings.reading
    changed = reading.model_copy(update={"sure": reading.of_cases})
    return replace(base, settings=base.settings.model_copy(update={"reading": changed}))


def main(folder: Path | None = None) -> None:
    """Read all cases anew and write their marks beside them."""
    base = for_marks(load_or_fail())
    ready = listener(base)
    marks = {case.id: marks_of(case, base, ready) for case in base.precedents.values()}
    lines = ",\n".join(
        f"{json.dumps(case)}: {json.dumps(own, ensure_ascii=False)}" for case, own in marks.items()
    )
    path = (folder or knowledge_folder()) / READINGS
    path.write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
