"""What a phone must know by itself: the words of the list, so that a note is recognised without a connection, and what stops tasting."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any

from tracer.knowledge.base import KnowledgeBase
from tracer.words.tokens import tokens


class OfflineWords:
    """The phrases of the knowledge, folded, by language, and those of every language that stop tasting.

    The tasting page brings what stops with it, the trade's own words of every language and all words of the taster's; the rest
    comes after the first screen.
    """

    def __init__(self, base: KnowledgeBase, stop_notes: Collection[str]) -> None:
        self._base = base
        self._notes: dict[str, dict[str, set[str]]] = {}
        for language, phrase, note in (*_trade(base), *_everyday(base)):
            self._notes.setdefault(language, {}).setdefault(phrase, set()).add(note)
        self._open: dict[str, set[str]] = {}
        least = base.settings.cautions.perhaps
        sure = {phrase for _, phrase, note in _trade(base) if note in stop_notes}
        for language, phrase, share in _ambiguous(base, stop_notes):
            self._open.setdefault(language, set()).add(phrase)
            if share >= least:
                sure.add(phrase)
        self._sure = sure
        self._everyday: dict[str, set[str]] = {}
        for language, phrase, note in _everyday(base):
            if note in stop_notes:
                self._everyday.setdefault(language, set()).add(phrase)
        self._stops = sorted(sure.union(*self._everyday.values()))

    def _wanted(self, languages: Iterable[str]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(one for one in languages if one in self._base.languages))

    def words(self, languages: Iterable[str]) -> dict[str, str]:
        """Phrase -> off-note. One that may mean several is not among them: it stays open until there is a connection."""
        found: dict[str, set[str]] = {}
        wanted = self._wanted(languages)
        for language in wanted:
            for phrase, notes in self._notes.get(language, {}).items():
                found.setdefault(phrase, set()).update(notes)
        left_open = {phrase for language in wanted for phrase in self._open.get(language, ())}
        return {
            phrase: next(iter(notes))
            for phrase, notes in sorted(found.items())
            if len(notes) == 1 and phrase not in left_open
        }

    def first(self, languages: Iterable[str], spoken: str) -> dict[str, Any]:
        """What the page brings with it for a taster who writes in a language."""
        stops = sorted(_without_longer(self._sure | self._everyday.get(spoken, set())))
        return {"words": {}, "denials": self._denials(languages), "stops": stops}

    def whole(self, languages: Iterable[str]) -> dict[str, Any]:
        """Everything, for the file that comes after."""
        wanted = self._wanted(languages)
        return {"words": self.words(wanted), "denials": self._denials(wanted), "stops": self._stops}

    def _denials(self, languages: Iterable[str]) -> list[str]:
        spoken = (self._base.languages[one] for one in self._wanted(languages))
        return sorted({" ".join(tokens(word)) for one in spoken for word in one.negation})


def _without_longer(phrases: Collection[str]) -> Iterator[str]:
    """Phrases but for those that hold another one, which is found in them anyway.

    >>> list(_without_longer({"petrol", "old petrol can", "tar"}))
    ['petrol', 'tar']
    """
    for phrase in sorted(phrases):
        words = phrase.split()
        parts = (
            " ".join(words[start:end])
            for start in range(len(words))
            for end in range(start + 1, len(words) + 1)
            if end - start < len(words)
        )
        if not any(part in phrases for part in parts):
            yield phrase


def _trade(base: KnowledgeBase) -> Iterator[tuple[str, str, str]]:
    for note, entry in base.descriptors.items():
        for table in (entry.words, entry.misspelt):
            for language, words in table.items():
                yield from ((language, " ".join(tokens(word)), note) for word in words)


def _everyday(base: KnowledgeBase) -> Iterator[tuple[str, str, str]]:
    for one in base.words.values():
        if one.note is not None:
            yield from ((one.language, " ".join(tokens(word)), one.note) for word in one.words)


def _ambiguous(base: KnowledgeBase, stop_notes: Collection[str]) -> Iterator[tuple[str, str, float]]:
    for entry in base.ambiguities.values():
        share = sum(share for name, share in dict(entry.readings).items() if name in stop_notes)
        for language, words in entry.words.items():
            yield from ((language, " ".join(tokens(word)), share) for word in words)
