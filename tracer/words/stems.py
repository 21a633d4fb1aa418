"""Stems of words, by language; a language without a stemmer keeps its words as they are."""

from __future__ import annotations

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
