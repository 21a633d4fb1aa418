"""A message -> its sentences, each with its place in the text."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, replace

_END = re.compile(r"(?:[.!?;]+(?=\s|$|[\"'”»)])|[。！？；።፤]+|\n+)")
_ABBREVIATION = re.compile(
    r"(?:(?i:\b(?:ca|approx|aprox|no|nr|nº|n°|vs|etc|e\.g|i\.e|z\.b|d\.h|bzw|usw|St|Dr|Mr|Mrs|Sr|Sra|pág|art|max|min|mín|máx|temp|hum|inkl|ggf|kl|kg|std|dic|ene|feb|mar|abr|jun|jul|ago|sep|oct|nov|jan|apr|aug|dec|fev|set|out|dez))|\b[A-ZÀ-Þ])\.$"
)
LONGEST = 600
"""Signs of one sentence; what runs on is cut at the next space, so that a text without stops stays readable."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence and where it begins."""

    text: str
    start: int
    line: int
    """Line of the text, from 1."""
    asks: bool = False
    """It is a question, and so says nothing for sure."""


def sentences(text: str, whole: Collection[int] = ()) -> list[Sentence]:
    """The sentences of a message, in order; a line break ends one, a decimal point or an abbreviation does not.

    `whole` are places that end none: the point of "3. März".

    >>> [one.text for one in sentences("Moisture 11.5 %. It is dry!")]
    ['Moisture 11.5 %', 'It is dry']
    """
    found: list[Sentence] = []
    start, line = 0, 1
    for match in _END.finditer(text):
        piece = text[start : match.start()]
        if match.start() in whole and match[0] == ".":
            continue
        if match[0] == "." and _ABBREVIATION.search(text[max(0, match.start() - 8) : match.end()]):
            continue
        line = _add(piece, start, line, found)
        if found and found[-1].start >= start and ("?" in match[0] or "？" in match[0]):
            found[-1] = replace(found[-1], asks=True)
        line += match[0].count("\n")
        start = match.end()
    _add(text[start:], start, line, found)
    return found


def _add(piece: str, start: int, line: int, found: list[Sentence]) -> int:
    """Add the sentence of a piece, in parts where it is too long; the line behind it."""
    while len(piece) > LONGEST:
        cut = piece.rfind(" ", 1, LONGEST)
        cut = cut if cut > 0 else LONGEST
        line = _one(piece[:cut], start, line, found)
        piece, start = piece[cut:], start + cut
    return _one(piece, start, line, found)


def _one(piece: str, start: int, line: int, found: list[Sentence]) -> int:
    bare = piece.strip(" \t\r\n-–—*•·>\"'“”«»")
    if any(c.isalnum() for c in bare):
        at = piece.find(bare)
        found.append(Sentence(bare, start + at, line + piece[:at].count("\n")))
    return line + piece.count("\n")
