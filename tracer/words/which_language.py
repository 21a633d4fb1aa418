"""Which language a line is written in, where nobody says."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tracer.knowledge.language import MARKED
from tracer.words.tokens import has_marks, is_unspaced, tokens
from tracer.words.tongue import QUIET
from tracer.words.vocabulary import Vocabulary

BARE = 0.3
"""How much a word typed without its marks says of a language that lives by them: judgement."""

_ETHIOPIC = re.compile("[\u1200-\u137f]")
_VIETNAMESE = re.compile("[ăđơưạảấầẩẫậắằẳẵặẹẻẽếềểễệỉịọỏốồổỗộớờởỡợụủứừửữựỳỵỷỹ]", re.IGNORECASE)


def languages_of(text: str, vocabulary: Vocabulary, stated: Sequence[str] | None = None) -> tuple[str, ...]:
    """The languages a line is read in: what its letters say, then what is stated, then what knows most of its words.

    Several where they know as many; all where none knows any.
    """
    if is_unspaced(text):
        return ("ja",)
    if _ETHIOPIC.search(text):
        return ("am",)
    if stated:
        return tuple(stated)
    if _VIETNAMESE.search(text):
        return ("vi",)
    return best(scores(text, vocabulary)) or tuple(vocabulary.languages)


def scores(text: str, vocabulary: Vocabulary) -> dict[str, float]:
    """How many words of a text each language knows; a small word counts half.

    A language that lives by its marks counts a third where the text bears none: its bare syllables are words elsewhere.
    """
    found: dict[str, float] = {}
    bare = not has_marks(text)
    for word in tokens(text):
        for language, tongue in vocabulary.tongues.items():
            if word in tongue.known:
                kinds = {meaning.kind for meaning in tongue.of(word)}
                small = bool(kinds) and kinds <= {*QUIET, "break"}
                weight = 0.5 if small else 1.0 if kinds else 0.4
                if bare and language in MARKED:
                    weight *= BARE
                found[language] = found.get(language, 0.0) + weight
    return found


def best(found: dict[str, float]) -> tuple[str, ...]:
    """The languages with the highest score."""
    if not found:
        return ()
    most = max(found.values())
    return tuple(language for language, value in found.items() if value >= most - 1e-9)
