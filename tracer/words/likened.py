"""A kind of thing in a state, such as "a rotten board" or "the coop in August" -> a part with the off-notes that tasters mean by it.

No list holds every likeness. Lists of things by kind and of states, and what each pair means (knowledge/things.yaml), hold most of
them; what is read so is always asked. What a list of likenesses or of the trade knows for sure keeps its meaning.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tracer.knowledge.word_list import ALONE
from tracer.words.part import NOTES, Part
from tracer.words.thing_index import kind_of, question
from tracer.words.tokens import fold_word, is_unspaced, marked
from tracer.words.tongue import Meaning, Tongue
from tracer.words.vocabulary import Vocabulary

FARTHEST = 4
"""Words that may stand between a thing and its state: judgement."""
PARTICLES = "のにはがともをなやでいたる"
"""Signs of hiragana behind which a Japanese word may begin."""
LONGEST = 10
"""Words or signs of the longest thing or state that is looked for."""
KNOWN_BY_STATE = 0.6
"""Share from which a state that names an off-note by itself stays what it is: mouldy bread is mouldy. Judgement."""


@dataclass(frozen=True)
class _Unit:
    """A word of a clause, or a sign of a script without spaces, and the part it stands in."""

    text: str
    part: int
    written: str = ""
    """A sign as it was written."""


@dataclass(frozen=True)
class _Found:
    """A thing or a state, and the units and parts it covers."""

    id: str
    first: int
    after: int
    parts: range


def likened(parts: Sequence[Part], vocabulary: Vocabulary, languages: Sequence[str]) -> list[Part]:
    """The parts of a clause, with each thing and its state in the place of the words that name them."""
    tongues = [(name, vocabulary.tongues[name]) for name in languages if name in vocabulary.tongues]
    if not any(tongue.things for _, tongue in tongues) or all(
        part.names_a_note and not part.likened for part in parts
    ):
        return list(parts)
    units = list(_units(parts))
    things = [one for one in _find(units, tongues, "things", ()) if _whole(one, units, parts)]
    if not things:
        return list(parts)
    states = [one for one in _find(units, tongues, "states", things) if _whole(one, units, parts)]
    made: dict[int, Part] = {}
    gone: set[int] = set()
    for thing in things:
        near = _nearest(thing, states, parts, vocabulary)
        told = _told(thing, near, parts, vocabulary)
        if told is None:
            continue
        stated = near if near and not _sure(near.parts, parts, vocabulary) else None
        covered = sorted({*thing.parts, *(stated.parts if stated else ())})
        if gone.intersection(covered):
            continue
        text = ("" if is_unspaced(parts[covered[0]].text) else " ").join(parts[at].text for at in covered)
        language = languages[0]
        made[covered[0]] = Part(text, (Meaning(language, "ambiguity", question(thing.id, told)),))
        gone.update(covered)
        if near:
            gone.update(
                at for other in states for at in other.parts if other is not near and _loose(parts[at])
            )
    return [made.get(at, part) for at, part in enumerate(parts) if at in made or at not in gone]


def _units(parts: Sequence[Part]) -> Iterator[_Unit]:
    for at, part in enumerate(parts):
        if part.count is not None:
            yield _Unit("\ue000", at)
        elif is_unspaced(part.text):
            folded = fold_word(part.text)
            written = part.text if len(part.text) == len(folded) else folded
            yield from (_Unit(sign, at, own) for sign, own in zip(folded, written, strict=True))
        else:
            yield from (_Unit(word, at) for word in marked(part.text).split())


def _find(
    units: Sequence[_Unit], tongues: Sequence[tuple[str, Tongue]], table: str, taken: Iterable[_Found]
) -> Iterator[_Found]:
    """Longest first, from left to right, none over another nor over what is taken."""
    blocked = {at for one in taken for at in range(one.first, one.after)}
    start = 0
    while start < len(units):
        for after in range(min(len(units), start + LONGEST), start, -1):
            if blocked.intersection(range(start, after)) or not _apart(units, start, after):
                continue
            text = [unit.text for unit in units[start:after]]
            found = next(
                (
                    one
                    for name, tongue in tongues
                    if (one := kind_of(text, name, tongue, getattr(tongue, table)))
                ),
                None,
            )
            if found:
                yield _Found(found, start, after, range(units[start].part, units[after - 1].part + 1))
                start = after
                break
        else:
            start += 1


def _apart(units: Sequence[_Unit], start: int, after: int) -> bool:
    """False within a longer word of one script: the tile of タイル is in no スタイル; a particle may stand before hiragana."""
    before = units[start - 1].written if start else ""
    behind = units[after].written if after < len(units) else ""
    first, last = units[start].written, units[after - 1].written
    if _katakana(first) and _katakana(before):
        return False
    if _katakana(last) and _katakana(behind):
        return False
    return not (_hiragana(first) and _hiragana(before) and before not in PARTICLES)


def _katakana(sign: str) -> bool:
    return bool(sign) and ("ァ" <= sign <= "ヶ" or sign == "ー")


def _hiragana(sign: str) -> bool:
    return bool(sign) and "ぁ" <= sign <= "ゖ"


def _whole(found: _Found, units: Sequence[_Unit], parts: Sequence[Part]) -> bool:
    """True for what is no small word, and holds no part with a meaning half: the "wet" of "wet paper" is no state of something else."""
    if len(found.parts) == 1 and parts[found.parts[0]].kinds - {*NOTES, "harmless", "quality"}:
        return False
    if any("break" in parts[at].kinds for at in found.parts):
        return False
    outside = {unit.part for unit in (*units[: found.first], *units[found.after :])}
    return all(_loose(parts[at]) for at in found.parts if at in outside)


def _nearest(
    thing: _Found, states: Sequence[_Found], parts: Sequence[Part], vocabulary: Vocabulary
) -> _Found | None:
    """The state that is said of a thing: the nearest in its clause, with no "but", denial or count between."""
    means = vocabulary.likened.get(thing.id, {})

    def between(state: _Found) -> range:
        return range(min(thing.parts.stop, state.parts.stop), max(thing.parts.start, state.parts.start))

    near = [
        state
        for state in states
        if state.id in means
        and len(between(state)) <= FARTHEST
        and not any(parts[at].kinds & {"break", "negation"} or parts[at].count for at in between(state))
    ]
    return min(near, key=lambda one: (len(between(one)), one.first), default=None)


def _told(thing: _Found, state: _Found | None, parts: Sequence[Part], vocabulary: Vocabulary) -> str | None:
    """The state that is told of a thing, `alone`, or None where the words keep the meaning they have."""
    means = vocabulary.likened.get(thing.id, {})
    sure = _sure(thing.parts, parts, vocabulary)
    if state is not None:
        by_state = _sure(state.parts, parts, vocabulary)
        readings = means[state.id]
        if sure or any(readings.get(name, 0.0) >= KNOWN_BY_STATE for name in by_state):
            return None
        return state.id
    if ALONE not in means or sure or not any(_loose(parts[at]) for at in thing.parts):
        return None
    others = [part for at, part in enumerate(parts) if at not in thing.parts]
    if any(part.names_a_note or part.kinds & {"harmless", "clean"} for part in others):
        return None
    return ALONE


def _sure(covered: range, parts: Sequence[Part], vocabulary: Vocabulary) -> set[str]:
    """Off-notes that words name by themselves, without a question.

    Of a longer expression with a word that is not known, its other words name nothing, but for what stops tasting: a cereal box is no
    cereal.
    """
    longer = len(covered) > 1 and any(_loose(parts[at]) for at in covered)
    return {
        meaning.id
        for at in covered
        for meaning in parts[at].meanings
        if meaning.kind in NOTES
        and meaning.id not in vocabulary.ambiguities
        and not parts[at].guessed
        and (not longer or meaning.id in vocabulary.stops)
    }


def _loose(part: Part) -> bool:
    """A word that nothing is known of, or only that it stands in some likeness."""
    return part.count is None and (not part.kinds or part.guessed) and part.how != "corrected"
