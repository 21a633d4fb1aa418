"""Folding of names and words for comparison, did-you-mean, and text made safe for a terminal."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache

from tracer.wording.sentence import Own, Sentence, say


@lru_cache(maxsize=32768)
def fold(text: str) -> str:
    """Fold case, accents, width and runs of white space, for comparing only.

    >>> fold("  Café  Fenólico ")
    'cafe fenolico'
    >>> fold("ＦＥＮＯＬ")
    'fenol'
    """
    if text.isascii():
        return " ".join(text.lower().split())
    wide = unicodedata.normalize("NFKC", text).casefold().replace("đ", "d")
    bare = "".join(c for c in unicodedata.normalize("NFD", wide) if not _is_latin_mark(c))
    return " ".join(unicodedata.normalize("NFC", bare).split())


_HIRAGANA = {sign: sign - 0x60 for sign in range(ord("ァ"), ord("ヶ") + 1)}


def in_hiragana(text: str) -> str:
    """Text with kana in one form, for comparing only.

    >>> in_hiragana("カビ")
    'かび'
    """
    return text if text.isascii() else text.translate(_HIRAGANA)


def _is_latin_mark(character: str) -> bool:
    # Japanese voicing marks are combining too, but they change the word: keep them.
    return unicodedata.combining(character) != 0 and character not in "\u3099\u309a"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name most like `word`, or None if none is near.

    >>> nearest("mustty", ["musty", "mouldy"])
    'musty'
    """
    from rapidfuzz import fuzz, process

    found = process.extractOne(word, list(known), scorer=fuzz.ratio, score_cutoff=70)
    return found[0] if found else None


def alike(word: str, known: Iterable[str], most: int) -> list[str]:
    """Up to so many known names that share most of their words with `word`, the likest first.

    >>> alike("rain_on_beds", ["rain_on_coffee", "roast", "beds"], 2)
    ['rain_on_coffee', 'beds']
    """
    words = set(word.split("_"))
    shared = {one: len(words & set(one.split("_"))) / len(words | set(one.split("_"))) for one in known}
    near = [one for one, share in shared.items() if share >= 1 / 3]
    return sorted(near, key=lambda one: (-shared[one], one))[:most]


def did_you_mean(word: str, known: Iterable[str], otherwise: str) -> str:
    """The remedy line for a name that is not known."""
    near = nearest(word, known)
    return say("Did you mean '{near}'?", near=near) if near else otherwise


def printable(text: str) -> str:
    """Replace control and invisible formatting characters, so that a name cannot drive a terminal.

    A sentence stays one: its values are made safe, and it is still told in the reader's language.

    >>> printable("lot\\x1b[31m 7")
    'lot\\ufffd[31m 7'
    """
    if isinstance(text, Sentence):
        values = {name: printable(one) if isinstance(one, str) else one for name, one in text.values.items()}
        return Sentence(text.template, values)
    safe = "".join("\ufffd" if unicodedata.category(c) in _UNSEEN else c for c in text)
    return Own(safe) if isinstance(text, Own) else safe


_UNSEEN = ("Cc", "Cf", "Cs", "Zl", "Zp")
