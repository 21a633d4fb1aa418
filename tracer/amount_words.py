"""Words of amounts in some languages: numbers, units, and what bounds or rounds a figure. Each table is made when first used."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from tracer.days import DayReader
from tracer.knowledge.language import Language
from tracer.names import fold
from tracer.quantity import FACTORS

_ALSO_WORDS = ("in", "t", "times")


class AmountWords:
    """The words of amounts of some languages."""

    def __init__(self, languages: Iterable[Language]) -> None:
        self.languages = tuple(languages)

    @cached_property
    def days(self) -> DayReader:
        """Finds days, which measure nothing."""
        return DayReader(self.languages)

    @cached_property
    def units(self) -> dict[str, str]:
        """Folded word -> unit."""
        found: dict[str, str] = {}
        for language in self.languages:
            for unit, words in language.units.items():
                for word in words:
                    found.setdefault(fold(word), unit)
        for table in FACTORS.values():
            for word in table:
                if word and word not in _ALSO_WORDS:
                    found.setdefault(word, word)
        return found

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Folded word -> whole number."""
        return {fold(word): place for one in self.languages for place, word in enumerate(one.numbers, 1)}

    @cached_property
    def rounds(self) -> dict[str, float]:
        """Folded word, such as dozen -> number."""
        return {fold(w): size for one in self.languages for w, size in one.round_numbers.items()}

    @cached_property
    def halves(self) -> set[str]:
        """Words for a half."""
        return {fold(w) for one in self.languages for w in one.amounts.get("half", ())}

    @cached_property
    def of(self) -> set[str]:
        """Words such as of."""
        return {fold(w) for one in self.languages for w in one.of_words if " " not in w}

    @cached_property
    def ones(self) -> set[str]:
        """Words such as a."""
        return {fold(w) for one in self.languages for w in one.amounts.get("one", ())}

    @cached_property
    def words(self) -> dict[str, dict[str, str]]:
        """Kind of amount word -> folded word -> language, of all languages."""
        found: dict[str, dict[str, str]] = {}
        for language in self.languages:
            for kind, words in language.amounts.items():
                for word in words:
                    found.setdefault(kind, {})[fold(word)] = language.id
        return found
