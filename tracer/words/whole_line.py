"""What a line means as a whole: by the lines of everyday speech, harmless ones among them, that it is nearest to.

No list holds every way to say an event ("opened the jar a month ago and forgot the lid"). Where a line, or a clause of it, is nearer to
those that mean an off-note than to harmless ones, and none of its words named that note, the note is asked. A word that names an off-note
in a line and a clause that are both nearer to another meaning is asked too ("raw potato peel" is not raw); and what a word might mean is no
longer asked where both are much nearer to harmless ones. What stops tasting, and a line that the lists hold, stays what they say.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from tracer.knowledge.entries import INNOCENT
from tracer.wording.sentence import say
from tracer.words.clauses import MARKED, Count, read_mark
from tracer.words.heard import DOUBT_OF_LIKENESS, UNTIL_SETTLED, Reading, as_question
from tracer.words.known_lines import HARMLESS, words_in
from tracer.words.part import JOINING
from tracer.words.tokens import tokens
from tracer.words.tongue import RUNNING
from tracer.words.vocabulary import Vocabulary

NEAREST = 60
"""Known lines that are looked at. Tried, as the figures below, on 1,000 lines of ten languages by people who had not seen the lists."""
SHARES = (1.0, 0.5, 0.25, 0.12, 0.06)
"""What the nearest lines of a note add to it, the nearest first."""
LEAST = 1.4
"""Likeness to a note below which a line says nothing."""
NEARER = 0.2
"""By how much it must be nearer to the note than to what is harmless."""
NEARER_OTHER, NEARER_THAN_TRADE = 0.3, 0.6
"""By how much it must be nearer to another meaning, for a likeness that names an off-note to be asked, and for a word of the trade."""
FARTHER = 0.8
"""By how much it must be nearer to what is harmless, for a word that may mean a note to be let go."""
FEWEST, FEWEST_SIGNS = 2, 5
"""Words, and signs where words run on, that a line must share with one of those, or more with several: one word alone is for the lists."""
TELLING = 9.0
"""Rarity that the words it shares with those lines must have together, small words aside: two everyday words, or a rare one."""
MOST = 3
"""Off-notes offered."""
RIGHT = 0.7
"""Share of such lines that mean one of the off-notes offered: 56 of 75 of the same lines and the open ones, less a little as they chose it."""


def as_a_whole(
    clauses: Sequence[str], readings: Sequence[Reading], vocabulary: Vocabulary, languages: Sequence[str]
) -> list[Reading]:
    """The readings of a line, with what it adds to them or takes from them as a whole. `clauses` are its own, with their counts marked."""
    counts = [read_mark(piece) for one in clauses for piece in MARKED.split(one) if MARKED.fullmatch(piece)]
    bare = [text for one in clauses if (text := " ".join(MARKED.sub(" ", one).split()))]
    if not bare or _listed(bare, vocabulary, languages):
        return list(readings)
    line = _Likened(" ".join(bare), vocabulary, languages)
    each = [_Likened(one, vocabulary, languages) for one in bare] if len(bare) > 1 else [line]
    said = {name for one in readings for name in (one.descriptor, *one.candidates)}
    kept = [
        told
        for one in readings
        if (told := _settled(one, line, _clause_of(one, each, line), said, vocabulary, languages)) is not None
    ]
    if any(one.state == "absent" for one in readings):
        return kept
    named = {name for one in kept for name in (one.descriptor, *one.candidates)}
    for whole in dict.fromkeys((line, *each)):
        offered = whole.offered()
        if offered and offered[0] not in named:
            free = len(counts) == 1 and all(one.cups is None for one in kept if one.outcome != "unknown")
            asked = _asked(whole, offered, counts[0] if free else None, vocabulary)
            held = set(tokens(whole.text))
            return [
                *(one for one in kept if one.outcome != "unknown" or not held.issuperset(tokens(one.text))),
                asked,
            ]
    return kept


class _Likened:
    """A line or a clause, and how near it is to the lines that mean each off-note, or none."""

    def __init__(self, text: str, vocabulary: Vocabulary, languages: Sequence[str]) -> None:
        self.text = text
        self.vocabulary = vocabulary
        self.language = ""
        self.lines: dict[str, list[int]] = {}
        """Off-note or innocent -> the known lines that mean it, likest first."""
        self.near: dict[str, float] = {}
        """Off-note or innocent -> likeness to those lines, in the language that knows the likest."""
        likest = 0.0
        for language in languages:
            known = vocabulary.lines[language]
            found = known.nearest(words_in(text, language), NEAREST)
            if found and found[0][1] > likest:
                likest, self.language = found[0][1], language
                self._weigh(found)
        self.innocent = self.near.get(INNOCENT, 0.0)

    def _weigh(self, found: Sequence[tuple[int, float]]) -> None:
        each: dict[str, list[float]] = {}
        self.lines = {}
        for place, likeness in found:
            label = self.vocabulary.lines[self.language].label(place)
            for name, share in _meant(label, self.vocabulary):
                each.setdefault(name, []).append(likeness * share)
                self.lines.setdefault(name, []).append(place)
        self.near = {
            name: sum(share * one for share, one in zip(SHARES, sorted(of, reverse=True), strict=False))
            for name, of in each.items()
        }

    def offered(self) -> tuple[str, ...]:
        """Off-notes that it may mean, the likest first."""
        likely = (
            name
            for name, likeness in self.near.items()
            if name != INNOCENT
            and likeness >= max(LEAST, self.innocent + NEARER)
            and self._telling(self.lines[name][: len(SHARES)]) >= TELLING
        )
        return tuple(sorted(likely, key=lambda name: (-self.near[name], name))[:MOST])

    def _telling(self, lines: Sequence[int]) -> float:
        """Rarity of the words that it shares with some known lines, small ones aside; 0 where they are too few."""
        known, small = self.vocabulary.lines[self.language], self.vocabulary.tongues[self.language].small
        words = words_in(self.text, self.language)
        each = [{at for at in known.shared(words, (one,)) if words[at].folded not in small} for one in lines]
        shared = set[int]().union(*each)
        together = max(map(len, each), default=0)
        running = self.language in RUNNING
        few = together < FEWEST_SIGNS if running else together < FEWEST and len(shared) <= FEWEST
        return 0.0 if few else sum(known.rarity_of(words[at]) for at in shared)

    def to(self, names: Iterable[str]) -> float:
        """Likeness to the likest of some off-notes."""
        return max((self.near.get(name, 0.0) for name in names), default=0.0)

    def other(self, names: Collection[str | None]) -> str:
        """The likest meaning beside some off-notes; empty where there is none."""
        return max(
            (name for name in self.near if name not in names), key=lambda name: self.near[name], default=""
        )


def _settled(
    one: Reading,
    line: _Likened,
    clause: _Likened,
    said: Collection[str | None],
    vocabulary: Vocabulary,
    languages: Sequence[str],
) -> Reading | None:
    """A reading as the line lets it stand: as it is, asked where a meaning that nothing else in it says is nearer, or None for a
    question that the line answers."""
    if (
        one.state == "absent"
        or one.foreign
        or one.outcome in ("clean", "unknown")
        or one.descriptor in vocabulary.stops
    ):
        return one
    if _stands_alone(one, clause.text, vocabulary, languages):
        return one
    if one.descriptor is None:
        harmless = all(
            text.innocent >= FARTHER + text.to(one.candidates) for text in (line, clause)
        ) and not vocabulary.stops.intersection(one.candidates)
        return None if harmless and one.candidates else one
    names = (one.descriptor, *one.candidates)
    other = line.other(said)
    enough = NEARER_OTHER if one.likeness else NEARER_THAN_TRADE
    if not other or any(text.near.get(other, 0.0) < enough + text.to(names) for text in (line, clause)):
        return one
    asked = as_question(one, one.descriptor)
    if other == INNOCENT:
        return asked
    share = (1 - DOUBT_OF_LIKENESS) / 2
    weights = ((one.descriptor, DOUBT_OF_LIKENESS), (other, share), (INNOCENT, share))
    ask = (asked.ask or "") + UNTIL_SETTLED if other in vocabulary.stops else asked.ask
    return replace(asked, candidates=(one.descriptor, other), weights=weights, ask=ask)


def _stands_alone(one: Reading, clause: str, vocabulary: Vocabulary, languages: Sequence[str]) -> bool:
    """True where its clause holds nothing else but words of strength, doubt and the like: "a bit winey"."""
    rest = [word for word in tokens(clause) if word not in tokens(one.text)]
    return all({m.kind for m in vocabulary.of(word, languages)} & (JOINING | {"head"}) for word in rest)


def _clause_of(one: Reading, clauses: Sequence[_Likened], line: _Likened) -> _Likened:
    own = " ".join(tokens(one.text))
    return next((clause for clause in clauses if own in " ".join(tokens(clause.text))), line)


def _listed(clauses: Sequence[str], vocabulary: Vocabulary, languages: Sequence[str]) -> bool:
    """A line that stands in the lists as it is, or a list of such."""
    return all(vocabulary.of(" ".join(tokens(one)), languages, one) for one in clauses)


def _meant(label: str, vocabulary: Vocabulary) -> Iterable[tuple[str, float]]:
    if label == HARMLESS:
        return ((INNOCENT, 1.0),)
    asked = vocabulary.ambiguities.get(label)
    return asked.readings.items() if asked is not None else ((label, 1.0),)


def _asked(text: _Likened, offered: Sequence[str], count: Count | None, vocabulary: Vocabulary) -> Reading:
    whole = sum(text.near[name] for name in offered)
    weights = {name: RIGHT * text.near[name] / whole for name in offered}
    ask = say("The line as a whole is like others that mean this: is one of them meant?")
    return Reading(
        text.text,
        None,
        "present",
        "unstated",
        "ambiguous",
        cups=count.cups if count else None,
        of=count.of if count else None,
        which=count.which if count else (),
        candidates=tuple(offered),
        ask=ask + UNTIL_SETTLED if vocabulary.stops.intersection(offered) else ask,
        weights=(*weights.items(), (INNOCENT, 1 - RIGHT)),
    )
