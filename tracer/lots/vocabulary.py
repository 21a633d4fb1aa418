"""The vocabulary as an index from folded words to what they mean, in every language at once."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from tracer.knowledge.entries import Ambiguity, Descriptor
from tracer.knowledge.language import Language
from tracer.names import fold


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a word stands for in one language."""

    language: str
    kind: str
    """note | misspelt | ambiguity | negation | not_negation | slight | moderate | strong | doubt | break | clean |
    all_cups | one_cup | carrier"""
    id: str


@dataclass(frozen=True)
class Vocabulary:
    """Folded phrase (words joined by spaces) -> meanings; and what to ask for each ambiguity."""

    phrases: Mapping[str, tuple[Meaning, ...]]
    longest: int
    """Words in the longest phrase."""
    ambiguities: Mapping[str, Ambiguity]
    negation_after: frozenset[str]
    unspaced: tuple[str, ...]
    """Folded phrases of scripts written without spaces, longest first."""


_APART = re.compile(r"[^a-z0-9']+")
"""What parts words, among plain letters."""
_FAMILIES = str.maketrans("ሐኀሠዐፀሓኃሡሢሣሤሥሦዑዒዓዔዕዖጸጹጺጻጼጽጾ", "ሀሀሰአጸሀሀሱሲሳሴስሶኡኢኣኤእኦጸጹጺጻጼጽጾ")
"""Amharic letters of one sound are used freely in writing."""


def fold_word(text: str) -> str:
    """Fold for matching words: as `fold`, with kana in one form and Amharic letters of one sound as one.

    >>> fold_word("Café"), fold_word("カビ") == fold_word("かび")
    ('cafe', True)
    """
    folded = fold(text)
    return folded if folded.isascii() else "".join(map(_hiragana, folded)).translate(_FAMILIES)


def _hiragana(character: str) -> str:
    return chr(ord(character) - 0x60) if "ァ" <= character <= "ヶ" else character


def is_unspaced(text: str) -> bool:
    """True for a script written without spaces between words."""
    return any(
        "CJK" in (name := unicodedata.name(c, "")) or "HIRAGANA" in name or "KATAKANA" in name for c in text
    )


@lru_cache(maxsize=8192)
def tokens(text: str) -> tuple[str, ...]:
    """Folded words of a phrase."""
    folded = fold_word(text)
    if folded.isascii():
        return tuple(_APART.sub(" ", folded).split())
    return tuple(
        "".join(c if c.isalnum() or c in "'" or unicodedata.combining(c) else " " for c in folded).split()
    )


def build_vocabulary(
    descriptors: Iterable[Descriptor], ambiguities: Iterable[Ambiguity], languages: Iterable[Language]
) -> Vocabulary:
    """The index over all words of the knowledge base."""
    phrases: dict[str, list[Meaning]] = {}

    def add(word: str, meaning: Meaning) -> None:
        for form in _forms(word, meaning.language):
            found = phrases.setdefault(form, [])
            if meaning not in found:
                found.append(meaning)

    languages = tuple(languages)
    asked = {ambiguity.id: ambiguity for ambiguity in ambiguities}
    for descriptor in descriptors:
        for kind, table in (("note", descriptor.words), ("misspelt", descriptor.misspelt)):
            for language, words in table.items():
                for word in words:
                    add(word, Meaning(language, kind, descriptor.id))
    for ambiguity in asked.values():
        for language, words in ambiguity.words.items():
            for word in words:
                add(word, Meaning(language, "ambiguity", ambiguity.id))
    for entry in languages:
        for kind in (
            "negation",
            "not_negation",
            "slight",
            "moderate",
            "strong",
            "doubt",
            "clean",
            "all_cups",
            "one_cup",
        ):
            for word in getattr(entry, kind):
                add(word, Meaning(entry.id, kind, ""))
        for kind, words in (("break", entry.breaks), ("carrier", entry.carriers)):
            for word in words:
                add(word, Meaning(entry.id, kind, ""))
    spaced = {phrase: tuple(found) for phrase, found in phrases.items() if phrase}
    unspaced = tuple(sorted((p for p in spaced if is_unspaced(p)), key=lambda p: (-len(p), p)))
    longest = max((phrase.count(" ") + 1 for phrase in spaced), default=1)
    after = frozenset(entry.id for entry in languages if entry.negation_after)
    return Vocabulary(spaced, longest, asked, after, unspaced)


def _forms(word: str, language: str) -> list[str]:
    """The folded phrase, and for German the spelling without umlauts."""
    forms = [" ".join(tokens(word))]
    if language == "de":
        plain = word.lower().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
        forms.append(" ".join(tokens(plain)))
    return forms
