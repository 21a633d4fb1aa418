"""Things named in a sentence: off-notes, materials that met the coffee, compounds a laboratory found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from tracer.amounts import Amount
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.language import MARKED as MARKED_LANGUAGES
from tracer.knowledge.language import Language
from tracer.lots.laboratory import compound_names, plain
from tracer.sentences.match import Token, denials_in, denied_at
from tracer.sentences.proposal import Proposal
from tracer.words.clauses import MARKED, clauses, read_mark
from tracer.words.stems import stem
from tracer.words.tokens import fold_word, has_marks, marked, tokens
from tracer.words.tongue import RUNNING
from tracer.words.vocabulary import Vocabulary

TOUCHED = 4.0
COUNTED = 5.0
MEASURED = 7.0
NEAR = 4
"""Words between a material and those for how it met the coffee, within which it surely did: tried on the open sentences of tests/reading."""
DENIED_WITHIN = 4
"""Words before a material within which a denial is of it: no wood fire anywhere near."""


def counted_cups(text: str, vocabulary: Vocabulary, hearsay: bool) -> Iterator[Proposal]:
    """How many of how many cups, as a share of the cups."""
    for clause in clauses(text, vocabulary.languages):
        for piece in MARKED.split(clause):
            count = read_mark(piece) if MARKED.fullmatch(piece) else None
            if count is None or count.of is None:
                continue
            share = (
                "none"
                if not count.cups
                else "all"
                if count.cups == count.of
                else "one"
                if count.cups == 1
                else "some"
            )
            share = "most" if share == "some" and count.cups * 3 >= count.of * 2 else share
            yield Proposal(
                f"cups_{share}",
                "pattern",
                "cups",
                share,
                COUNTED,
                True,
                (-1 - count.cups, -1000 - count.of),
                hearsay=hearsay,
            )
            return


Written = tuple[tuple[str, ...], tuple[str, ...], str]
"""Stems of a name, its words with their marks, and what it names."""


@lru_cache(maxsize=16)
def _table(names: tuple[tuple[str, str], ...], language: str) -> dict[str, list[Written]]:
    """First stem -> the names that begin with it, the longest first."""
    found: dict[str, list[Written]] = {}
    for name, identity in names:
        parts = tuple(stem(word, language) for word in tokens(name))
        if parts:
            exact = tuple(map(marked, name.split()))
            found.setdefault(parts[0], []).append((parts, exact, identity))
    for rows in found.values():
        rows.sort(key=lambda one: -len(one[0]))
    return found


def _named(
    names: tuple[tuple[str, str], ...], words: Sequence[Token], language: str, text: str
) -> Iterator[tuple[str, int, int]]:
    """What is named, with its first and last sign."""
    if language in RUNNING:
        folded = "".join(word.folded[:1] or " " for word in words)
        for name, identity in sorted(names, key=lambda one: -len(one[0])):
            at = folded.find(fold_word(name))
            if at >= 0 and len(name) > 1:
                yield identity, at, at + len(name)
        return
    table = _table(names, language)
    at = 0
    while at < len(words):
        for parts, exact, identity in table.get(words[at].stem, ()):
            here = words[at : at + len(parts)]
            if tuple(word.stem for word in here) == parts and _as_written(here, exact, language):
                yield identity, words[at].start, words[at + len(parts) - 1].end
                at += len(parts) - 1
                break
        at += 1


def _as_written(words: Sequence[Token], exact: Sequence[str], language: str) -> bool:
    """False where marks tell words apart, and a word with marks is another one."""
    if language not in MARKED_LANGUAGES or len(words) != len(exact):
        return True
    return all(
        not has_marks(word.text) or marked(word.text) == wanted
        for word, wanted in zip(words, exact, strict=True)
    )


def contacts(
    base: KnowledgeBase, words: Sequence[Token], language: str, text: str, hearsay: bool
) -> Iterator[Proposal]:
    """Materials that the sentence says touched or stood beside the coffee; what is denied did not.

    What nearly every lot meets, and what stands far from the words for how it met the coffee, is only asked.
    """
    entry = base.languages[language]
    cues = {cue: how for how, phrases in entry.contact.items() for cue in phrases}
    met = list(_named(tuple(cues.items()), words, language, text))
    if not met:
        return
    names = tuple(
        (name, material.id)
        for material in base.materials.values()
        for name in material.names.get(language, ())
    )
    stage = stage_of(base, words, language, text)
    denials = denials_in(words, entry, language)
    how, start, end = met[0]
    for material, first, last in _named(names, words, language, text):
        if set(range(first, last)) & set(range(start, end)):
            continue
        named = {at for at, word in enumerate(words) if first <= word.start < last}
        if denied_at(named, words, denials, language, DENIED_WITHIN):
            continue
        between = [word for word in words if min(last, end) <= word.start < max(first, start)]
        yield Proposal(
            f"contact_{material}",
            "contact",
            material,
            how,
            TOUCHED,
            len(between) <= NEAR and not base.materials[material].usual,
            (*range(first, last), *range(start, end)),
            stage=stage or next(iter(base.materials[material].stages), None),
            hearsay=hearsay,
        )


def stage_of(base: KnowledgeBase, words: Sequence[Token], language: str, text: str) -> str | None:
    """The stage whose words stand in the sentence most often, the first of them where two are alike."""
    names = tuple(
        (name, stage.id) for stage in base.stages.values() for name in stage.words.get(language, ())
    )
    found: dict[str, int] = {}
    for stage, first, last in _named(names, words, language, text):
        found[stage] = found.get(stage, 0) + (last - first)
    return max(found, key=lambda one: found[one]) if found else None


_compounds: dict[int, dict[str, str]] = {}


def laboratory(
    base: KnowledgeBase,
    entry: Language,
    text: str,
    words: Sequence[Token],
    amounts: Sequence[Amount],
    hearsay: bool,
) -> Iterator[Proposal]:
    """Compounds that a sentence names with an amount, or says were found or not."""
    names = _names(base)
    folded = f" {fold_word(text)} "
    absent = _says(folded, words, entry.not_detected, entry.id)
    found = _says(folded, words, entry.detected, entry.id)
    seen: set[str] = set()
    for start in range(len(words)):
        for size in range(min(6, len(words) - start), 0, -1):
            first, last = words[start].start, words[start + size - 1].end
            identity = names.get(plain(text[first:last]))
            if identity is None or identity in seen or last - first < 3:
                continue
            amount = _content_near(amounts, first, last)
            if amount is None and not absent and not found:
                continue
            seen.add(identity)
            result = None if amount is not None else "below_limit" if absent else "detected"
            yield Proposal(
                f"laboratory_{identity}",
                "laboratory",
                identity,
                result,
                MEASURED,
                True,
                tuple(range(first, last)),
                amount,
                hearsay=hearsay,
                unit=amount.unit if amount else None,
            )
            break


def _says(folded: str, words: Sequence[Token], phrases: Sequence[str], language: str) -> bool:
    """True if one of the phrases stands in the sentence."""
    if language in RUNNING:
        return any(fold_word(phrase) in folded for phrase in phrases)
    spoken = f" {' '.join(word.folded for word in words)} "
    return any(f" {' '.join(tokens(phrase))} " in spoken for phrase in phrases)


def _content_near(amounts: Sequence[Amount], first: int, last: int) -> Amount | None:
    """The content nearest to a compound: 31 ng/L stands behind it or before it (6 ng/g of it)."""
    figures = [one for one in amounts if _is_content(one)]
    return min(figures, key=lambda one: max(one.start - last, first - one.end), default=None)


def _names(base: KnowledgeBase) -> dict[str, str]:
    key = id(base)
    if key not in _compounds:
        _compounds.clear()
        _compounds[key] = {
            name: one for name, one in compound_names(base.compounds).items() if len(name) >= 3
        }
    return _compounds[key]


def _is_content(amount: Amount) -> bool:
    return "/" in amount.unit or amount.unit in ("ppb", "ppm", "ppt")
