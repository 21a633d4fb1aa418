"""A word that is not listed: taken apart as a compound, or for a misspelt word of the trade."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tracer.knowledge.language import MARKED
from tracer.words.part import NOTES, Part
from tracer.words.tokens import has_marks, is_unspaced
from tracer.words.tongue import COMPOUNDING, QUIET, Meaning, Tongue
from tracer.words.vocabulary import Vocabulary

SHORTEST_CORRECTED = 5
"""Letters below which a word is not taken for a misspelling: judgement."""
SHORT = 5
"""Letters up to which so many words are near each other that only a slip of the pen makes one another: judgement."""
LONG_ENOUGH_FOR_TWO = 8
"""Letters from which two may be wrong: judgement."""
SHORTEST_SURE = 7
"""Letters from which a misspelt word is taken for a word of the trade without asking: judgement."""
SHORTEST_MEMBER = 4
"""Letters of a member that is no known word: judgement."""
LONG_MEMBER = 6
"""Letters of the first member of a compound that may stand alone for it: judgement."""
_SUFFIXES = ("ish", "like", "ey", "y", "artig", "oso", "osa", "っぽい")


def compound(word: str, plain: str, vocabulary: Vocabulary, languages: Sequence[str]) -> Part | None:
    """A word with an ending (petrol-like), or joined of several (Gummigeruch)."""
    for suffix in _SUFFIXES:
        bare = plain.removesuffix(suffix).strip(" -")
        if bare == plain or len(bare) < 4:
            continue
        for form in (bare, bare + "y", bare + "e", bare[:-1] if bare[-1:] == bare[-2:-1] else bare):
            meanings = tuple(m for m in vocabulary.of(form, languages) if m.kind in NOTES)
            if meanings:
                return Part(word, meanings, "compound")
    if any(language in COMPOUNDING for language in languages) and len(plain) >= 8:
        return _joined(word, plain, vocabulary, tuple(one for one in languages if one in COMPOUNDING))
    return None


def _joined(word: str, plain: str, vocabulary: Vocabulary, languages: Sequence[str]) -> Part | None:
    """A compound whose first or last member is known; a head behind it (Geruch, Note) says nothing more.

    Where the other member is no known word, it is a guess, made for long members. What stops tasting counts wherever it stands.
    """
    best: tuple[float, tuple[Meaning, ...], bool] | None = None
    for cut in range(4, len(plain) - 2):
        for member, rest in _members(plain, cut):
            meanings = tuple(m for m in vocabulary.of(member, languages) if m.kind in (*NOTES, "harmless"))
            if len(member) < 4 or not meanings:
                continue
            other = vocabulary.of(rest, languages) or vocabulary.of(rest.rstrip("s"), languages)
            first = plain.startswith(member)
            if not other and not (first and len(member) >= LONG_MEMBER and len(rest) >= SHORTEST_MEMBER):
                continue
            quiet = any(m.kind in QUIET for m in other)
            score = len(member) + (100 if quiet else 50 if other else 0) + (0 if first else 0.5)
            if best is None or score > best[0]:
                best = (
                    score,
                    meanings
                    if quiet or not other
                    else (*meanings, *_telling(other, first, vocabulary.stops)),
                    not other,
                )
    told = best[1] if best else ()
    inside = tuple(
        m for m in _stops_inside(plain, vocabulary, languages) if m.id not in {one.id for one in told}
    )
    return (
        Part(word, (*told, *inside), "compound", guessed=best is None or best[2]) if told or inside else None
    )


def _stops_inside(plain: str, vocabulary: Vocabulary, languages: Sequence[str]) -> tuple[Meaning, ...]:
    """Words of the trade that stop tasting, long enough to be no chance, wherever they stand in a compound: Kellerdieselmuff."""
    ends = [at for at in range(len(plain) + 1) if at == len(plain) or at <= len(plain) - SHORTEST_MEMBER]
    found = (
        m
        for start in range(len(plain))
        if start == 0 or start >= SHORTEST_MEMBER
        for end in ends
        if end - start >= LONG_MEMBER
        for m in vocabulary.of(plain[start:end], languages)
        if m.kind == "note" and m.id in vocabulary.stops and not m.likeness
    )
    return tuple(dict.fromkeys(found))


def _telling(other: tuple[Meaning, ...], first: bool, stops: frozenset[str]) -> tuple[Meaning, ...]:
    """What the other member adds: the last one of a compound says what it is, so its harmless meaning counts too.

    A member that stops tasting always counts: a petrol hose is not only rubber.
    """
    return tuple(m for m in other if (m.kind == "harmless" and first) or m.id in stops)


def _members(plain: str, cut: int) -> tuple[tuple[str, str], ...]:
    first, last = plain[:cut], plain[cut:]
    return ((first, last), (first.rstrip("s"), last), (first.rstrip("n"), last), (last, first))


def corrected(word: str, plain: str, vocabulary: Vocabulary, languages: Sequence[str]) -> Part | None:
    """A misspelt word of the trade: one or two letters off, never in the first.

    Everyday likenesses are no targets, and a word that stands in any phrase of the language is no slip: an unknown word is
    more often another word of the language. Between short words only letters doubled or swapped are taken for a slip.
    """
    if len(plain) < SHORTEST_CORRECTED or is_unspaced(plain):
        return None
    from rapidfuzz import process
    from rapidfuzz.distance import DamerauLevenshtein

    allowed = 1 if len(plain) < LONG_ENOUGH_FOR_TWO else 2
    near: list[tuple[int, str, str]] = []
    for language in languages:
        found = process.extract(
            plain,
            _pool(vocabulary, language, word, plain),
            scorer=DamerauLevenshtein.distance,
            score_cutoff=allowed,
            limit=6,
        )
        near += [(int(distance), other, language) for other, distance, _ in found]
    near.sort(key=lambda one: (one[0], not _slip(plain, one[1]), one[1]))
    for distance, other, language in near:
        if distance > near[0][0]:
            break
        meanings = tuple(m for m in vocabulary.tongues[language].of(other) if m.kind != "misspelt")
        named = [m for m in meanings if m.kind in NOTES]
        likely = any(not m.likeness for m in named) and _likely(plain, other, vocabulary.tongues[language])
        if meanings and (likely or not named):
            sure = _slip(plain, other) or (distance == 1 and len(plain) >= SHORTEST_SURE)
            return Part(word, meanings, "corrected", corrected=other, guessed=not sure)
    return None


def _likely(plain: str, other: str, tongue: Tongue) -> bool:
    """True if a word may be a slip in the name of an off-note, and no word of its own."""
    return plain not in tongue.known and (min(len(plain), len(other)) > SHORT or _slip(plain, other))


def _slip(word: str, other: str) -> bool:
    """True if two words differ only by doubled letters, or by two neighbours that changed places.

    >>> _slip("mustty", "musty"), _slip("mutsy", "musty"), _slip("brand", "bland")
    (True, True, False)
    """
    if re.sub(r"(.)\1", r"\1", word) == re.sub(r"(.)\1", r"\1", other):
        return True
    apart = [at for at, (one, two) in enumerate(zip(word, other, strict=False)) if one != two]
    first = apart[0] if apart else 0
    swapped = word[:first] + word[first : first + 2][::-1] + word[first + 2 :]
    return swapped == other


def _pool(vocabulary: Vocabulary, language: str, word: str, plain: str) -> Sequence[str]:
    tongue = vocabulary.tongues.get(language)
    if tongue is None or (language in MARKED and has_marks(word)):
        return ()
    return [
        other
        for other in tongue.by_letter.get(plain[:1], ())
        if abs(len(other) - len(plain)) <= 2 and other in tongue.exact
    ]
