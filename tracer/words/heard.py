"""One thing that a line says of an off-note."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from tracer.knowledge.entries import INNOCENT
from tracer.wording.sentence import Sentence, say
from tracer.words.part import NOTES, Part
from tracer.words.tokens import tokens
from tracer.words.tongue import QUIET, Meaning
from tracer.words.vocabulary import Vocabulary

State = Literal["present", "absent", "doubtful"]
Outcome = Literal["matched", "misspelt", "ambiguous", "unknown", "clean"]
ALL = -1
LEVELS = frozenset(["slight", "moderate", "strong"])
DOUBT_OF_LIKENESS = 0.5
"""Share of a likeness whose neighbour is an unknown word that is meant as the note: judgement."""
DOUBT_OF_FOREIGN = 0.5
"""Share of a word of another language than the taster's that is meant as there: judgement."""


DOUBT_OF_DENIAL = 0.5
"""Share of off-notes behind a denial and other words that are there all the same: judgement."""

NEAREST = 5
"""Words near an unknown one that are looked at."""
GUESSED = say("Only part of the word is known: is this note meant?")
UNTIL_SETTLED = say(" Stop tasting until it is settled.")
PIECE = say("Known only as part of a likeness: which note is meant, if any?")


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
    which: tuple[int, ...] = ()
    """Numbers of the cups, where the line names them."""
    weights: tuple[tuple[str, float], ...] = ()
    """Off-note, or innocent -> share of tasters who mean it, for a word of several meanings."""
    corrected: str | None = None
    """What a misspelt word was taken for."""
    foreign: str | None = None
    """The language that knows the word, where the taster's own does not."""
    likeness: bool = False
    """An everyday likeness, and no word of the trade."""

    @property
    def usual(self) -> bool:
        """Counted by its usual meaning, though it has others: the taster may say otherwise."""
        return self.descriptor is not None and bool(self.candidates)

    def share_of(self, notes: Iterable[str]) -> float:
        """Share of tasters who mean one of some notes by it; 1 for a word that is settled."""
        wanted = set(notes)
        if self.descriptor is not None:
            return float(self.descriptor in wanted)
        return sum(share for name, share in self.weights if name in wanted)


def whether_meant(corrected: str | None, stop: bool) -> Sentence:
    """The question about a word that was corrected or known in part only; `stop` where the note stops tasting."""
    ask = say("Is '{corrected}' meant?", corrected=corrected) if corrected else GUESSED
    return ask + UNTIL_SETTLED if stop else ask


def shares(part: Part, vocabulary: Vocabulary) -> tuple[dict[str, float], str | None, bool]:
    """Off-note or innocent -> share of tasters who mean it; the question; and whether it may be innocent."""
    if part.likened:
        shares = {name: share * DOUBT_OF_LIKENESS for name, share in part.likened}
        shares[INNOCENT] = 1 - sum(shares.values())
        return shares, PIECE, True
    meanings = part.meanings
    asked = [vocabulary.ambiguities[m.id] for m in meanings if m.kind == "ambiguity"]
    if asked:
        own = [dict(one.readings) for one in asked]
        total: dict[str, float] = {}
        for shares in own:
            for name, share in shares.items():
                total[name] = total.get(name, 0.0) + share / len(own)
        if any(one.innocent for one in asked) and INNOCENT not in total:
            total = {name: share * (1 - DOUBT_OF_LIKENESS) for name, share in total.items()}
            total[INNOCENT] = DOUBT_OF_LIKENESS
        return total, asked[0].ask, INNOCENT in total or any(one.umbrella for one in asked)
    by_language: dict[str, list[Meaning]] = {}
    for meaning in meanings:
        if meaning.kind not in QUIET:
            by_language.setdefault(meaning.language, []).append(meaning)
    total = {}
    for found in by_language.values():
        names = list(dict.fromkeys(m.id for m in found if m.kind in ("note", "misspelt")))
        core = [m for m in found if m.kind in ("note", "misspelt") and not m.likeness]
        if not names or (any(m.kind in ("harmless", "clean") for m in found) and not core):
            total[INNOCENT] = total.get(INNOCENT, 0.0) + 1 / len(by_language)
            continue
        for name in names:
            total[name] = total.get(name, 0.0) + 1 / len(names) / len(by_language)
    ask = None
    if len(total) > 1:
        ask = say(
            "This word means different things in different languages, or to different tasters: which is meant?"
        )
    return total, ask, INNOCENT in total


def usual_meaning(part: Part, vocabulary: Vocabulary) -> str | None:
    """The usual meaning of a word of several, where the vocabulary gives one and the word stands as listed."""
    named = {vocabulary.ambiguities[m.id].reads_as if m.kind == "ambiguity" else None for m in part.meanings}
    return named.pop() if len(named) == 1 and part.how in ("listed", "inflected") else None


def denies_by_itself(part: Part, vocabulary: Vocabulary, own: Sequence[str]) -> bool:
    """A word for a lack that holds a denial of its own: nada de dulzor."""
    lacks = set(vocabulary.lacks.values())
    named = [m.id for m in part.meanings if m.kind in NOTES]
    meanings = [m for word in tokens(part.text) for m in vocabulary.of(word, own)]
    return bool(named) and lacks.issuperset(named) and any(m.kind == "negation" for m in meanings)


def foreign(part: Part, vocabulary: Vocabulary, state: State, intensity: str) -> Reading | None:
    """A word that only another language than the taster's knows: a question, which says stop where it is a stop there."""
    meanings = tuple(m for m in part.meanings if m.kind in NOTES)
    weights, _, _ = shares(replace(part, meanings=meanings), vocabulary)
    names = tuple(name for name in weights if name != INNOCENT)
    if not names:
        return None
    language = meanings[0].language
    kept = {name: weights[name] * DOUBT_OF_FOREIGN for name in names}
    kept[INNOCENT] = 1 - sum(kept.values())
    label = vocabulary.languages[language].label if language in vocabulary.languages else language
    stop = UNTIL_SETTLED if set(names) & vocabulary.stops else ""
    return Reading(
        part.text,
        None,
        state,
        intensity,
        "ambiguous",
        candidates=names,
        ask=say(
            "No word of the taster's language is known here; in {label} it names this: is that meant?{stop}",
            label=label,
            stop=stop,
        ),
        weights=tuple(kept.items()),
        foreign=language,
    )


def denied(reading: Reading, far: bool, vocabulary: Vocabulary) -> Reading:
    """A reading that a word of denial reaches.

    An off-note that stops tasting is absent only by a plain denial. Where other words stand between, as in "can't stand
    the petrol", it may be no denial at all: it is asked, and stops until then.
    """
    names = {reading.descriptor, *reading.candidates}
    if not (far and names & vocabulary.stops):
        return replace(reading, state="absent")
    weights = reading.weights or ((str(reading.descriptor), DOUBT_OF_DENIAL), (INNOCENT, 1 - DOUBT_OF_DENIAL))
    return replace(
        reading,
        descriptor=None,
        state="present",
        outcome="ambiguous",
        candidates=tuple(name for name, _ in weights if name != INNOCENT),
        ask=say("Is it denied here, or said? Stop tasting until it is settled."),
        weights=weights,
    )


def as_question(reading: Reading, note: str) -> Reading:
    """A likeness that is put as a question."""
    return replace(
        reading,
        descriptor=None,
        outcome="ambiguous",
        candidates=(note,),
        ask=say("Is it a likeness of this note, or part of something else?"),
        weights=((note, DOUBT_OF_LIKENESS), (INNOCENT, 1 - DOUBT_OF_LIKENESS)),
    )


def suggestions(folded: str, vocabulary: Vocabulary, languages: Sequence[str]) -> tuple[str, ...]:
    """Off-notes whose words are near an unknown one, the nearest first."""
    from rapidfuzz import fuzz, process

    if len(folded) < 5:
        return ()
    names: list[tuple[float, str]] = []
    for language in languages:
        tongue = vocabulary.tongues.get(language)
        words = tongue.by_letter.get(folded[0], ()) if tongue is not None else ()
        for word, likeness, _ in process.extract(
            folded, words, scorer=fuzz.ratio, score_cutoff=68, limit=3 * NEAREST
        ):
            names += [(-likeness, m.id) for m in vocabulary.of(word, (language,)) if m.kind == "note"]
    return tuple(dict.fromkeys(name for _, name in sorted(names)))[:3]
