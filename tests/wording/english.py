"""English words that are left on a screen of another language."""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import cache

from tracer.knowledge.load import load_or_fail
from tracer.page.messages import catalogue
from tracer.wording.language import rows

FIELD = re.compile(r"\{[^{}]*(?:\{[^{}]*\}[^{}]*)*\}")
_TYPED = re.compile(
    r"\[[a-z_@., 0-9]+\]|--[a-z-]+|<[^>]*>|/\S+|\b\w+_\w+\b|\(\w+\d{4}\)|rule:\w+|\b\w+\.\w+\b"
)
"""What is typed: ids in brackets, options, placeholders, paths and files, names with an underscore, sources."""


@cache
def words_of(language: str) -> frozenset[str]:
    """Every word that the program, the knowledge or the page says in a language."""
    base = load_or_fail()
    texts = [row[language] for row in rows()]
    texts += [getattr(text, language) for part in base.translations.values() for text in part.texts]
    texts += [text[language] for text in catalogue().values()]
    for note in base.descriptors.values():
        texts += note.words.get(language, ())
    return frozenset(word for text in texts for word in words(FIELD.sub(" ", text)))


def words(text: str) -> list[str]:
    """Words of three letters and more."""
    return [word for word in re.findall(r"[^\W\d_]{3,}", text.lower())]


def english(shown: str, language: str, own: Collection[str] = ()) -> tuple[list[str], int]:
    """English words of a screen in another language that are not its user's own, and how many words it has."""
    said = [word for word in words(_TYPED.sub(" ", shown)) if word not in own]
    return [word for word in said if word in words_of("en") and word not in words_of(language)], len(said)
