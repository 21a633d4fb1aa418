"""What a sentence compares the lot with: "tanks 1 and 3 clean", "the other bags are fine", "roasted on the other machine: same".

A part of the lot or another coffee is named (a noun with a number, a letter, a side or a word for the rest; or a sample, a machine, a
water that is another anyhow), and the nearest word beside it says that it is clean, or just the same.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from tracer.knowledge.language import MARKED, Language
from tracer.sentences.match import Token
from tracer.sentences.proposal import Proposal
from tracer.words.tokens import fold_word, has_marks, marked, tokens
from tracer.words.tongue import RUNNING

SIBLING = "sibling"
"""How the ids of these proposals begin."""
SCORE = 7.5
"""As a way that is wholly there: judgement."""
PARTS = frozenset(
    ["other_bag", "other_container", "other_store", "other_tank", "other_day", "other_farm", "sister_lot"]
)
"""What must be named with a number, a letter, a side or a word for the rest: any lot has bags."""
PLACES = frozenset(["other_bag", "other_container", "other_store", "other_tank"])
"""What may be clean itself: that a row of the sheet is sure to say so counts first."""
USUAL = "other_day"
"""What bare numbers and the rest of something unnamed are taken for."""
AWAY, AWAY_BEFORE, LABEL = 12, 4, 2
"""Words between a part and what is said of it, behind it and before it, and between it and its label: judgement."""
CLAUSES = 6
"""Breaks of clause over which something may still be said of a part: judgement."""
_SCORE = re.compile(r"[=:,]\s*((?:8\d|9[0-2])(?:[.,](?:0|25|50?|75))?)(?=\s*(?:$|[,;.)]|[^\W\d]{5,}))")
"""Points that a coffee without a fault is given, standing alone behind a sign: common practice."""
Span = tuple[int, int, str]
"""First word, word behind the last, and what it is."""


@dataclass(frozen=True)
class _Index:
    """Phrases of one kind, by their first word."""

    phrases: Mapping[str, tuple[tuple[tuple[str, ...], tuple[str, ...], str], ...]]
    """First folded word -> (folded words, words with their marks, what it is), the longest first."""

    def spans(self, words: Sequence[Token], language: str) -> list[Span]:
        """Where phrases stand, the longest first, none inside another."""
        found: list[Span] = []
        at = 0
        while at < len(words):
            hit = next(
                (
                    (at, at + len(folded), name)
                    for folded, with_marks, name in self.phrases.get(words[at].folded[:1] or " ", ())
                    if _stands(words, at, folded, with_marks, language)
                ),
                None,
            )
            if hit is not None:
                found.append(hit)
            at = hit[1] if hit is not None else at + 1
        return found


def _stands(
    words: Sequence[Token], at: int, folded: tuple[str, ...], with_marks: tuple[str, ...], language: str
) -> bool:
    if at + len(folded) > len(words):
        return False
    for word, plain, exact in zip(words[at : at + len(folded)], folded, with_marks, strict=True):
        if language in MARKED and has_marks(word.text):
            if marked(word.text) != exact:
                return False
        elif word.folded != plain:
            return False
    return True


def _index(named: Mapping[str, Sequence[str]], language: str) -> _Index:
    by_first: dict[str, list[tuple[tuple[str, ...], tuple[str, ...], str]]] = {}
    for name, phrases in named.items():
        for phrase in phrases:
            if language in RUNNING:
                folded = tuple(fold_word(sign) for sign in phrase if not sign.isspace() or language != "ja")
                exact = folded
            else:
                folded = tuple(tokens(phrase))
                exact = tuple(marked(word) for word in phrase.replace("-", " ").split())
                exact = exact if len(exact) == len(folded) else folded
            if folded:
                by_first.setdefault(folded[0][:1], []).append((folded, exact, name))
    return _Index(
        {first: tuple(sorted(found, key=lambda one: -len(one[0]))) for first, found in by_first.items()}
    )


@dataclass(frozen=True)
class Siblings:
    """The words of one language for parts of a lot and other coffees, and for clean and the same."""

    language: str
    parts: _Index
    rest: _Index
    places: _Index
    fine: _Index
    unchanged: _Index
    zero: _Index
    turns: _Index
    cups: _Index
    negation: _Index
    same_as: _Index
    taste: _Index
    small: frozenset[str]
    """Words that may stand behind "the same" where it speaks of the cup."""

    def read(
        self, text: str, words: Sequence[Token], hearsay: bool, notes: Collection[int], told: Collection[int]
    ) -> Iterator[Proposal]:
        """What the sentence compares with. `notes` are the signs of off-notes found in it, `told` those that say something else for sure."""
        fine = sorted([*self._not_denied(words), *_scored(text, words)])
        same = [one for one in self.unchanged.spans(words, self.language) if self._alone(words, one, notes)]
        named = self._named(words)
        taken: set[tuple[str, str]] = set()
        for shows, spans in (("clean", fine), ("same", same)):
            for span in spans:
                signs = _signs(words, range(span[0], span[1]))
                part = self._part(words, named, span, notes) or (
                    self._numbers(words, span) if shows == "clean" else None
                )
                if part is None or (shows == "same" and part[2] in PARTS):
                    continue
                with_ = part[2]
                if with_ in PLACES and signs & set(told):
                    continue
                if any(one == with_ for one, _ in taken):
                    continue
                taken.add((with_, shows))
                sure = shows == "clean" or bool(notes) or self._of_taste(words, span, part)
                places = sorted(_signs(words, range(part[0], part[1])) | signs)
                yield Proposal(
                    f"{SIBLING}_{with_}_{shows}",
                    "comparison",
                    with_,
                    shows,
                    SCORE if sure else SCORE / 2,
                    sure,
                    tuple(places),
                    hearsay=hearsay,
                )

    def _of_taste(self, words: Sequence[Token], same: Span, part: Span) -> bool:
        """False for a single word such as "still" or "also" where the sentence says nothing of cups or smell: still in its tin."""
        if (
            same[1] - same[0] > 1
            or same in self.same_as.spans(words, self.language)
            or self.language in RUNNING
        ):
            return True
        told = (*self.cups.spans(words, self.language), *self.taste.spans(words, self.language))
        clause = words[same[0]].clause
        return any(words[at].clause == clause and not part[0] <= at < part[1] for at, _, _ in told)

    def _alone(self, words: Sequence[Token], same: Span, notes: Collection[int]) -> bool:
        """True where no thing stands right behind it that they have in common instead: the same flight, the same laboratory."""
        behind = same[1]
        if same not in self.same_as.spans(words, self.language):
            return True
        if behind >= len(words) or words[behind].clause != words[same[0]].clause:
            return True
        word = words[behind]
        return word.folded in self.small or bool(_signs(words, [behind]) & set(notes))

    def of_the_clean(self, words: Sequence[Token], found: Sequence[Proposal]) -> set[int]:
        """Signs of what is said of a part that is clean: from its name to the next part, a "but" or the end of the sentence."""
        named = [start for start, _, _ in self._named(words)]
        turns = [start for start, _, _ in self.turns.spans(words, self.language)]
        signs: set[int] = set()
        for one in found:
            if one.value == "clean":
                own = [at for at, word in enumerate(words) if word.start in one.places]
                behind = max(own, default=len(words)) + 1
                last = min((at for at in (*named, *turns) if at >= behind), default=len(words))
                signs |= _signs(words, range(min(own, default=last), last))
        return signs

    def _not_denied(self, words: Sequence[Token]) -> list[Span]:
        fine = self.fine.spans(words, self.language)
        denials = self.negation.spans(words, self.language)
        return [
            one
            for one in sorted([*fine, *self._none(words)])
            if not any(
                (start, end) != one[:2] and one[0] - 2 <= start < one[0] and end <= one[0]
                for start, end, _ in denials
            )
        ]

    def _none(self, words: Sequence[Token]) -> Iterator[Span]:
        """No cup of so many: 0 of 30 cups, cero en 90 tazas."""
        cups = [start for start, _, _ in self.cups.spans(words, self.language)]
        for start, end, _ in self.zero.spans(words, self.language):
            cup = next(
                (at for at in cups if 0 <= at - end <= 4 * (2 if self.language in RUNNING else 1)), None
            )
            if cup is not None and words[cup].clause == words[start].clause:
                yield start, cup + 1, "fine"

    def _named(self, words: Sequence[Token]) -> list[Span]:
        """Parts and other coffees named, in order; and the rest of something, by what it is the rest of."""
        parts = self.parts.spans(words, self.language)
        labels = self._labels(words)
        rest = self.rest.spans(words, self.language)
        labels |= {at for start, end, _ in rest for at in range(start, end)}
        found = [
            part
            for part in parts
            if part[2] not in PARTS
            or (
                any(part[0] - LABEL <= at < part[0] or part[1] <= at < part[1] + LABEL for at in labels)
                and not (part[2] in PLACES and self._shared(words, part))
            )
        ]
        inside = {at for start, end, _ in parts for at in range(start, end)}
        for start, end, _ in rest:
            if not inside & set(range(start - LABEL, end + LABEL)):
                before = [part for part in parts if part[2] in PARTS and part[1] <= start]
                found.append((start, end, before[-1][2] if before else USUAL))
        return sorted(found)

    def _shared(self, words: Sequence[Token], part: Span) -> bool:
        """True for the place they have in common, which is no other one: in the same container."""
        same = self.unchanged.spans(words, self.language)
        return any(part[0] - LABEL <= start and end <= part[0] for start, end, _ in same)

    def _labels(self, words: Sequence[Token]) -> set[int]:
        """Places of numbers, single letters, marks such as CB-12, and sides."""
        labels = {at for start, end, _ in self.places.spans(words, self.language) for at in range(start, end)}
        for at, word in enumerate(words):
            letter = len(word.text) == 1 and word.text.isalpha() and word.text.isupper()
            code = any(sign.isdigit() for sign in word.text)
            if (letter and self.language not in RUNNING) or code:
                labels.add(at)
        return labels

    def _part(
        self, words: Sequence[Token], named: Sequence[Span], said: Span, notes: Collection[int]
    ) -> Span | None:
        """The part nearest before what is said, or else right behind it, with no off-note between them."""
        far = AWAY * (3 if self.language in RUNNING else 1)
        before = [one for one in named if one[1] <= said[0] and said[0] - one[1] <= far]
        if before:
            one = before[-1]
            near = words[said[0]].clause - words[one[1] - 1].clause <= CLAUSES
            if near and not _signs(words, range(one[1], said[0])) & set(notes):
                return one
        behind = [
            one
            for one in named
            if 0 <= one[0] - said[1] <= AWAY_BEFORE and words[one[0]].clause == words[said[1] - 1].clause
        ]
        if behind and not _signs(words, range(said[1], behind[0][0])) & set(notes):
            return behind[0]
        return None

    def _numbers(self, words: Sequence[Token], said: Span) -> Span | None:
        """Bare numbers right before what is said, at the beginning of a clause: 12 and 13 fine."""
        if self.language in RUNNING:
            return None
        start = said[0]
        while start and (words[start - 1].folded.isdigit() or len(words[start - 1].folded) <= 3):
            start -= 1
        digits = sum(words[at].folded.isdigit() for at in range(start, said[0]))
        begins = start == 0 or words[start - 1].clause != words[start].clause
        return (start, said[0], USUAL) if digits and begins else None


def _scored(text: str, words: Sequence[Token]) -> Iterator[Span]:
    """Where a part is told by its points alone: bags 1 to 95 = 83.5."""
    for match in _SCORE.finditer(text):
        inside = [at for at, word in enumerate(words) if match.start(1) <= word.start < match.end(1)]
        if inside:
            yield inside[0], inside[-1] + 1, "fine"


def _signs(words: Sequence[Token], places: Collection[int]) -> set[int]:
    return {sign for at in places for sign in range(words[at].start, words[at].end)}


@lru_cache(maxsize=32)
def _built(
    key: tuple[str, str],
    fields: tuple[tuple[str, tuple[tuple[str, tuple[str, ...]], ...]], ...],
    small: tuple[str, ...],
) -> Siblings:
    language = key[0]
    made = {name: _index(dict(phrases), language) for name, phrases in fields}
    return Siblings(language, **made, small=frozenset(small))


def siblings_of(entry: Language) -> Siblings:
    """The words of a language, indexed once."""
    fields = (
        ("parts", tuple((name, phrases) for name, phrases in entry.siblings.items())),
        ("rest", (("rest", entry.rest),)),
        ("places", (("place", entry.places),)),
        ("fine", (("fine", (*entry.clean, *entry.fine)),)),
        ("unchanged", (("same", entry.unchanged),)),
        ("zero", (("zero", entry.zero),)),
        ("turns", (("turn", entry.turning),)),
        ("cups", (("cup", entry.cup_words),)),
        ("negation", (("no", entry.negation),)),
        ("same_as", (("same", entry.same_as),)),
        ("taste", (("taste", (*entry.heads, *entry.noticing)),)),
    )
    behind = (*entry.carriers, *entry.fillers, *entry.heads, *entry.breaks, *entry.turning, *entry.cup_words)
    small = tuple(word for phrase in behind for word in tokens(phrase))
    return _built((entry.id, ""), fields, small)
