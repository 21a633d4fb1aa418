"""Phrases that a sentence is alike to by its words, whichever way they come from: offered only to be read, never as sure.

People say a thing in words that no way lists whole. The ways of a phrase and whole sentences that say it (knowledge/sentences) are known
sentences; the nearest of them (see `nearest`) speak for their phrases. What they say places the ways of the sentence too, and tells how
sure a way is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.kept import kept_at, read_json, write_json
from tracer.knowledge.language import Language
from tracer.sentences.match import Match, Token, denials_in, denied_at
from tracer.sentences.nearest import likeness_of, sentences_of
from tracer.words.known_texts import KnownTexts, as_data, from_data

OFFERED = 5
"""Phrases offered at most: tried on the open sentences of tests/reading, as the figures below."""
FACTOR = 5.0
"""What likeness weighs beside a way."""
BESIDE = 2.0
"""What it adds to a way."""
FEWEST = 2
"""Words of a sentence that must be known to the phrase."""
TELLING = 6.0
"""Rarity that the words they share must have together, small words aside: two everyday words, or a rare one."""
LEAST = 0.6
"""Likeness below which it is not worth reading: most sentences say nothing of the sheet."""
COURTESY = ""
"""Stands for the phrase of sentences that say nothing of the coffee."""
SHARE = 0.7
"""Told as the share of a way that was found; below 1, so never sure."""


def known_in(language: str, base: KnowledgeBase) -> KnownTexts:
    """The known sentences of a language, from the cache or indexed anew."""
    path = kept_at(f"nearest.{language}", base.sha256)
    data = read_json(path) if base.sha256 else None
    found = from_data(data) if data is not None else None
    if found is None:
        found = sentences_of(language, known_sentences(language, base))
        if base.sha256:
            write_json(path, as_data(found))
    return found


def known_sentences(language: str, base: KnowledgeBase) -> Iterator[tuple[str, str]]:
    """Each phrase with a text that says it: its ways, once by the first word of every slot and once by all, and whole sentences."""
    for phrase in base.phrases.values():
        for way in phrase.ways.get(language, ()):
            slots = [
                slot.rstrip("?").replace("*", "").replace("_", " ").replace("#", "7") for slot in way.split()
            ]
            yield phrase.id, " ".join(slot.split("|")[0] for slot in slots)
            yield phrase.id, " ".join(slot.replace("|", " ") for slot in slots)
    for part in base.sentences.values():
        for one in part.sentences:
            yield from ((one.phrase, text) for text in one.said.get(language, ()))
    yield from ((COURTESY, text) for text in base.languages[language].courtesy)


def alike(
    words: Sequence[Token],
    nearest: KnownTexts,
    language: Language,
    found: Collection[Match],
    small: Collection[int] = (),
) -> list[Match]:
    """What a sentence may say by its ways, each placed by its likeness too, and phrases that it is only alike to.

    `small` are the places of small words, which make nothing alike by themselves.
    """
    near = likeness_of(words, nearest)
    made = [
        replace(one, beside=BESIDE * near[one.phrase].weight if one.phrase in near else 0.0) for one in found
    ]
    known = {one.phrase: one for one in made}
    denials = denials_in(words, language, language.id)
    offered = 0
    for phrase, likeness in sorted(near.items(), key=lambda one: (-one[1].weight, one[0])):
        if phrase == COURTESY or offered == OFFERED or likeness.weight < LEAST:
            break  # what is nearer to a courtesy is nothing
        stands = nearest.shared(words, likeness.sentences)
        telling = sum(nearest.rarity_of(words[at]) for at in stands.difference(small))
        if len(stands) < FEWEST or telling < TELLING:
            continue
        offered += 1
        own = known.get(phrase)
        score = FACTOR * likeness.weight
        if own is None or (own.share < 1 and own.score + own.beside < score):
            denied = denied_at(set(stands), words, denials, language.id)
            made.append(Match(phrase, score, SHARE, stands, denied))
    return made
