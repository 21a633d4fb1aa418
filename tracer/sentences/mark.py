"""The mark of the lot that a message speaks of, where it names one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from tracer.knowledge.language import Language

_MARK = r"(?P<mark>[A-Z0-9][A-Z0-9./-]{1,19})(?![\w])"
_NUMBER = r"(?:(?:no|nr|num|number|número|numero|nummer|n[°ºo])\b\.?|#|:)?"


def mark_of(text: str, languages: Mapping[str, Language]) -> str | None:
    """The first mark that stands behind a word for a lot: letters in capitals with figures, or four figures and more.

    >>> english = {"en": Language(id="en", label="English", negation=(), lot_words=("lot", "lots"))}
    >>> mark_of("Dear all, lot no. LUZ-58 arrived; the lot of 320 bags is wet.", english)
    'LUZ-58'
    >>> mark_of("The lot 12 days later, 320 bags.", english) is None
    True
    """
    words = _any_of(word for one in languages.values() for word in one.lot_words)
    for match in re.finditer(rf"(?<!\w)(?i:{words})\s*(?i:{_NUMBER})\s*{_MARK}", text):
        mark = match["mark"].rstrip("./-")
        figures = sum(sign.isdigit() for sign in mark)
        if figures and (figures < len(mark) or figures >= 4):
            return mark
    return None


def _any_of(words: Iterable[str]) -> str:
    return "|".join(sorted(map(re.escape, dict.fromkeys(words)), key=len, reverse=True)) or "(?!)"
