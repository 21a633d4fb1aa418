"""Stems of words, by language; a language without a stemmer keeps its words as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache, lru_cache
from typing import Any

NAMES = {
    "en": "english",
    "es": "spanish",
    "pt": "portuguese",
    "fr": "french",
    "de": "german",
    "it": "italian",
    "id": "indonesian",
}
"""Languages with a stemmer in the snowballstemmer library."""
PLURAL = {
    "en": (("", "s", "es"),),
    "es": (("", "s", "es"),),
    "pt": (("", "s", "es"),),
    "fr": (("", "s", "x"),),
    "de": (("", "s", "n", "e", "en"),),
    "it": (("o", "i"), ("a", "e"), ("e", "i")),
    "id": (("", "nya"),),
}
"""Endings by which a noun and its plural differ."""
ENDINGS = {
    "en": ("", "s", "es"),
    "es": ("", "s", "es", "o", "a", "os", "as"),
    "pt": ("", "s", "es", "o", "a", "os", "as"),
    "fr": ("", "s", "x", "e", "es"),
    "de": ("", "s", "n", "e", "en", "er", "es", "em"),
    "it": ("o", "i", "a", "e", "hi", "he"),
    "id": ("", "nya"),
}
"""Endings of plural and gender."""


@cache
def _stemmer(language: str) -> Any:
    import snowballstemmer

    return snowballstemmer.stemmer(NAMES[language])


@lru_cache(maxsize=65536)
def stem(word: str, language: str) -> str:
    """The stem of a folded word.

    >>> stem("solvents", "en"), stem("bitterness", "en") == stem("bitter", "en"), stem("nguoi", "vi")
    ('solvent', True, 'nguoi')
    """
    if language not in NAMES or len(word) < 4:
        return word
    return str(_stemmer(language).stemWord(word))


def stem_key(words: Sequence[str], language: str, small: frozenset[str]) -> str:
    """Stems of the telling words of a phrase; empty where there is none."""
    return " ".join(stem(word, language) for word in words if word not in small)


def respelt(phrase: str, spellings: Mapping[str, str]) -> str:
    """A folded phrase in the spelling of the lists.

    >>> respelt("mouldy odour", {"mould": "mold", "odour": "odor"})
    'moldy odor'
    """
    for written, listed in spellings.items():
        if written in phrase:
            phrase = phrase.replace(written, listed)
    return phrase
