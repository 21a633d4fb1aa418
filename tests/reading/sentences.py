"""How well sentences are read: the right proposal first, among three, and false firsts on sentences that mean nothing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from tracer.amounts import AmountReader
from tracer.quantity import QuantityError
from tracer.sentences.proposal import Proposal
from tracer.sentences.reader import SentenceReader

FOLDER = Path(__file__).parent
WIDTH = 0.02
"""Relative slack within which two figures are the same."""


@dataclass(frozen=True)
class Gold:
    """A sentence with what a careful person would put on the sheet; each label with its equals."""

    id: str
    group: str
    source: str
    language: str
    text: str
    labels: tuple[tuple[str, ...], ...]

    @property
    def nothing(self) -> bool:
        """It means nothing here."""
        return all(label == ("nothing",) for label in self.labels)


@dataclass(frozen=True)
class Judged:
    """What became of a sentence: for each label, whether it is first of a statement, or among its three."""

    gold: Gold
    first: tuple[bool, ...]
    three: tuple[bool, ...]
    wrong_first: bool
    """On a sentence that means nothing: something sure is proposed."""
    figures: tuple[bool, ...]
    """For each label with a figure whose row was found: whether the figure is exact."""
    offered: tuple[Proposal, ...]


def golds(part: str) -> list[Gold]:
    """The sentences of `sentences` (open) or `sentences_kept` (kept out)."""
    found = []
    for path in sorted((FOLDER / part).glob("*.yaml")):
        for one in yaml.safe_load(path.read_text(encoding="utf-8")) or []:
            labels = tuple(tuple(p.strip() for p in str(label).split(" | ")) for label in one["gold"])
            found.append(
                Gold(str(one["id"]), str(one["group"]), path.stem, one["language"], str(one["text"]), labels)
            )
    return found


def judge(gold: Gold, reader: SentenceReader) -> Judged:
    """Read a sentence and compare every label with what is proposed."""
    statements = [one for read in reader.message(gold.text, gold.language) for one in read.statements]
    firsts = [statement.first for statement in statements]
    every = [one for statement in statements for one in statement.proposals[:3]]
    labels = [label for label in gold.labels if label != ("nothing",)]
    figures = [
        any(found)
        for label in labels
        if (found := [exact for one in label for exact in _figure(one, every, reader.amounts)])
    ]
    return Judged(
        gold,
        tuple(any(_says(one, p, reader.amounts) for one in label for p in firsts) for label in labels),
        tuple(any(_says(one, p, reader.amounts) for one in label for p in every) for label in labels),
        gold.nothing and any(statement.first.sure for statement in statements),
        tuple(figures),
        tuple(every),
    )


def _parts(label: str) -> tuple[str, str, str]:
    kind, _, rest = label.partition(":")
    target, _, value = rest.partition("=")
    return kind, target, value


_KINDS = {"compare": "comparison"}


def _says(label: str, p: Proposal, amounts: AmountReader) -> bool:
    kind, target, value = _parts(label)
    if kind == "record" and p.kind == "lot":
        return target == p.target and value.lower() == str(p.value).lower()
    if _KINDS.get(kind, kind) != p.kind or target != p.target:
        return False
    if kind in ("record",):
        return _same_value(value, p, amounts)
    if kind == "note":
        return (value == "absent") == (p.value == "absent")
    if kind in ("laboratory", "contact", "sample", "normal"):
        return True
    return str(p.value) == value


def _same_value(value: str, p: Proposal, amounts: AmountReader) -> bool:
    if p.amount is None or p.unit is None:
        same = {"some": ("some", "present"), "present": ("some", "present")}
        return str(p.value) in same.get(value, (value,))
    return _same_figure(value, p, amounts)


def _same_figure(value: str, p: Proposal, amounts: AmountReader) -> bool:
    assert p.amount is not None
    try:
        wanted = amounts.read(value, p.unit or "1")
    except QuantityError:
        return False
    if wanted.word is not None:
        return False
    return all(
        (a is None) == (b is None) and (a is None or abs(a - (b or 0)) <= WIDTH * max(1e-9, abs(a)))
        for a, b in ((wanted.low, p.amount.low), (wanted.high, p.amount.high))
    )


def _figure(label: str, every: list[Proposal], amounts: AmountReader) -> list[bool]:
    kind, target, value = _parts(label)
    if kind != "record" or not any(c.isdigit() for c in value):
        return []
    rows = [p for p in every if p.kind == "record" and p.target == target and p.amount is not None]
    return [any(_same_figure(value, p, amounts) for p in rows)] if rows else []


def table(judged: list[Judged]) -> str:
    """Shares by source and over all."""
    rows = [
        "                labels  first  among three   sentences meaning nothing  wrong first   figures exact"
    ]
    for source in (*sorted({one.gold.source for one in judged}), "all"):
        of = [one for one in judged if source in (one.gold.source, "all")]
        rows.append(f"  {source:12}{_row(of)}")
    for language in sorted({one.gold.language for one in judged}):
        rows.append(f"  {language:12}{_row([one for one in judged if one.gold.language == language])}")
    return "\n".join(rows)


def _row(of: list[Judged]) -> str:
    first = [hit for one in of for hit in one.first]
    three = [hit for one in of for hit in one.three]
    nothing = [one for one in of if one.gold.nothing]
    figures = [hit for one in of for hit in one.figures]

    def share(hits: list[Any]) -> str:
        return f"{sum(map(bool, hits)) / len(hits):.2f}" if hits else "   -"

    return (
        f"  {len(first):6}   {share(first)}   {share(three)}       "
        f"{len(nothing):6}                     {share([one.wrong_first for one in nothing])}           {share(figures)}"
    )
