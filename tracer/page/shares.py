"""A share of the cups, said in words or per cent: taken out of a taster's line before its words are read."""

from __future__ import annotations

import re
from collections.abc import Iterable

from tracer.knowledge.language import Language

_PER_CENT = r"(?<![0-9.,])([0-9]{1,3})\s*%"


class ShareReader:
    """Knows how the languages say that most, half or some of the cups had a note."""

    def __init__(self, languages: Iterable[Language]) -> None:
        known = tuple(languages)
        self.share_of = {
            phrase.casefold(): share
            for one in known
            for share, phrases in one.share_of_cups.items()
            for phrase in phrases
        }
        self.phrases = re.compile(
            "|".join(_whole(one) for one in sorted(self.share_of, key=len, reverse=True)), re.IGNORECASE
        )
        small = _any_of(word for one in known for word in (*one.of_words, *one.carriers, *one.fillers))
        cups = _any_of(word for one in known for word in one.cup_words)
        before, after = rf"(?:\b{small}\s+){{0,2}}", rf"(?:\s+(?:{small}\s+){{0,3}}{cups}\b)?"
        self.per_cent = re.compile(before + _PER_CENT + after, re.IGNORECASE)

    def read(self, line: str, cups: int) -> tuple[str, int | None, str | None]:
        """A line without the share it names; how many cups that is where it comes out even; and the share in words.

        >>> from tracer.knowledge.load import load_or_fail
        >>> reader = ShareReader(load_or_fail().languages.values())
        >>> reader.read("musty in half the cups", 5)
        ('musty', None, 'half')
        >>> reader.read("terroso en 40 % de las tazas", 5)
        ('terroso', 2, None)
        """
        found = self.per_cent.search(line) if "%" in line else None
        if found and 0 < int(found[1]) <= 100 and (int(found[1]) * cups) % 100 == 0:
            return _without(line, found), int(found[1]) * cups // 100, None
        if match := self.phrases.search(line):
            return _without(line, match), None, self.share_of[match[0].casefold()]
        return line, None, None


def _any_of(words: Iterable[str]) -> str:
    return f"(?:{'|'.join(re.escape(one) for one in sorted(set(words), key=len, reverse=True))})"


def _whole(phrase: str) -> str:
    """A phrase that is no part of a longer word; in a writing without spaces it may stand anywhere."""
    pattern = re.escape(phrase)
    return rf"(?<![^\W\d_]){pattern}(?![^\W\d_])" if " " in phrase else pattern


def _without(line: str, found: re.Match[str]) -> str:
    return " ".join(f"{line[: found.start()]} {line[found.end() :]}".split())
