"""Text as folded words, alike however it was typed."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from tracer.names import fold, in_hiragana

_APART = re.compile(r"[^a-z0-9']+")
"""What parts words, among plain letters."""
_ELISION = re.compile(
    r"(?<![^\W_])([ldjnscmt]|qu|jusqu|lorsqu|dell|all|nell|sull|dall|quest|un)['’](?=[^\W_]{2})",
    re.IGNORECASE,
)
_POSSESSIVE = re.compile(r"(?<=[a-z])['’]s(?![^\W_])")
_FAMILIES = str.maketrans("ሐኀሠዐፀሓኃሡሢሣሤሥሦዑዒዓዔዕዖጸጹጺጻጼጽጾ", "ሀሀሰአጸሀሀሱሲሳሴስሶኡኢኣኤእኦጸጹጺጻጼጽጾ")
"""Amharic letters of one sound are used freely in writing."""


def clean_text(text: str) -> str:
    """Text in one normal form, without signs that have no width.

    Accents may come apart from their letters, and copied text may hold direction marks.

    >>> clean_text("pet\\u200brol")
    'petrol'
    """
    return "".join(map(_visible, unicodedata.normalize("NFC", text)))


def _visible(character: str) -> str:
    if character in "\n\t":
        return character
    kind = unicodedata.category(character)
    if kind == "Cf":
        return ""
    return " " if kind in ("Cc", "Cs", "Co", "Zl", "Zp") else character


def fold_word(text: str) -> str:
    """Fold for matching words: as `fold`, with kana in one form and Amharic letters of one sound as one.

    >>> fold_word("Café"), fold_word("カビ") == fold_word("かび")
    ('cafe', True)
    """
    folded = fold(text)
    return folded if folded.isascii() else in_hiragana(folded).translate(_FAMILIES)


def is_unspaced(text: str) -> bool:
    """True for a script written without spaces between words."""
    return any(
        "\u3040" <= c <= "\u30ff" or "\u3400" <= c <= "\u9fff" or "\uff66" <= c <= "\uff9f" for c in text
    )


def apart(text: str) -> str:
    """Text with elided small words parted from the word behind them.

    >>> apart("goût d'essence, un po' di all'aceto; it isn't")
    "goût d essence, un po' di all aceto; it isn't"
    """
    return _ELISION.sub(r"\1 ", text) if "'" in text or "’" in text else text


@lru_cache(maxsize=65536)
def tokens(text: str) -> tuple[str, ...]:
    """Folded words of a phrase, without the 's of whose it is.

    >>> tokens("Gran's attic")
    ('gran', 'attic')
    """
    folded = _POSSESSIVE.sub("", apart(fold_word(text)))
    if folded.isascii():
        return tuple(_APART.sub(" ", folded).split())
    return tuple(
        "".join(c if c.isalnum() or c in "'" or unicodedata.combining(c) else " " for c in folded).split()
    )


def marked(text: str) -> str:
    """A phrase in lower case with its marks, for languages whose marks tell words apart."""
    return " ".join(unicodedata.normalize("NFC", text).lower().replace("-", " ").split())


def has_marks(text: str) -> bool:
    """True if a text holds letters with accents or tone marks.

    >>> has_marks("mùi mốc"), has_marks("mui moc")
    (True, False)
    """
    return not text.isascii()
