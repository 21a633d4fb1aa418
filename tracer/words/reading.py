"""A taster's line in the taster's own words -> what it says of each off-note.

A denial reaches to the end of its clause or to "but" (or back, where a language denies after the noun); intensity and
doubt colour the next note; too little of a quality is a note of its own. A word that means several things, or comes from
another language, becomes a question; an unknown word is kept with suggestions: nothing is guessed in silence.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from tracer.knowledge.entries import INNOCENT
from tracer.words.clauses import Count, clauses
from tracer.words.lookup import NOTES, Part, parts_of
from tracer.words.tokens import clean_text, fold_word, tokens
from tracer.words.vocabulary import QUIET, Meaning, Vocabulary
from tracer.words.which_language import languages_of

State = Literal["present", "absent", "doubtful"]
Outcome = Literal["matched", "misspelt", "ambiguous", "unknown", "clean"]
ALL = -1
LEVELS = frozenset(["slight", "moderate", "strong"])
DOUBT_OF_LIKENESS = 0.5
"""Share of a likeness whose neighbour is an unknown word that is meant as the note: judgement."""
DOUBT_OF_FOREIGN = 0.5
"""Share of a word of another language than the taster's that is meant as there: judgement."""


GUESSED = "Only part of the word is known: is this note meant?"
PIECE = "Known only as part of a likeness: which note is meant, if any?"


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

    def share_of(self, notes: Iterable[str]) -> float:
        """Share of tasters who mean one of some notes by it; 1 for a word that is settled."""
        wanted = set(notes)
        if self.descriptor is not None:
            return float(self.descriptor in wanted)
        return sum(share for name, share in self.weights if name in wanted)


def read_words(
    text: str, vocabulary: Vocabulary, languages: Sequence[str] | None = None
) -> tuple[Reading, ...]:
    """Readings of one line, in its order. `languages` are the taster's own; without them the line's words decide."""
    line = clean_text(text)
    own = languages_of(line, vocabulary, languages)
    readings: list[Reading] = []
    for clause in clauses(line, vocabulary.languages):
        readings += _Clause(parts_of(clause, vocabulary, own), vocabulary, own).read()
    return tuple(readings)


@dataclass
class _Clause:
    """One clause being read, left to right."""

    parts: list[Part]
    vocabulary: Vocabulary
    own: Sequence[str]
    readings: list[Reading] = field(default_factory=list)
    denied: bool = False
    doubt: bool = False
    intensity: str = ""
    count: Count | None = None
    lacking: bool = False
    """A word of lack or denial stands right before."""
    quality: str | None = None
    """A quality stands right before, and nothing has been said of it yet."""

    made: list[int] = field(default_factory=list)
    """Which part each reading comes from."""

    def read(self) -> list[Reading]:
        for index, part in enumerate(self.parts):
            self._one(index, part)
            self.made += [index] * (len(self.readings) - len(self.made))
        self._settle_likenesses()
        self._settle_sights()
        return self.readings

    def _settle_sights(self) -> None:
        """Where a word of seeing stands beside a note that may be seen, it is asked whether it was."""
        if not any("seen" in part.kinds for part in self.parts):
            return
        for i, one in enumerate(self.readings):
            names = (one.descriptor,) if one.descriptor else one.candidates
            sight = next(
                (self.vocabulary.sights[name] for name in names if name in self.vocabulary.sights), None
            )
            if sight is None or one.state == "absent" or sight in names:
                continue
            told = one.weights or ((str(one.descriptor), 1.0),)
            weights = ((sight, 0.5), *((name, share / 2) for name, share in told))
            self.readings[i] = replace(
                one,
                descriptor=None,
                outcome="ambiguous",
                candidates=tuple(name for name, _ in weights if name != INNOCENT),
                ask="Was it seen, or only smelled and tasted? Stop tasting until it is settled.",
                weights=weights,
            )

    def _settle_likenesses(self) -> None:
        """Likenesses that disagree, or stand among words for a sound cup, are asked; so is a piece of one beside a note."""
        for stretch in self._stretches():
            likened = [i for i in stretch if self.readings[i].likeness and self.readings[i].descriptor]
            sure = [i for i in stretch if self.readings[i].descriptor and not self.readings[i].likeness]
            names = {self.readings[i].descriptor for i in likened}
            around = [self.parts[at] for at in self._parts_of(stretch)]
            praised = any("harmless" in part.kinds for part in around)
            unknown = any(part.how == "unknown" and part.count is None for part in around)
            for i in likened:
                one = self.readings[i]
                single = len(tokens(one.text)) == 1
                if len(names) > 1 or (single and (praised or sure or unknown)):
                    self.readings[i] = _asked(one, str(one.descriptor))
            pieces = [i for i in stretch if self.readings[i].ask == PIECE]
            if sure or likened:
                for i in reversed(pieces):
                    del self.readings[i], self.made[i]

    def _stretches(self) -> list[list[int]]:
        """Readings parted by words that end a clause, such as "and", last stretch first."""
        breaks = [at for at, part in enumerate(self.parts) if "break" in part.kinds]
        found: dict[int, list[int]] = {}
        for i, at in enumerate(self.made):
            found.setdefault(sum(one < at for one in breaks), []).append(i)
        return [found[key] for key in sorted(found, reverse=True)]

    def _parts_of(self, stretch: Sequence[int]) -> range:
        breaks = [at for at, part in enumerate(self.parts) if "break" in part.kinds]
        first = self.made[stretch[0]]
        before = max((at for at in breaks if at < first), default=-1)
        after = min((at for at in breaks if at > first), default=len(self.parts))
        return range(before + 1, after)

    def _one(self, index: int, part: Part) -> None:
        kinds = part.kinds
        note = part.names_a_note
        if part.count is not None:
            self._counted(part.count, index)
        elif (
            "not_negation" in kinds
            or ("quality" in kinds and self.lacking and self._says_lack(part, index))
            or (note and self._only_carries(part, index))
        ):
            return
        elif (
            kinds & LEVELS
            and not kinds & {"note", "misspelt"}
            and (self._note_follows(index) or self._loose())
        ):
            self._level(kinds, index)
        elif (
            note
            and part.how != "foreign"
            and not (kinds & {"negation"} and part.text.isascii() and len(part.text) < 4)
        ):
            self._note(part, index)
        elif "quality" in kinds and self._says_lack(part, index):
            return
        elif "clean" in kinds:
            self._clean(part)
        elif kinds & {"negation", "lacking"}:
            self._negation(part, kinds)
        elif kinds & LEVELS:
            self._level(kinds, index)
        elif "doubt" in kinds:
            self.doubt = True
        elif "all_cups" in kinds:
            self._counted(Count(ALL), index)
        elif "one_cup" in kinds:
            self._counted(Count(1), index)
        elif "break" in kinds:
            self._break(part)
        elif kinds & {"harmless", "quality"}:
            self._harmless(part)
        elif part.how == "foreign":
            self._foreign(part, index)
        elif not kinds:
            self._unknown(part)

    def _only_carries(self, part: Part, index: int) -> bool:
        """A head, or a lack of smell, before a note only carries it: "no smell of petrol" denies the petrol."""
        if not self._note_follows(index):
            return False
        lacks = set(self.vocabulary.lacks.values())
        named = [m for m in part.meanings if m.kind in NOTES]
        if "head" in part.kinds and all(m.kind == "ambiguity" for m in named):
            return True
        last = tokens(part.text)[-1:]
        heads = any("head" in {m.kind for m in self.vocabulary.of(word, self.own)} for word in last)
        if heads and named and all(m.id in lacks for m in named):
            self.denied = True
            return True
        return False

    def _loose(self) -> bool:
        """A note stands before whose strength nobody has said."""
        return (
            bool(self.readings)
            and self.readings[-1].intensity == "unstated"
            and self.readings[-1].outcome != "clean"
        )

    def _says_lack(self, part: Part, index: int) -> bool:
        """A quality of which a word of lack or denial says that there is too little."""
        quality = next(m.id for m in part.meanings if m.kind == "quality")
        head = "head" in part.kinds
        if not (self.lacking or (self.denied and self._near())) or (head and self._note_follows(index)):
            self.quality = None if head else quality
            return False
        self._lack(part.text, quality)
        return True

    def _near(self) -> bool:
        return not self.readings or self.readings[-1].state == "absent"

    def _lack(self, text: str, quality: str) -> None:
        note = self.vocabulary.lacks.get(quality)
        if note is not None:
            self.readings.append(
                Reading(text, note, "doubtful" if self.doubt else "present", "unstated", "matched")
            )
        self.lacking = self.denied = False
        self.quality = None

    def _negation(self, part: Part, kinds: frozenset[str]) -> None:
        after = any(m.kind in ("negation", "lacking") and m.language in self._after() for m in part.meanings)
        if self.quality is not None and (after or ("lacking" in kinds and "negation" not in kinds)):
            self._lack(part.text, self.quality)
            return
        if "negation" in kinds and after and self.readings:
            self.readings = [replace(r, state="absent") for r in self.readings]
        elif "negation" in kinds:
            self.denied = self.lacking = True
        else:
            self.lacking = True
            if kinds & {"slight"}:
                self.intensity = "slight"

    def _after(self) -> frozenset[str]:
        return frozenset(name for name, one in self.vocabulary.languages.items() if one.negation_after)

    def _level(self, kinds: frozenset[str], index: int) -> None:
        level = next(kind for kind in ("slight", "moderate", "strong") if kind in kinds)
        if self._note_follows(index):
            # "very subtle" is slight, whichever stands first.
            self.intensity = "slight" if "slight" in (self.intensity, level) else level
        elif self.readings and self.readings[-1].intensity in ("unstated", "strong"):
            told = "slight" if level == "slight" else level
            self.readings[-1] = replace(self.readings[-1], intensity=told)

    def _break(self, part: Part) -> None:
        if not (self.denied and fold_word(part.text) in _JOINERS):
            self.denied = self.lacking = False
        self.doubt, self.intensity, self.quality = False, "", None

    def _clean(self, part: Part) -> None:
        if self.denied and self.vocabulary.unclean is not None:
            self.readings.append(
                Reading(part.text, self.vocabulary.unclean, "present", "unstated", "matched")
            )
            self.denied = False
        else:
            self.readings.append(Reading(part.text, None, "absent", "unstated", "clean"))
        self.quality = None

    def _harmless(self, part: Part) -> None:
        self.intensity, self.lacking, self.count = "", False, None
        self.quality = next(
            (m.id for m in part.meanings if m.kind == "quality" and "head" not in part.kinds), None
        )

    def _note(self, part: Part, index: int) -> None:
        state: State = "absent" if self.denied else "doubtful" if self.doubt or part.doubted else "present"
        if self.lacking and not self.denied:
            self.intensity = "slight"
        reading = self._named(part, index, state)
        which = self.count.which if self.count else ()
        cups, of = (self.count.cups, self.count.of) if self.count else (None, None)
        self.readings.append(replace(reading, cups=cups, of=of, which=which))
        self.intensity, self.lacking, self.quality = "", False, None
        if not which:
            self.count = None

    def _named(self, part: Part, index: int, state: State) -> Reading:
        intensity = self.intensity or "unstated"
        weights, ask, innocent = _shares(part, self.vocabulary)
        notes = tuple(name for name in weights if name != INNOCENT)
        sure = len(notes) == 1 and not innocent and not part.likened
        stop = sure and notes[0] in self.vocabulary.stops
        if sure and (part.guessed or (part.how == "corrected" and stop)):
            sure, weights = False, {notes[0]: DOUBT_OF_LIKENESS, INNOCENT: 1 - DOUBT_OF_LIKENESS}
            ask = f"Is '{part.corrected}' meant?" if part.corrected else GUESSED
            ask += " Stop tasting until it is settled." if stop else ""
        if sure:
            misspelt = part.how == "corrected" or not any(m.kind == "note" for m in part.meanings)
            return Reading(
                part.text,
                notes[0],
                state,
                intensity,
                "misspelt" if misspelt else "matched",
                corrected=part.corrected,
                likeness=all(m.likeness for m in part.meanings if m.kind in NOTES),
            )
        return Reading(
            part.text,
            None,
            state,
            intensity,
            "ambiguous",
            candidates=notes,
            ask=ask,
            weights=tuple(weights.items()),
            corrected=part.corrected,
        )

    def _foreign(self, part: Part, index: int) -> None:
        notes = tuple(m for m in part.meanings if m.kind in NOTES)
        if not notes:
            return
        language = notes[0].language
        weights, _, _ = _shares(replace(part, meanings=notes), self.vocabulary)
        names = tuple(name for name in weights if name != INNOCENT)
        if not names:
            return
        kept = {name: weights[name] * DOUBT_OF_FOREIGN for name in names}
        kept[INNOCENT] = 1 - sum(kept.values())
        stop = " Stop tasting until it is settled." if set(names) & self.vocabulary.stops else ""
        known = (
            self.vocabulary.languages[language].label if language in self.vocabulary.languages else language
        )
        state: State = "absent" if self.denied else "doubtful" if self.doubt or part.doubted else "present"
        self.readings.append(
            Reading(
                part.text,
                None,
                state,
                self.intensity or "unstated",
                "ambiguous",
                candidates=names,
                ask=f"No word of the taster's language is known here; in {known} it names this: is that meant?{stop}",
                weights=tuple(kept.items()),
                foreign=language,
            )
        )
        self.intensity = ""

    def _unknown(self, part: Part) -> None:
        folded = " ".join(tokens(part.text))
        if not folded:
            return
        state: State = "absent" if self.denied else "present"
        near = suggestions(folded, self.vocabulary, self.own)
        cups, of = (self.count.cups, self.count.of) if self.count else (None, None)
        reading = Reading(
            part.text,
            None,
            state,
            self.intensity or "unstated",
            "unknown",
            cups=cups,
            of=of,
            suggestions=near,
        )
        self.readings.append(reading)
        self.lacking, self.quality = False, None

    def _counted(self, count: Count, index: int) -> None:
        if self._note_follows(index) and not (count.which and self._open()):
            self.count = count
            return
        if count.cups == ALL:
            self.count = count
        if self._open():
            last = self.readings[-1]
            self.readings[-1] = replace(last, cups=count.cups, of=count.of, which=count.which)
        else:
            self.count = count

    def _open(self) -> bool:
        """A note stands before that nobody has counted yet."""
        return bool(self.readings) and self.readings[-1].cups is None and self.readings[-1].state != "absent"

    def _note_follows(self, index: int) -> bool:
        for later in self.parts[index + 1 :]:
            if later.names_a_note or (not later.kinds and later.count is None):
                return True
            if "break" in later.kinds:
                return False
        return False


_JOINERS = (
    "and",
    "y",
    "e",
    "et",
    "und",
    "dan",
    "va",
    "と",
    "እና",
    "or",
    "ni",
    "nor",
    "o",
    "ou",
    "oder",
    "atau",
    "hoac",
)


def _shares(part: Part, vocabulary: Vocabulary) -> tuple[dict[str, float], str | None, bool]:
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
        ask = "This word means different things in different languages, or to different tasters: which is meant?"
    return total, ask, INNOCENT in total


def _asked(reading: Reading, note: str) -> Reading:
    """A likeness that is put as a question."""
    return replace(
        reading,
        descriptor=None,
        outcome="ambiguous",
        candidates=(note,),
        ask="Is it a likeness of this note, or part of something else?",
        weights=((note, DOUBT_OF_LIKENESS), (INNOCENT, 1 - DOUBT_OF_LIKENESS)),
    )


def suggestions(folded: str, vocabulary: Vocabulary, languages: Sequence[str]) -> tuple[str, ...]:
    """Off-notes whose words are near an unknown one, the nearest first."""
    from rapidfuzz import fuzz, process

    if len(folded) < 5:
        return ()
    words = {
        word: language
        for language in languages
        if language in vocabulary.tongues
        for word in vocabulary.tongues[language].by_letter.get(folded[0], ())
        if any(m.kind == "note" for m in vocabulary.of(word, (language,)))
    }
    found = process.extract(folded, words.keys(), scorer=fuzz.ratio, score_cutoff=68, limit=5)
    names = [m.id for word, _, _ in found for m in vocabulary.of(word, (words[word],)) if m.kind == "note"]
    return tuple(dict.fromkeys(names))[:3]
