"""A sentence against the ways of a language: which phrases it may say, how well, and by which words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from tracer.knowledge.language import MARKED, AmountWord, Language
from tracer.sentences.ways import JOINING, NUMBER, SHORTEST_INSIDE, Ways
from tracer.words.stems import stem
from tracer.words.tokens import fold_word, has_marks, marked, tokens
from tracer.words.tongue import RUNNING

_WORD = re.compile(
    r"\d+(?=(?:h|hr|hrs|hs|min|d|kg|t|cm|mm|m|c|wk|wks|mo)\b)|[^\W_]+(?:['’][^\W_]+)*", re.IGNORECASE
)
_STOPS = re.compile(r",(?!\d)|:(?!\s*[\d.~<>≈])|[;()。、，；]|\s[-–—]\s|(?<!\d)/(?!\d)")
NEAR = 9
"""Words over which the slots of a way may be spread at no loss."""
BOUNDS: tuple[AmountWord, ...] = ("least", "most", "less", "more")
"""Amount words that may hold a denial and deny nothing: no less than."""
FAR_DENIAL = 8
"""Words before a way within which a denial is of it."""
SAID = 3
"""Words behind a denial after which it has had its say: what is joined on then stands for itself. Tried on the open sentences of tests/reading."""
LEAST_SHARE = 0.5
"""Share of a way's weight that must be there for it to be offered at all."""


@dataclass(frozen=True, slots=True)
class Token:
    """A word of a sentence."""

    text: str
    folded: str
    stem: str
    start: int
    end: int
    clause: int
    number: bool = False


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase that a sentence may say."""

    phrase: str
    score: float
    """Weight of the words found, less for what is missing or far apart."""
    share: float
    """Share of the way's weight that was found; 1 is all of it."""
    places: frozenset[int]
    """Words of the sentence that it rests on."""
    denied: bool
    beside: float = 0.0
    """What all its words together add to its place among others (see `alike`); it makes nothing sure."""

    @property
    def loose(self) -> int:
        """Words of the sentence between those of the way."""
        return max(self.places) - min(self.places) + 1 - len(self.places) if self.places else 0


def read_tokens(text: str, language: str) -> list[Token]:
    """The words of a sentence, each with the clause it stands in."""
    if language in RUNNING:
        return _running(text)
    stops = [match.start() for match in _STOPS.finditer(text)]
    found = []
    for match in _WORD.finditer(text):
        for part in tokens(match[0]):
            clause = sum(stop < match.start() for stop in stops)
            found.append(Token(match[0], part, stem(part, language), match.start(), match.end(), clause))
    return found


def _running(text: str) -> list[Token]:
    """Each sign is a place of its own where words run on."""
    clause, found = 0, []
    for place, sign in enumerate(text):
        if _STOPS.match(sign):
            clause += 1
        folded = fold_word(sign)
        found.append(Token(sign, folded, folded, place, place + 1, clause))
    return found


def matches(text: str, ways: Ways, language: Language) -> list[Match]:
    """Every phrase a sentence may say, the best way of each, best first."""
    words = read_tokens(text, ways.language)
    words = [replace(word, number=is_number(word, language)) for word in words]
    spots = _spots(words, ways)
    denials = denials_in(words, language, ways.language)
    joins = joins_in(words, language)
    nothing = frozenset(map(fold_word, language.nothing))
    best: dict[str, Match] = {}
    seen: dict[int, dict[int, list[tuple[int, int, int]]]] = {}
    for alternative, stretches in spots.items():
        for way, slot in ways.users[alternative]:
            seen.setdefault(way, {}).setdefault(slot, []).extend(
                (start, end, alternative) for start, end in stretches
            )
    for number, slots in seen.items():
        found = _weigh(number, slots, ways, words, denials, joins, nothing)
        if found is not None:
            before = best.get(found.phrase)
            best[found.phrase] = found if before is None else _better(before, found)
    return sorted(best.values(), key=lambda one: (-one.score, one.phrase))


def is_number(word: Token, language: Language) -> bool:
    """True for digits and for a number word; where marks tell words apart, one with marks only as it is written (hái is no hai)."""
    if language.id in MARKED and has_marks(word.text):
        return marked(word.text) in language.numbers
    return word.folded.isdigit() or word.folded in map(fold_word, language.numbers)


def _better(one: Match, other: Match) -> Match:
    """The weightier of two ways of a phrase; where both are wholly there, it rests on the words of the tighter one."""
    best, rest = (one, other) if one.score >= other.score else (other, one)
    if best.share >= 1 and rest.share >= 1 and rest.denied == best.denied and _spread(rest) < _spread(best):
        return replace(best, places=rest.places)
    return best


def _spread(match: Match) -> int:
    return max(match.places) - min(match.places)


def _spots(words: Sequence[Token], ways: Ways) -> dict[int, list[tuple[int, int]]]:
    """Alternative -> stretches of words where it stands."""
    if ways.language in RUNNING:
        return _spots_running(words, ways)
    found: dict[int, list[tuple[int, int]]] = {}
    for at, word in enumerate(words):
        for key in keys_of(word):
            for place in ways.first.get(key, ()):
                end = _fits(words, at, ways.alternatives[place])
                if end is not None:
                    stretches = found.setdefault(place, [])
                    if (at, end) not in stretches:
                        stretches.append((at, end))
        if ways.language in JOINING and len(word.folded) >= 8:
            for cut in range(len(word.folded) - SHORTEST_INSIDE + 1):
                for stop in range(cut + SHORTEST_INSIDE, len(word.folded) + 1):
                    for place in ways.first.get(word.folded[cut:stop], ()):
                        if len(ways.alternatives[place]) == 1:
                            found.setdefault(place, []).append((at, at + 1))
    return found


def keys_of(word: Token) -> list[str]:
    """What an alternative that begins with this word may be filed under: its stem, itself, any number, or its beginnings."""
    keys = [word.stem] if word.stem == word.folded else [word.stem, word.folded]
    keys += [NUMBER] if word.number else []
    return keys + [word.folded[:size] + "*" for size in range(2, len(word.folded) + 1)]


def _fits(words: Sequence[Token], at: int, alternative: Sequence[str]) -> int | None:
    """End of the stretch where an alternative stands, from a word on; one small word may stand between."""
    place = at
    for number, wanted in enumerate(alternative):
        if number:
            while place < len(words) and not _same(words[place], wanted) and place - at <= number:
                place += 1
        if place >= len(words) or not _same(words[place], wanted):
            return None
        place += 1
    return place


def _same(word: Token, wanted: str) -> bool:
    if wanted == NUMBER:
        return word.number
    if wanted.endswith("*"):
        return word.folded.startswith(wanted[:-1])
    return wanted in (word.stem, word.folded)


def _spots_running(words: Sequence[Token], ways: Ways) -> dict[int, list[tuple[int, int]]]:
    text = "".join(word.folded[:1] or " " for word in words)
    found: dict[int, list[tuple[int, int]]] = {}
    by_sign: dict[str, list[tuple[str, int]]] = {}
    for key, places in ways.first.items():
        for place in places:
            by_sign.setdefault(key[0], []).append((key, place))
    for at, sign in enumerate(text):
        for key, place in by_sign.get(sign, ()):
            if text.startswith(key, at):
                found.setdefault(place, []).append((at, at + len(key)))
    return found


def _weigh(
    number: int,
    slots: dict[int, list[tuple[int, int, int]]],
    ways: Ways,
    words: Sequence[Token],
    denials: Sequence[tuple[int, int]],
    joins: Sequence[int],
    nothing: frozenset[str],
) -> Match | None:
    way = ways.ways[number]
    wanted = sum(way.needed)
    if sum(way.needed[slot] for slot in slots) < min(2, wanted):
        return None
    heaviest = {
        slot: max(stretches, key=lambda one: (ways.weights[one[2]], -one[0]))
        for slot, stretches in slots.items()
    }
    anchor = max(heaviest.values(), key=lambda one: ways.weights[one[2]])
    chosen: dict[int, tuple[int, int, int]] = {}
    taken: set[int] = set()
    for slot in sorted(slots, key=lambda one: -ways.weights[heaviest[one][2]]):
        free = [one for one in slots[slot] if not taken & set(range(one[0], one[1]))]
        if free:
            chosen[slot] = min(free, key=lambda one: (-ways.weights[one[2]] // 2, abs(one[0] - anchor[0])))
            taken |= set(range(chosen[slot][0], chosen[slot][1]))
    gained = sum(ways.weights[one[2]] for slot, one in chosen.items() if way.needed[slot])
    extra = sum(0.5 * ways.weights[one[2]] for slot, one in chosen.items() if not way.needed[slot])
    missing = sum(
        _mean(ways, way.slots[slot])
        for slot, needed in enumerate(way.needed)
        if needed and slot not in chosen
    )
    if gained + missing == 0:
        return None
    share = gained / (gained + missing)
    if share < LEAST_SHARE or (missing and sum(way.needed[slot] for slot in chosen) < 2):
        return None
    spread = max(taken) - min(taken) + 1 - len(taken) if ways.language not in RUNNING else 0
    far = 1 / (1 + 0.08 * max(0, spread - NEAR))
    score = (gained + extra) * share * share * far
    denied = denied_at(taken, words, denials, ways.language, joins=joins) or _ends_in_nothing(
        taken, words, nothing
    )
    return Match(way.phrase, score, share, frozenset(taken), denied)


def _mean(ways: Ways, places: Sequence[int]) -> float:
    return sum(ways.weights[place] for place in places) / len(places)


def denials_in(words: Sequence[Token], language: Language, name: str) -> list[tuple[int, int]]:
    """Stretches of words that deny, without those that only look like it."""
    if name in RUNNING:
        text = "".join(word.folded[:1] or " " for word in words)
        return [
            (at, at + len(folded))
            for phrase in language.negation
            if len(folded := fold_word(phrase).replace(" ", "")) > 1
            for at in range(len(text))
            if text.startswith(folded, at)
        ]
    here = {word.folded for word in words}
    bounds = [phrase for kind in BOUNDS for phrase in language.amounts.get(kind, ())]
    only = {
        at
        for phrase in (*language.not_negation, *bounds)
        if tokens(phrase)[:1] and tokens(phrase)[0] in here
        for at in _stretch(words, phrase)
    }
    found = []
    for phrase in language.negation:
        parts = tokens(phrase)
        if not parts or parts[0] not in here:
            continue
        for at in range(len(words) - len(parts) + 1):
            if tuple(word.folded for word in words[at : at + len(parts)]) == parts and at not in only:
                found.append((at, at + len(parts)))
    return found


def _stretch(words: Sequence[Token], phrase: str) -> set[int]:
    parts = tokens(phrase)
    return {
        at + step
        for at in range(len(words) - len(parts) + 1)
        if tuple(word.folded for word in words[at : at + len(parts)]) == parts
        for step in range(len(parts))
    }


def _ends_in_nothing(taken: set[int], words: Sequence[Token], nothing: frozenset[str]) -> bool:
    """True if a word such as nothing stands right behind the way, but for one small word, and is no part of it: smells of nothing."""
    last = max(taken)
    behind = [at for at in (last + 1, last + 2) if at < len(words) and words[at].clause == words[last].clause]
    return any(words[at].folded in nothing for at in behind) and not any(
        words[at].folded in nothing for at in taken
    )


def joins_in(words: Sequence[Token], language: Language) -> list[int]:
    """Places of the words that join clauses or turn: and, but, with."""
    joining = {word for phrase in (*language.breaks, *language.turning) for word in tokens(phrase)}
    return [at for at, word in enumerate(words) if word.folded in joining]


def _used_up(end: int, taken: set[int], joins: Sequence[int]) -> bool:
    """True for a denial that stands far before a joining word which itself stands before these: never saw 71 % and the bags were dry."""
    return any(end + SAID <= at < min(taken) for at in joins)


def denied_at(
    taken: set[int],
    words: Sequence[Token],
    denials: Sequence[tuple[int, int]],
    language: str,
    within: int = FAR_DENIAL,
    joins: Sequence[int] = (),
) -> bool:
    """True if a word of denial that is no part of these stands `within` so many words before them in their clause, or behind where languages do so.

    `joins` are the places of words that join clauses: a denial that has had its say before one does not reach over it.
    """
    clauses = {words[at].clause for at in taken}
    if any(set(range(start, end)) <= taken for start, end in denials):
        return False  # the way denies by itself; where languages deny twice, the second word adds nothing
    for start, end in denials:
        if words[start].clause not in clauses or _used_up(end, taken, joins):
            continue
        if language in RUNNING:
            if start >= min(taken):
                return True
        elif start < max(taken) and start >= min(taken) - within:
            return True
    return False
