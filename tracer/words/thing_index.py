"""Things by kind and their states in one language, to be found however they are spelled; and what is asked about them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product

from tracer.knowledge.entries import INNOCENT, Ambiguity
from tracer.knowledge.language import MARKED, Language
from tracer.knowledge.word_list import LikenedThing
from tracer.wording.sentence import say
from tracer.words.stems import PLURAL, stem_key
from tracer.words.tokens import has_marks, is_unspaced, marked, tokens
from tracer.words.tongue import AS_SPELLED, COMPOUNDING, JOINERS, STEMMED, Tongue

SHORTEST_FIRST_MEMBER, SHORTEST_LAST_MEMBER = 3, 5
"""Letters of the members of a compound whose last one says what kind of thing it is: judgement."""
SHORTEST_BARE = 3
"""Letters of a word without the ending of its number."""
WITHOUT_MARKS = "-"
"""Before a word that bears marks, as people type it without them."""
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
_JOINTS = ("", "s", "n", "en", "es", "er")
_TAKE_ES = ("s", "x", "z", "ch", "sh", "o")


def index(words: Iterable[tuple[str, str]], language: Language, small: frozenset[str]) -> dict[str, str]:
    """Phrase -> kind: as folded, as spelled where it bears marks, and by the stems of several words."""
    found: dict[str, str] = {}
    bare_too = language.id not in (*MARKED, *COMPOUNDING)
    for word, kind in words:
        folded = tokens(word)
        plain = " ".join(folded)
        if is_unspaced(word):
            found.setdefault("".join(folded), kind)
            continue
        if has_marks(word):
            found.setdefault(AS_SPELLED + marked(word), kind)
        if not has_marks(word) or len(folded) > 1:
            found.setdefault(plain, kind)
        elif bare_too:
            found.setdefault(WITHOUT_MARKS + plain, kind)
        elif language.id in COMPOUNDING:
            found.setdefault(" ".join(tokens(marked(word).translate(_UMLAUTS))), kind)
        key = stem_key(folded, language.id, small) if language.id not in MARKED else ""
        if " " in key:
            found.setdefault(STEMMED + key, kind)
    return found


def kind_of(words: Sequence[str], language: str, tongue: Tongue, listed: Mapping[str, str]) -> str | None:
    """The kind that words name in an index, also in another number, or as the last member of a compound.

    A word with marks is only what is spelled so (French "tombé" is no tomb), but for German, whose plurals change them.
    """
    if is_unspaced(words[0]):
        return listed.get("".join(words)) if len(words) > 1 else None
    written = " ".join(words)
    folded = tokens(written)
    plain = " ".join(folded)
    if found := listed.get(AS_SPELLED + written):
        return found
    if language in MARKED:
        return listed.get(plain) if not has_marks(written) else None
    if len(folded) > 1:
        joined = JOINERS.intersection(folded) or tongue.small.intersection((folded[0], folded[-1]))
        key = "" if joined else stem_key(folded, language, tongue.small)
        return listed.get(plain) or (listed.get(STEMMED + key) if " " in key else None)
    if has_marks(written) and language not in COMPOUNDING:
        return next(
            (listed[key] for one in _singulars(written, language) if (key := AS_SPELLED + one) in listed),
            None,
        )
    found = listed.get(plain) or listed.get(WITHOUT_MARKS + plain)
    found = found or next((listed[one] for one in _singulars(plain, language) if one in listed), None)
    if found is None and plain.endswith("es"):
        found = listed.get(WITHOUT_MARKS + plain.removesuffix("es"))
    if found is None and language in COMPOUNDING:
        cuts = range(SHORTEST_FIRST_MEMBER, len(plain) - SHORTEST_LAST_MEMBER + 1)
        found = next(
            (
                listed[plain[cut:]]
                for cut in cuts
                if plain[cut:] in listed and _is_member(plain[:cut], tongue, listed)
            ),
            None,
        )
    return found


def _singulars(word: str, language: str) -> Iterator[str]:
    """What a word may be another number of, itself among them."""
    for endings in PLURAL.get(language, ()):
        for one, other in product(endings, endings):
            bare = word.removesuffix(one)
            if not word.endswith(one) or len(bare) < SHORTEST_BARE:
                continue
            if one == "es" and not (bare.endswith(_TAKE_ES) if language == "en" else bare[-1] not in "aeiou"):
                continue
            yield bare + other


def _is_member(first: str, tongue: Tongue, listed: Mapping[str, str]) -> bool:
    """True if the first part of a compound is a word of the language, with or without what joins it to the next."""
    return any(
        (bare := first.removesuffix(joint) if joint else first) in tongue.known or bare in listed
        for joint in _JOINTS
    )


def question(thing: str, state: str) -> str:
    """Id of the question about a thing in a state."""
    return f"{thing}_{state}"


def questions(things: Iterable[LikenedThing]) -> dict[str, Ambiguity]:
    """What is asked about each thing in each of its states, by id."""
    ask = say("A likeness that may mean several notes: which is meant?")
    return {
        question(thing.id, state): Ambiguity(
            id=question(thing.id, state),
            umbrella=False,
            reads_as=None,
            words={},
            readings=readings,
            ask=ask,
            innocent=thing.what if INNOCENT in readings else None,
        )
        for thing in things
        for state, readings in thing.means.items()
    }
