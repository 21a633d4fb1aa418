"""A taster's line in the taster's own words -> what it says of each off-note.

Longest phrase first; a denial reaches to the end of its clause (or back, where a language denies after the
noun); intensity and doubt colour the next note. A word that means several things becomes a question, an
unknown word is kept with suggestions: nothing is guessed in silence and nothing is dropped.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from tracer.lots.vocabulary import Meaning, Vocabulary, fold_word, is_unspaced, tokens

State = Literal["present", "absent", "doubtful"]
Outcome = Literal["matched", "misspelt", "ambiguous", "unknown", "clean"]
ALL = -1
_CLAUSE = re.compile(r"[,;.:!\n/()、。，；፣።፤]+(?!\d)")
_COUNT = re.compile(r"(\d+)\s*(?:of|de|/|sur|von|su|dari|trên|tren|カップ中|am)\s*(\d+)", re.IGNORECASE)
_COUNT_REVERSED = re.compile(r"(\d+)\s*カップ中\s*(\d+)\s*(?:カップ)?に?")
_SUFFIXES = ("ish", "like", "っぽい", "artig")
FUZZY_FROM = 6
FUZZY_SCORE = 84


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing a line says. `descriptor` is None unless the word is matched."""

    text: str
    descriptor: str | None
    state: State
    intensity: str
    outcome: Outcome
    cups: int | None = None
    of: int | None = None
    candidates: tuple[str, ...] = ()
    ask: str | None = None
    suggestions: tuple[str, ...] = ()


def read_words(
    text: str, vocabulary: Vocabulary, languages: Sequence[str] | None = None
) -> tuple[Reading, ...]:
    """Readings of one line, in its order. `languages` are preferred where a word means several things."""
    # Accents may come apart from their letters, and copied text may hold signs without width.
    whole = "".join(c for c in unicodedata.normalize("NFC", text) if unicodedata.category(c) != "Cf")
    readings: list[Reading] = []
    for clause in _clauses(whole):
        readings += _read_clause(clause, vocabulary, tuple(languages or ()))
    return tuple(readings)


def _clauses(text: str) -> list[str]:
    counted = _COUNT.sub(
        lambda m: f" {m[1]}\ue000{m[2]} ", _COUNT_REVERSED.sub(lambda m: f" {m[2]}\ue000{m[1]} ", text)
    )
    return [part for part in _CLAUSE.split(counted) if part.strip()]


@dataclass(slots=True)
class _Token:
    """A matched phrase, or a single word without meaning."""

    text: str
    meanings: tuple[Meaning, ...]
    count: tuple[int, int] | None = None


def _read_clause(clause: str, vocabulary: Vocabulary, languages: tuple[str, ...]) -> list[Reading]:
    parts = _tokenise(clause, vocabulary)
    readings: list[Reading] = []
    denied = doubt = False
    intensity = ""
    count: tuple[int | None, int | None] = (None, None)
    for index, part in enumerate(parts):
        kinds = _kinds(part, languages)
        if part.count:
            count = part.count
            readings = (
                _late_count(readings, count) if not _note_follows(parts, index, languages) else readings
            )
        elif "not_negation" in kinds:
            continue
        elif "negation" in kinds and not kinds & {"note", "ambiguity"}:
            if (
                any(m.language in vocabulary.negation_after for m in part.meanings if m.kind == "negation")
                and readings
            ):
                readings = [replace(r, state="absent") for r in readings]
            else:
                denied = True
        elif kinds & {"note", "ambiguity", "misspelt"}:
            state: State = "absent" if denied else "doubtful" if doubt else "present"
            reading = _note(part, vocabulary, languages, state, intensity or "unstated")
            readings.append(replace(reading, cups=count[0], of=count[1]))
            intensity, count = "", (None, None)
        elif "clean" in kinds:
            if denied:
                readings.append(_note_named(part.text, "dirty_unclean", "present"))
                denied = False
            else:
                readings.append(Reading(part.text, None, "absent", "unstated", "clean"))
        elif kinds & {"slight", "moderate", "strong"}:
            level = next(kind for kind in ("slight", "moderate", "strong") if kind in kinds)
            follows = _note_follows(parts, index, languages)
            if follows:
                intensity = level
            elif readings and readings[-1].intensity == "unstated":
                readings[-1] = replace(readings[-1], intensity=level)
        elif "doubt" in kinds:
            doubt = True
        elif "all_cups" in kinds:
            readings = _late_count(readings, (ALL, None))
            count = (ALL, None)
        elif "one_cup" in kinds:
            count = (1, None)
            readings = _late_count(readings, count)
        elif "break" in kinds:
            if not (denied and _joins(part)):
                denied = False
            doubt, intensity = False, ""
        elif not kinds:
            readings += _unknown(
                part.text,
                vocabulary,
                languages,
                "absent" if denied else "present",
                intensity or "unstated",
                count,
            )
    return readings


_JOINERS = ("and", "y", "e", "et", "und", "dan", "va", "と", "እና", "or", "ni", "nor")


def _joins(part: _Token) -> bool:
    # "no ferment and mould" denies both; "but" ends the denial.
    return fold_word(part.text) in _JOINERS


def _late_count(readings: list[Reading], count: tuple[int | None, int | None]) -> list[Reading]:
    if readings and readings[-1].cups is None and readings[-1].state != "absent":
        return [*readings[:-1], replace(readings[-1], cups=count[0], of=count[1])]
    return readings


def _note_follows(parts: list[_Token], index: int, languages: tuple[str, ...]) -> bool:
    for later in parts[index + 1 :]:
        kinds = _kinds(later, languages)
        if kinds & {"note", "ambiguity", "misspelt"} or (not kinds and not later.count):
            return True
        if "break" in kinds:
            return False
    return False


def _kinds(part: _Token, languages: tuple[str, ...]) -> set[str]:
    return {meaning.kind for meaning in _preferred(part.meanings, languages)}


def _preferred(meanings: tuple[Meaning, ...], languages: tuple[str, ...]) -> tuple[Meaning, ...]:
    own = tuple(meaning for meaning in meanings if meaning.language in languages)
    return own or meanings


def _tokenise(clause: str, vocabulary: Vocabulary) -> list[_Token]:
    found: list[_Token] = []
    for piece in re.split(r"(\d+\ue000\d+)", clause):
        if "\ue000" in piece:
            cups, of = piece.split("\ue000")
            found.append(_Token(piece, (), (int(cups), int(of))))
        elif is_unspaced(piece):
            found += _unspaced(piece, vocabulary)
        else:
            found += _spaced(piece, vocabulary)
    return found


def _spaced(piece: str, vocabulary: Vocabulary) -> list[_Token]:
    words = re.findall(r"[^\W_]+(?:['’-][^\W_]+)*[?]*", piece)
    folded = [" ".join(tokens(word)) for word in words]
    found: list[_Token] = []
    start = 0
    while start < len(words):
        for size in range(min(vocabulary.longest, len(words) - start), 0, -1):
            phrase = " ".join(folded[start : start + size])
            meanings = vocabulary.phrases.get(phrase)
            if meanings:
                break
        else:
            size, meanings = 1, _without_suffix(folded[start], vocabulary)
        text = " ".join(words[start : start + size])
        if text.endswith("?"):
            found.append(_Token("?", (Meaning("", "doubt", ""),)))
        found.append(_Token(text.rstrip("?"), meanings))
        start += size
    return [token for token in found if not token.text.isdigit()]


def _without_suffix(word: str, vocabulary: Vocabulary) -> tuple[Meaning, ...]:
    for suffix in _SUFFIXES:
        stem = word.removesuffix(suffix).strip(" -")
        if stem != word and stem:
            for form in (stem, stem + "y"):
                if form in vocabulary.phrases:
                    return vocabulary.phrases[form]
    return ()


def _unspaced(piece: str, vocabulary: Vocabulary) -> list[_Token]:
    folded = fold_word(piece).replace(" ", "")
    found: list[_Token] = []
    start, rest = 0, ""
    while start < len(folded):
        match = next((p for p in vocabulary.unspaced if folded.startswith(p.replace(" ", ""), start)), None)
        if match is None:
            rest += folded[start]
            start += 1
            continue
        if rest:
            found.append(_Token(rest, ()))
            rest = ""
        found.append(_Token(match, vocabulary.phrases[match]))
        start += len(match.replace(" ", ""))
    if rest:
        found.append(_Token(rest, ()))
    return [token for token in found if not token.text.isdigit() and (token.meanings or len(token.text) > 1)]


def _note(
    part: _Token, vocabulary: Vocabulary, languages: tuple[str, ...], state: State, intensity: str
) -> Reading:
    meanings = [
        m for m in _preferred(part.meanings, languages) if m.kind in ("note", "ambiguity", "misspelt")
    ]
    notes = list(dict.fromkeys(m.id for m in meanings if m.kind in ("note", "misspelt")))
    asked = [vocabulary.ambiguities[m.id] for m in meanings if m.kind == "ambiguity"]
    if len(notes) == 1 and not asked:
        outcome: Outcome = "matched" if any(m.kind == "note" for m in meanings) else "misspelt"
        return Reading(part.text, notes[0], state, intensity, outcome)
    candidates = tuple(dict.fromkeys([*notes, *(reading for entry in asked for reading in entry.readings)]))
    question = (
        asked[0].ask
        if asked
        else "This word means different notes in different languages: which language is it?"
    )
    return Reading(part.text, None, state, intensity, "ambiguous", candidates=candidates, ask=question)


def _note_named(text: str, descriptor: str, state: State) -> Reading:
    return Reading(text, descriptor, state, "unstated", "matched")


def _unknown(
    text: str,
    vocabulary: Vocabulary,
    languages: tuple[str, ...],
    state: State,
    intensity: str,
    count: tuple[int | None, int | None],
) -> list[Reading]:
    """A word that is nowhere: a near one where it is long enough to be sure of, else kept as unknown."""
    folded = " ".join(tokens(text))
    if not folded:
        return []
    near = (
        _near(folded, vocabulary, languages) if len(folded) >= FUZZY_FROM and not is_unspaced(folded) else []
    )
    ids = {identity for _, score, identity in near if score >= FUZZY_SCORE}
    if len(ids) == 1:
        return [Reading(text, ids.pop(), state, intensity, "misspelt", cups=count[0], of=count[1])]
    suggestions = tuple(dict.fromkeys(identity for _, _, identity in near))[:3]
    return [Reading(text, None, state, intensity, "unknown", suggestions=suggestions)]


def _near(folded: str, vocabulary: Vocabulary, languages: tuple[str, ...]) -> list[tuple[str, float, str]]:
    from rapidfuzz import fuzz, process

    words = {
        phrase: meanings
        for phrase, meanings in vocabulary.phrases.items()
        if len(phrase) >= FUZZY_FROM - 1
        and any(m.kind == "note" and (not languages or m.language in (*languages, "en")) for m in meanings)
    }
    found = process.extract(folded, words.keys(), scorer=fuzz.ratio, score_cutoff=68, limit=5)
    return [(phrase, score, m.id) for phrase, score, _ in found for m in words[phrase] if m.kind == "note"]
