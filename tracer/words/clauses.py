"""A taster's line -> clauses, with the counts and the numbers of cups in them marked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from tracer.knowledge.language import Language
from tracer.knowledge.phrase import Other

_CLAUSE = re.compile(r"[,;.:!\n()、。，；፣።፤]+(?!\d)|(?<!\d)/+|\s[-–—]\s")
_MARK, _BETWEEN = "\ue000", "\ue001"
_JOIN = r"\s*(?:,|/|&|\+|\band\b|\by\b|\be\b|\bet\b|\bund\b|\bdan\b|\bvà\b|と|እና)\s*"
_TO = r"\s*(?:-|–|\bto\b|\ba\b|\bbis\b|\bà\b|\bsampai\b|\bđến\b|〜|~)\s*"
_LOT = re.compile(r"(?<![\w.,-])(?:\d{1,4}-[A-Z]|[A-Z]{1,5}-\d{1,6})(?![\w°-])")
"""7-B, CB-12."""
MOST = 500
"""Numbers of cups beyond this are no cups."""


@dataclass(frozen=True, slots=True)
class Count:
    """Cups that had it: how many, of how many, or which by number."""

    cups: int
    of: int | None = None
    which: tuple[int, ...] = ()


_Words = tuple[str, tuple[str, ...], tuple[str, ...], tuple[str, ...], tuple[str, ...]]
"""Of one language: its id, its numbers, and its words for cups, for "of", and for what is counted beside cups."""
COUNTED_APART: tuple[Other, ...] = ("other_bag", "other_container", "other_tank", "other_farm")
"""Parts of a lot that are counted too: 40 of 320 bags are no cups."""


def clauses(text: str, languages: Mapping[str, Language]) -> list[str]:
    """The clauses of a line; counts stand in them as marks that `read_mark` reads."""
    marked = _marked(text, languages)
    return [part for part in _CLAUSE.split(marked) if part.strip(" -–—'\"")]


def without_counts(text: str, languages: Mapping[str, Language]) -> str:
    """A text with counts of cups and marks of lots blotted out, every sign in its place: they are no figures of anything else.

    >>> without_counts("lot 7-B, 2 of 5 cups, 30 h", {})
    'lot    , 2 of 5 cups, 30 h'
    """
    of, which, counted, reversed_, _ = _patterns(languages)
    for pattern in (_LOT, reversed_, of, which, counted):
        text = pattern.sub(lambda match: " " * len(match[0]), text)
    return text


def counts_in(text: str, languages: Mapping[str, Language]) -> list[Count]:
    """Every count and number of cups in a line; a count that cannot be (7 of 5) is among them."""
    found = [
        read_mark(piece)
        for clause in clauses(text, languages)
        for piece in MARKED.split(clause)
        if MARKED.fullmatch(piece)
    ]
    for match in _patterns(languages)[0].finditer(text):
        cups, of = number(match["cups"], languages), number(match["of"], languages)
        if cups is not None and of is not None and of < cups <= MOST:
            found.append(Count(cups, of))
    return found


def read_mark(piece: str) -> Count:
    """The count behind a mark."""
    kind, rest = piece.strip(_MARK).split(_BETWEEN, 1)
    numbers = [int(number) for number in rest.split(_BETWEEN)]
    if kind == "w":
        return Count(len(numbers), None, tuple(numbers))
    return Count(numbers[0], numbers[1] if len(numbers) > 1 else None)


MARKED = re.compile(rf"({_MARK}[^{_MARK}]+{_MARK})")


def _mark(kind: str, *numbers: int) -> str:
    return f" {_MARK}{kind}{_BETWEEN}{_BETWEEN.join(map(str, numbers))}{_MARK} "


def _marked(text: str, languages: Mapping[str, Language]) -> str:
    if not re.search(r"\d", text) and not _patterns(languages)[4].search(text):
        return text
    of, which, counted, reversed_, _ = _patterns(languages)
    text = reversed_.sub(lambda m: _count(m[2], m[1], languages), text)
    text = of.sub(lambda m: _count(m["cups"], m["of"], languages), text)
    text = which.sub(_which, text)
    return counted.sub(lambda m: _count(m["cups"], None, languages), text)


def _count(cups: str, of: str | None, languages: Mapping[str, Language]) -> str:
    found = [number(one, languages) for one in (cups, of) if one is not None]
    if any(one is None or one > MOST for one in found) or (
        len(found) == 2 and (found[0] or 0) > (found[1] or 0)
    ):
        return f" {cups} {of or ''} "
    return _mark("c", *(one for one in found if one is not None))


def _which(match: re.Match[str]) -> str:
    numbers: list[int] = []
    text = match["which"]
    for piece in re.split(_JOIN, text):
        ends = re.findall(r"\d+", piece)
        if len(ends) == 2 and re.search(_TO, piece) and int(ends[0]) < int(ends[1]) <= MOST:
            numbers += range(int(ends[0]), int(ends[1]) + 1)
        else:
            numbers += [int(one) for one in ends]
    kept = tuple(dict.fromkeys(one for one in numbers if 0 < one <= MOST))
    return _mark("w", *kept) if kept else match[0]


def number(text: str, languages: Mapping[str, Language]) -> int | None:
    """A number in digits, or as a word of any language."""
    if text.isdigit():
        return int(text)
    return _words(_key(languages)).get(text.lower())


def _key(languages: Mapping[str, Language]) -> tuple[_Words, ...]:
    return tuple(
        (
            one.id,
            one.numbers,
            one.cup_words,
            one.of_words,
            tuple(word for kind in COUNTED_APART for word in one.siblings.get(kind, ())),
        )
        for one in languages.values()
    )


@lru_cache(maxsize=8)
def _words(key: tuple[_Words, ...]) -> dict[str, int]:
    return {word.lower(): place for _, numbers, *_ in key for place, word in enumerate(numbers, 1)}


def _patterns(languages: Mapping[str, Language]) -> tuple[re.Pattern[str], ...]:
    return _compiled(_key(languages))


@lru_cache(maxsize=8)
def _compiled(key: tuple[_Words, ...]) -> tuple[re.Pattern[str], ...]:
    def any_of(words: list[str]) -> str:
        return "|".join(sorted(map(re.escape, dict.fromkeys(words)), key=len, reverse=True)) or "(?!)"

    names = any_of([word for _, numbers, *_ in key for word in numbers])
    cups = any_of([word for _, _, words, _, _ in key for word in words])
    of = any_of([word for _, _, _, words, _ in key for word in words])
    others = any_of([word for *_, words in key for word in words])
    numeral = rf"(?:\d+|\b(?:{names})\b)"
    flags = re.IGNORECASE
    pattern_of = re.compile(
        rf"(?P<cups>{numeral})\s*(?:/|\b(?:{of})\b|trên)\s*(?:the\s+|las\s+|as\s+|les\s+|den\s+)?(?P<of>{numeral})(?!\s*%)(?:\s*(?:{cups})\b|(?!\d|\s*(?:{others})\b))",
        flags,
    )
    one = r"\d{1,3}(?!\s*(?:%|:\d|/\d))"
    which = re.compile(
        rf"(?:\b(?:{cups})|カップ)\s*(?:nr|no|n[°º]|num|número|nummer|số|nomor|#)?\.?\s*(?P<which>{one}(?:(?:{_JOIN}|{_TO}){one})*)(?!\s*(?:/|of\b|de\b|カップ))",
        flags,
    )
    counted = re.compile(rf"(?P<cups>{numeral})\s*(?:{cups})\b", flags)
    reversed_ = re.compile(r"(\d+)\s*カップ中\s*(\d+)\s*(?:カップ)?に?")
    worded = re.compile(rf"\b(?:{names})\b", flags)
    return pattern_of, which, counted, reversed_, worded
