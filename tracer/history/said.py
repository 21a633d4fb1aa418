"""Sentences of a message against the phrases of the knowledge: proposals, which count only once confirmed."""

from __future__ import annotations

import re
from collections.abc import Iterator

from tracer.history.history import Proposed
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.language import Language
from tracer.knowledge.phrase import Phrase
from tracer.lots.lot import Lot, Said
from tracer.quantity import QuantityError, read_quantity
from tracer.words.tokens import fold_word, is_unspaced

_SENTENCE = re.compile(r"[.!?;\n。！？；።፤]+(?!\d)")
_NUMBER = re.compile(r"(\d+(?:[.,]\d+)?)\s*([^\W\d_]+|%)")
_WORD = re.compile(r"[^\W_]+")


def sentences(text: str) -> list[str]:
    """The sentences of a message."""
    return [part.strip() for part in _SENTENCE.split(text) if part.strip()]


def propose(lot: Lot, base: KnowledgeBase) -> tuple[tuple[Proposed, ...], tuple[str, ...]]:
    """What the sentences of a lot may mean, and the sentences that matched no phrase."""
    found: list[Proposed] = []
    unread: list[str] = []
    for said in lot.said:
        for sentence in sentences(said.text):
            matches = list(_matches(sentence, said, base))
            found += matches
            if not matches:
                unread.append(sentence)
    return tuple(found), tuple(unread)


def _matches(sentence: str, said: Said, base: KnowledgeBase) -> Iterator[Proposed]:
    for phrase in base.phrases.values():
        languages = (
            [said.language] if said.language in phrase.words else [] if said.language else list(phrase.words)
        )
        for language in languages:
            way = next(
                (w for w in phrase.words[language] if all(_holds(sentence, group) for group in w)), None
            )
            if way is None:
                continue
            value = _value(sentence, phrase, way, language, base)
            if value is None:
                continue
            state = (
                "confirmed"
                if phrase.id in said.confirmed
                else "declined"
                if phrase.id in said.declined
                else "open"
            )
            on = str(said.on) if said.on else None
            yield Proposed(phrase.id, phrase.record, value, sentence, said.by, on, state, str(said.place))
            break


def _holds(sentence: str, group: str) -> bool:
    folded = fold_word(sentence)
    words = [fold_word(word) for word in _WORD.findall(sentence)]
    for option in group.split("|"):
        wanted = fold_word(option.strip().rstrip("*"))
        if is_unspaced(option):
            if wanted in folded:
                return True
            continue
        parts = _WORD.findall(wanted)
        ends_open = option.strip().endswith("*")
        for start in range(len(words) - len(parts) + 1):
            piece = words[start : start + len(parts)]
            last = piece[-1].startswith(parts[-1]) if ends_open else piece[-1] == parts[-1]
            if piece[:-1] == parts[:-1] and last:
                return True
    return False


def _value(
    sentence: str, phrase: Phrase, way: tuple[str, ...], language: str, base: KnowledgeBase
) -> float | str | None:
    denied = _denied(sentence, way, base.languages[language])
    if phrase.takes is None:
        return phrase.denied if denied else phrase.value
    if denied:
        return None
    for number, unit in _NUMBER.findall(sentence):
        names = base.languages[language].units
        known = next(
            (name for name, words in names.items() if fold_word(unit) in map(fold_word, words)), unit
        )
        try:
            return round(read_quantity(f"{number} {known}", phrase.takes), 3)
        except QuantityError:
            continue
    return None


def _denied(sentence: str, way: tuple[str, ...], language: Language) -> bool:
    """True if a word of denial stands in the clause of the first group: what a phrase affirms or denies comes first."""
    words = sorted(language.breaks, key=len, reverse=True)
    joined = "|".join(rf"\b{re.escape(word)}\b" for word in words if not is_unspaced(word))
    clauses = re.split(rf"[,:()]+|{joined}" if joined else r"[,:()]+", sentence, flags=re.IGNORECASE)
    clause = next((part for part in clauses if _holds(part, way[0])), sentence)
    if any(_holds(clause, phrase) for phrase in language.not_negation):
        return False
    return any(_holds(clause, word) for word in language.negation)
