"""A clause -> its parts, each a phrase of the vocabulary or a word that is not there.

Longest phrase first. The taster's own language binds; a word it does not know is looked for as a compound, as a
misspelling, in the other languages and among pieces of likenesses, in this order, and says which it was.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from tracer.knowledge.language import MARKED as MARKED_LANGUAGES
from tracer.words.clauses import MARKED, read_mark
from tracer.words.part import NOTES, Part
from tracer.words.repair import compound, corrected
from tracer.words.stems import ENDINGS, PLURAL, respelt, stem, stem_key
from tracer.words.tokens import apart, fold_word, has_marks, is_unspaced, tokens
from tracer.words.tongue import QUIET, Meaning, Tongue
from tracer.words.vocabulary import Vocabulary

SHORTEST_FOREIGN = 4
SHORTEST_STEM = 4
"""Letters of a stem by which alone a note is known: Spanish "saliendo" is not salty."""
_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*[?]*")


def parts_of(clause: str, vocabulary: Vocabulary, languages: Sequence[str]) -> list[Part]:
    """The parts of a clause in order; what has neither meaning nor letters is left out."""
    found: list[Part] = []
    for piece in MARKED.split(clause):
        if piece.startswith("\ue000"):
            found.append(Part(piece, count=read_mark(piece)))
        elif is_unspaced(piece):
            found += _unspaced(piece, vocabulary)
        else:
            found += _spaced(piece, vocabulary, languages)
    return found


def _spaced(piece: str, vocabulary: Vocabulary, languages: Sequence[str]) -> list[Part]:
    words = _WORD.findall(apart(piece.replace("_", " ")))
    folded = [" ".join(tokens(word)) for word in words]
    found: list[Part] = []
    start = 0
    while start < len(words):
        size, part = _longest(words, folded, start, vocabulary, languages)
        if part.text.strip("?").isdigit():
            start += size
            continue
        found.append(part)
        start += size
    return _abroad(found, vocabulary, languages)


def _longest(
    words: Sequence[str], folded: Sequence[str], start: int, vocabulary: Vocabulary, languages: Sequence[str]
) -> tuple[int, Part]:
    """The longest phrase of the own languages that begins here, and the words it takes.

    A head, a filler or a denial stands aside for a note that begins behind it and reaches further: "no nail varnish"
    denies the varnish, though "no nails" may be a phrase. So does "but" where it is one word with marks left out: French
    "mais moisi" is "but mouldy" and no mouldy maize.
    """
    size, part = _longest_here(words, folded, start, vocabulary, languages)
    if size > 1 and part.names_a_note and not has_marks(words[start]):
        first = vocabulary.of(folded[start], languages)
        if any(one.kind == "break" for one in first) and any(
            _notes(part, vocabulary)
            & _notes(_longest_here(words, folded, start + further, vocabulary, languages)[1], vocabulary)
            for further in range(1, size)
        ):
            return 1, Part(words[start], first)
    own = [vocabulary.tongues[one] for one in languages if one in vocabulary.tongues]
    small = next((n for n in range(size) if not any(folded[start + n] in one.small for one in own)), size)
    denies = next(
        (n for n in range(min(size, 3), 0, -1) if _denies(" ".join(folded[start : start + n]), own)), 0
    )
    for skipped in range(1, min(small, size - 1) + 1):
        behind, other = _longest_here(words, folded, start + skipped, vocabulary, languages)
        if skipped + behind > size and other.names_a_note:
            return 1, Part(words[start].rstrip("?"), vocabulary.of(folded[start], languages))
    if denies and size > denies:
        behind, other = _longest_here(words, folded, start + denies, vocabulary, languages)
        further = denies + behind > size or (denies + behind == size and part.how == "inflected")
        if further and other.names_a_note:
            text = " ".join(words[start : start + denies])
            return denies, Part(text, vocabulary.of(" ".join(folded[start : start + denies]), languages))
    return size, part


def _notes(part: Part, vocabulary: Vocabulary) -> set[str]:
    """Off-notes that a part names or may mean."""
    named = [meaning for meaning in part.meanings if meaning.kind in NOTES]
    open_to = [vocabulary.ambiguities[one.id].readings for one in named if one.id in vocabulary.ambiguities]
    return {one.id for one in named} | {note for notes in open_to for note in notes}


def _denies(phrase: str, tongues: Sequence[Tongue]) -> bool:
    return any(meaning.kind == "negation" for tongue in tongues for meaning in tongue.of(phrase))


def _longest_here(
    words: Sequence[str], folded: Sequence[str], start: int, vocabulary: Vocabulary, languages: Sequence[str]
) -> tuple[int, Part]:
    longest = max(
        (vocabulary.tongues[name].longest for name in languages if name in vocabulary.tongues), default=1
    )
    most = min(longest + 2, len(words) - start)
    for size in range(most, 0, -1):
        text = " ".join(words[start : start + size])
        doubted, text = text.endswith("?"), text.rstrip("?")
        phrase = " ".join(folded[start : start + size])
        meanings = _exact(text, phrase, vocabulary, languages)
        if meanings:
            return size, Part(
                text, meanings, doubted=doubted, guessed=_unmarked(text, phrase, meanings, vocabulary)
            )
        meanings, derived = _inflected(folded[start : start + size], vocabulary, languages)
        if meanings:
            return size, Part(text, meanings, "inflected", doubted=doubted, guessed=derived)
    word, plain = words[start].rstrip("?"), folded[start]
    part = compound(word, plain, vocabulary, languages) or corrected(word, plain, vocabulary, languages)
    return 1, replace(part or Part(word, (), "unknown"), doubted=words[start].endswith("?"))


def _exact(text: str, phrase: str, vocabulary: Vocabulary, languages: Sequence[str]) -> tuple[Meaning, ...]:
    meanings = vocabulary.of(phrase, languages, text)
    if not meanings:
        for language in languages:
            spellings = vocabulary.languages[language].spellings if language in vocabulary.languages else {}
            if spellings and (other := respelt(phrase, spellings)) != phrase:
                meanings += vocabulary.of(other, (language,))
    return meanings


def _unmarked(text: str, phrase: str, meanings: tuple[Meaning, ...], vocabulary: Vocabulary) -> bool:
    """True for one syllable typed without the marks that would tell it from others."""
    if " " in phrase or has_marks(text):
        return False
    return any(
        m.language in MARKED_LANGUAGES
        and any(has_marks(spelling) for spelling in vocabulary.tongues[m.language].spelled.get(phrase, ()))
        for m in meanings
        if m.kind in NOTES
    )


def _inflected(
    words: Sequence[str], vocabulary: Vocabulary, languages: Sequence[str]
) -> tuple[tuple[Meaning, ...], bool]:
    """Meanings of a phrase whose words differ from a listed one by inflection, or by small words between.

    A single word that differs by more than plural and gender is another word of the stem, and only a guess.
    """
    found: tuple[Meaning, ...] = ()
    derived = False
    for language in languages:
        tongue = vocabulary.tongues.get(language)
        if (
            language in MARKED_LANGUAGES
            or tongue is None
            or words[0] in tongue.small
            or words[-1] in tongue.small
        ):
            continue
        spellings = vocabulary.languages[language].spellings
        spelt = [respelt(word, spellings) for word in words] if spellings else list(words)
        key = stem_key(spelt, language, tongue.small)
        meanings = tongue.by_stems(key) if key else ()
        if len(words) == 1 and meanings:
            plain = tuple(
                m for m in meanings if m.kind not in (*NOTES, "quality") or _only_ending(spelt[0], m, tongue)
            )
            rest = () if plain or len(key) < SHORTEST_STEM else meanings
            rest = tuple(m for m in rest if m.kind != "quality")  # live insects are no lively cup
            meanings = plain or tuple(m for m in rest if not (m.likeness or _stops(m, vocabulary)))
            derived = derived or not plain
        found += meanings
    return found, derived


def _only_ending(word: str, meaning: Meaning, tongue: Tongue) -> bool:
    """True if a listed word of this meaning differs by an ending alone.

    A word of the trade changes with plural and gender, a likeness with plural: Portuguese "barro" is earthy, "barra" a bar, and
    an engineer no engine.
    """
    endings = PLURAL.get(meaning.language, ()) if meaning.likeness else (ENDINGS.get(meaning.language, ()),)
    for other in tongue.by_letter.get(word[0], ()):
        same = next(
            (at for at, pair in enumerate(zip(word, other, strict=False)) if pair[0] != pair[1]), None
        )
        shared = min(len(word), len(other)) if same is None else same
        ends = {word[shared:], other[shared:]}
        if any(ends.issubset(pair) for pair in endings) and meaning in tongue.of(other):
            return True
    return False


def _stops(meaning: Meaning, vocabulary: Vocabulary) -> bool:
    """True if a meaning stops tasting, or may."""
    asked = vocabulary.ambiguities.get(meaning.id) if meaning.kind == "ambiguity" else None
    return not vocabulary.stops.isdisjoint(list(asked.readings) if asked else [meaning.id])


def _abroad(parts: list[Part], vocabulary: Vocabulary, languages: Sequence[str]) -> list[Part]:
    """Runs of unknown words again: in the other languages, then as pieces of known likenesses."""
    found: list[Part] = []
    start = 0
    while start < len(parts):
        if parts[start].how != "unknown" or parts[start].count:
            found.append(parts[start])
            start += 1
            continue
        stop = start
        while stop < len(parts) and parts[stop].how == "unknown" and not parts[stop].count:
            stop += 1
        found += _run(parts[start:stop], vocabulary, languages)
        start = stop
    return found


def _run(run: list[Part], vocabulary: Vocabulary, languages: Sequence[str]) -> list[Part]:
    found: list[Part] = []
    start = 0
    while start < len(run):
        for size in range(min(len(run) - start, 4), 0, -1):
            text = " ".join(part.text for part in run[start : start + size])
            phrase = " ".join(tokens(text))
            meanings = vocabulary.elsewhere(phrase, languages, text)
            if has_marks(text) and set(languages) & set(MARKED_LANGUAGES):
                # Without its marks a word is another one: "tỏi" is no "toi".
                meanings = tuple(m for m in meanings if m.kind in NOTES)
            if meanings and (len(phrase) >= SHORTEST_FOREIGN or not any(m.kind in NOTES for m in meanings)):
                found.append(Part(text, meanings, "foreign", doubted=run[start + size - 1].doubted))
                start += size
                break
        else:
            found.append(_likened(run[start], vocabulary, languages))
            start += 1
    return found


def _likened(part: Part, vocabulary: Vocabulary, languages: Sequence[str]) -> Part:
    plain = " ".join(tokens(part.text))
    shares: dict[str, float] = {}
    for language in languages:
        fragments = vocabulary.tongues[language].fragments if language in vocabulary.tongues else {}
        for name, share in fragments.get(stem(plain, language), {}).items():
            shares[name] = max(share, shares.get(name, 0.0))
    if not shares:
        return part
    ranked = sorted(shares.items(), key=lambda one: -one[1])
    return replace(part, how="likened", likened=tuple(ranked))


def _unspaced(piece: str, vocabulary: Vocabulary) -> list[Part]:
    """Longest phrase first through text without spaces; single signs count only where they stand alone."""
    bare = piece.replace(" ", "")
    folded = fold_word(bare)
    written = bare if len(bare) == len(folded) else folded
    found: list[Part] = []
    start, rest = 0, ""
    tongue = vocabulary.tongues["ja"]
    while start < len(folded):
        match = next(
            (
                p
                for p in tongue.unspaced.get(folded[start], ())
                if folded.startswith(p, start)
                and (len(p) > 1 or _alone(folded, start))
                and not (_katakana(written[start : start + len(p)]) and _quiet(tongue.of(p)))
                and not (_ends_a_verb(written, start, p) and any(m.kind in NOTES for m in tongue.of(p)))
            ),
            None,
        )
        if match is None:
            rest += folded[start]
            start += 1
            continue
        if rest:
            found.append(Part(rest, (), "unknown"))
            rest = ""
        found.append(Part(match, tongue.of(match)))
        start += len(match)
    if rest:
        found.append(Part(rest, (), "unknown"))
    return [part for part in found if not part.text.isdigit() and (part.meanings or len(part.text) > 1)]


def _katakana(text: str) -> bool:
    return all("ァ" <= sign <= "ヶ" for sign in text)


def _ends_a_verb(written: str, start: int, phrase: str) -> bool:
    """True for two kana right behind a Chinese character, which may end its verb: 変わらない holds no straw."""
    ends = (
        len(phrase) == 2
        and written.startswith(phrase, start)
        and all("ぁ" <= sign <= "ゖ" for sign in phrase)
    )
    return ends and start > 0 and "\u3400" <= written[start - 1] <= "\u9fff"


def _quiet(meanings: Sequence[Meaning]) -> bool:
    """Small words are written in hiragana: the varnish ニス is no にす."""
    return bool(meanings) and all(meaning.kind in QUIET for meaning in meanings)


def _alone(text: str, at: int) -> bool:
    """A single sign is a word where no other Chinese character touches it, or a head (臭 ...) follows."""
    before = text[at - 1] if at else ""
    after = text[at + 1] if at + 1 < len(text) else ""
    return not ("\u3400" <= before <= "\u9fff") and (not ("\u3400" <= after <= "\u9fff") or after in "臭味香")
