"""Every line that the lists of a language hold, harmless ones too, indexed to be found by likeness."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from tracer.knowledge.entries import Ambiguity, Descriptor
from tracer.knowledge.word_list import ALONE, LikenedThing, WordList
from tracer.words.known_texts import KnownTexts, index_of
from tracer.words.stems import stem
from tracer.words.thing_index import question
from tracer.words.tokens import fold_word, tokens
from tracer.words.tongue import RUNNING

HARMLESS = ""
"""Label of the lines that mean no off-note."""


@dataclass(frozen=True, slots=True)
class Spelled:
    """A word of a line as lines are compared by it."""

    folded: str
    stem: str


@dataclass(frozen=True)
class KnownLines(Mapping[str, KnownTexts]):
    """Language -> its index, made when a line in that language first comes."""

    languages: tuple[str, ...]
    make: Callable[[str], KnownTexts]
    made: dict[str, KnownTexts] = field(default_factory=dict)

    def __getitem__(self, language: str) -> KnownTexts:
        if language not in self.languages:
            raise KeyError(language)
        if language not in self.made:
            self.made[language] = self.make(language)
        return self.made[language]

    def __iter__(self) -> Iterator[str]:
        return iter(self.languages)

    def __len__(self) -> int:
        return len(self.languages)


def words_in(text: str, language: str) -> list[Spelled]:
    """The words of a line; its signs where words run on."""
    if language in RUNNING:
        return [Spelled(sign, sign) for sign in fold_word(text)]
    return [Spelled(word, stem(word, language)) for word in tokens(text)]


def known_lines(
    language: str,
    descriptors: Iterable[Descriptor],
    ambiguities: Iterable[Ambiguity],
    lists: Iterable[WordList],
    things: Mapping[str, LikenedThing],
) -> KnownTexts:
    """The index over all that a language's lists say, each line under its note, its question, or HARMLESS."""
    told: list[tuple[str, Iterable[str]]] = [
        *((note.id, note.words.get(language, ())) for note in descriptors),
        *((asked.id, asked.words.get(language, ())) for asked in ambiguities),
        *(
            (_question(things[one.thing]) if one.thing else one.note or HARMLESS, one.words)
            for one in lists
            if one.language == language and not one.state
        ),
    ]
    return index_of((label, words_in(text, language)) for label, texts in told for text in texts)


def _question(thing: LikenedThing) -> str:
    return question(thing.id, ALONE if ALONE in thing.means else next(iter(thing.means)))
