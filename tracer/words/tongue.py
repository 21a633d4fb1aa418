"""The words of one language, and what they stand for."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

COMPOUNDING = ("de",)
"""Languages that write compounds as one word."""
RUNNING = ("ja", "am")
"""Languages in which a word may stand anywhere in a longer string."""
STEMMED = "~"
"""Before the stems of a phrase in an index of things."""
AS_SPELLED = "="
"""Before a phrase with its marks in the index of a language whose marks tell words apart."""
QUIET = ("filler", "head", "carrier")
"""Kinds of words that mean nothing by themselves."""
NAMING = ("note", "misspelt", "ambiguity")
"""Kinds that name an off-note, or may."""
TELLING = (*NAMING, "harmless", "quality")
"""Kinds that are also found by their stems."""

# fmt: off
JOINERS = frozenset({
    "and", "y", "e", "et", "und", "dan", "va", "と", "እና", "or", "ni", "nor", "o", "ou", "oder", "atau", "hoac",
})
"""Words that join what is listed, folded."""
# fmt: on


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a word stands for in one language."""

    language: str
    kind: str
    """note | misspelt | ambiguity | harmless | quality | negation | not_negation | noticing | slight | moderate | strong | doubt |
    break | clean | all_cups | one_cup | lacking | filler | head | carrier"""
    id: str
    likeness: bool = False
    """An everyday likeness, and no word of the trade."""


@dataclass(frozen=True, slots=True)
class Tongue:
    """The words of one language."""

    meanings: Mapping[int, Meaning]
    exact: Mapping[str, Sequence[int]]
    """Folded phrase -> places in `meanings`."""
    stemmed: Mapping[str, Sequence[int]]
    """Stems of the telling words of a phrase -> places in `meanings`."""
    spelled: Mapping[str, Sequence[str]]
    """Folded phrase -> its spellings with marks, where marks tell words apart."""
    fragments: Mapping[str, Mapping[str, float]]
    """Stem that stands in likenesses only -> off-note -> share of those likenesses."""
    known: Collection[str]
    """Every single word of its phrases, folded."""
    small: frozenset[str]
    """Fillers and heads, which are skipped inside a phrase."""
    longest: int
    """Words in the longest phrase."""
    by_letter: Mapping[str, Sequence[str]]
    """First letter -> single words, for spelling."""
    unspaced: Mapping[str, Sequence[str]]
    """First sign -> folded phrases of a script without spaces, longest first."""
    things: Mapping[str, str] = field(default_factory=dict)
    """Folded phrase, its stems behind STEMMED, or as spelled behind AS_SPELLED -> kind of thing that cups are likened to."""
    states: Mapping[str, str] = field(default_factory=dict)
    """The same -> state of a thing."""

    def of(self, phrase: str) -> tuple[Meaning, ...]:
        """Meanings of a folded phrase."""
        return tuple(self.meanings[place] for place in self.exact.get(phrase, ()))

    def written(self, phrase: str, spelled: str, *, always: bool, bare: bool) -> tuple[Meaning, ...]:
        """Meanings of a phrase as it is spelled, else by its letters.

        Where marks `always` tell, a phrase with marks has no other meaning, and one without them may be any.
        """
        found = self.of(spelled) if spelled and not (always and bare) else ()
        return found or (() if spelled and always and not bare else self.of(phrase))

    def by_stems(self, key: str) -> tuple[Meaning, ...]:
        """Meanings of a phrase by the stems of its telling words."""
        return tuple(self.meanings[place] for place in self.stemmed.get(key, ()))
