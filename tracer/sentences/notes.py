"""Off-notes in a sentence: which are tasted, and which are merely things of the story."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from tracer.sentences.match import Token
from tracer.sentences.proposal import NoteSaid, Proposal
from tracer.words.heard import Reading
from tracer.words.reading import read_sentence
from tracer.words.tokens import fold_word, tokens
from tracer.words.tongue import QUIET, RUNNING
from tracer.words.vocabulary import Vocabulary

TASTED = 6.0
OTHERWISE = 2.5
SURE = 0.5
"""Score of an off-note in a sentence that speaks of a cup, and elsewhere: judgement, tried on the open sentences."""
FILLED, FILLED_BY_TRADE = 0.5, 0.34
"""Share of a clause's telling words that are notes, from which it is a list of notes: for likenesses, for words of the trade."""
GOVERNS, GOVERNS_BACK = 2, 1
"""Other telling words between a word of smell or taste and the note behind it, or before it: judgement, tried on the same."""
_QUOTED = re.compile(r'["“„«][^"“”„»]+(?:["”“»]|$)')


def notes(
    text: str,
    vocabulary: Vocabulary,
    language: str,
    words: Sequence[Token],
    hearsay: bool,
    told: Collection[int] = (),
) -> Iterator[Proposal]:
    """Off-notes named in a sentence, with cups and intensity; surer where the sentence speaks of a cup.

    What stops tasting is taken wherever a sentence speaks of a cup: rather once too often.

    `told` are the signs that surely say something else: sacks that held maize are no note of sack and grain.
    """
    readings = [one for one in read_sentence(text, vocabulary, language) if one.outcome != "clean"]
    named = [one for one in readings if one.descriptor is not None or one.outcome == "ambiguous"]
    if not named:
        return
    telling = _telling(vocabulary, language, words)
    places = {id(one): _words_at(text, one, words) for one in named}
    speaks = _speaks_of_a_cup(vocabulary, language, words)
    finds = speaks and _speaks_of_a_cup(vocabulary, language, _undenied(vocabulary, language, words))
    spoken = {at for found in places.values() for at in found}
    known = len(spoken & telling)
    for reading in named:
        own = places[id(reading)]
        elsewhere = bool(told) and (
            reading.likeness or reading.descriptor is None or bool(set(_signs_of(text, reading)) & set(told))
        )
        everyday = reading.likeness or reading.descriptor is None
        filled = known >= (1 if everyday else 0.5) * len(telling) > 0
        absent = reading.state == "absent"
        stops = any(name in vocabulary.stops for name, _ in _meant(reading))
        spoken_of = speaks if absent or stops else finds
        tasted = (spoken_of or (filled and not elsewhere)) and (
            absent
            or stops
            or reading.cups is not None
            or _tasted(text, vocabulary, language, words, own, spoken, telling, reading)
        )
        for name, share in _meant(reading):
            yield Proposal(
                f"note_{name}",
                "note",
                name,
                "absent" if absent else "present",
                (TASTED if tasted else OTHERWISE) * share,
                tasted and share >= SURE and reading.outcome != "misspelt",
                _signs_of(text, reading),
                hearsay=hearsay,
                note=NoteSaid(
                    reading.state, reading.intensity, reading.cups, reading.of, reading.which, reading.text
                ),
            )


def tasted_first(
    found: Sequence[Proposal], vocabulary: Vocabulary, language: str, words: Sequence[Token]
) -> list[Proposal]:
    """Proposals of a sentence on cups, where what rests on the words of a tasted off-note, and on no word of smell or cups, is only asked.

    Cups that smell of wet cardboard say nothing of a container lined with it.
    """
    entry = vocabulary.languages[language]
    cups = {word for phrase in entry.cup_words for word in tokens(phrase)}
    if not any(word.folded in cups for word in words):
        return list(found)
    heads = cups | {word for phrase in entry.heads for word in tokens(phrase)}
    spoken = {at for word in words if word.folded in heads for at in range(word.start, word.end)}
    tasted = {
        at for one in found if one.kind == "note" and one.sure and one.value == "present" for at in one.places
    }
    return [
        replace(one, sure=False)
        if one.kind in ("record", "answer") and _mostly(one.places, tasted) and not spoken & set(one.places)
        else one
        for one in found
    ]


def _mostly(places: Sequence[int], among: Collection[int]) -> bool:
    return 2 * sum(at in among for at in places) > len(places)


def _telling(vocabulary: Vocabulary, language: str, words: Sequence[Token]) -> set[int]:
    """Places of the words that are neither small nor a measure of strength, a number or a word of cups."""
    tongue = vocabulary.tongues[language]
    cups = {word for phrase in vocabulary.languages[language].cup_words for word in tokens(phrase)}
    quiet = {*QUIET, "slight", "moderate", "strong", "break", "negation", "doubt"}
    return {
        at
        for at, word in enumerate(words)
        if not ({meaning.kind for meaning in tongue.of(word.folded)} & quiet)
        and word.folded not in cups
        and not word.folded[:1].isdigit()
    }


def _words_at(text: str, reading: Reading, words: Sequence[Token]) -> tuple[int, ...]:
    signs = _signs_of(text, reading)
    return tuple(at for at, word in enumerate(words) if word.start < signs[-1] + 1 and word.end > signs[0])


def _tasted(
    text: str,
    vocabulary: Vocabulary,
    language: str,
    words: Sequence[Token],
    own: Sequence[int],
    spoken: Collection[int],
    telling: Collection[int],
    reading: Reading,
) -> bool:
    """True where a note is tasted, and not merely a thing in the story: sacks opened, a shed, the green.

    Either the notes fill their clause, as in a taster's list, or a word of smell or taste governs them: right before a likeness or
    right behind it, near a word of the trade.
    """
    if language in RUNNING:
        return True
    if not own:
        return False
    first, last = words[own[0]], words[own[-1]]
    quoted = next(
        (one for one in _QUOTED.finditer(text) if one.start() <= first.start and last.end <= one.end()), None
    )
    clause = [
        at
        for at in telling
        if words[at].clause == first.clause
        and (quoted is None or quoted.start() <= words[at].start < quoted.end())
    ]
    filled = sum(at in spoken for at in clause)
    entry = vocabulary.languages[language]
    things = {word for phrase in entry.things for word in tokens(phrase)}
    thing = all(words[at].folded in things for at in own if at in telling)
    share = 1.0 if thing else FILLED if reading.likeness else FILLED_BY_TRADE
    listed = not thing or any(words[at].folded not in things for at in spoken)
    if clause and listed and filled >= share * len(clause):
        return True
    if thing and any(
        words[at].clause == first.clause
        and words[at].folded not in things
        and sum(min(at, *own) < one < max(at, *own) and one not in spoken for one in telling) <= GOVERNS_BACK
        for at in set(spoken) - set(own)
    ):
        return True  # phenolic and a bit like wet cardboard
    heads = {word for phrase in entry.heads for word in tokens(phrase)}
    for at, word in enumerate(words):
        if word.folded in heads and word.clause == first.clause and at not in own:
            low, high = min(at, *own), max(at, *own)
            between = [one for one in telling if low < one < high and one not in spoken]
            before = at < own[0]
            near = GOVERNS if before else 0 if reading.likeness or thing else GOVERNS_BACK
            if len(between) <= near:
                return True
    return False


def _meant(reading: Reading) -> list[tuple[str, float]]:
    """The off-notes a reading may mean, with the share of tasters who mean them."""
    if reading.descriptor is not None:
        return [(reading.descriptor, 1.0)]
    return sorted(
        ((name, share) for name, share in reading.weights if name in reading.candidates),
        key=lambda one: -one[1],
    )[:3]


def _speaks_of_a_cup(vocabulary: Vocabulary, language: str, words: Sequence[Token]) -> bool:
    entry = vocabulary.languages[language]
    heads = {word for phrase in (*entry.heads, *entry.cup_words) for word in tokens(phrase)}
    if language in RUNNING:
        text = "".join(word.folded for word in words)
        return any(head in text for head in heads)
    return any(word.folded in heads for word in words)


def _undenied(vocabulary: Vocabulary, language: str, words: Sequence[Token]) -> list[Token]:
    """The words that no denial stands right before: a store with no smell has said nothing of what stands in it."""
    denials = {word for phrase in vocabulary.languages[language].negation for word in tokens(phrase)}
    return [word for at, word in enumerate(words) if not (at and words[at - 1].folded in denials)]


def _signs_of(text: str, reading: Reading) -> tuple[int, ...]:
    at = (
        fold_word(text).find(fold_word(reading.text)) if reading.text not in text else text.find(reading.text)
    )
    return tuple(range(at, at + len(reading.text))) if at >= 0 else tuple(range(len(text)))
