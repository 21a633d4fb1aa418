"""A taster's line in the taster's own words -> what it says of each off-note.

A denial reaches to the end of its clause or to "but" (or back, where a language denies after the noun); intensity and
doubt colour the next note; too little of a quality is a note of its own. A word that means several things, or comes from
another language, becomes a question; an unknown word is kept with suggestions: nothing is guessed in silence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from tracer.knowledge.entries import INNOCENT
from tracer.words.clauses import Count, clauses
from tracer.words.heard import (
    ALL,
    DOUBT_OF_LIKENESS,
    LEVELS,
    Reading,
    State,
    denied,
    denies_by_itself,
    foreign,
    suggestions,
    usual_meaning,
    whether_meant,
)
from tracer.words.heard import shares as shares_of
from tracer.words.likened import likened
from tracer.words.lookup import parts_of
from tracer.words.part import NOTES, Part
from tracer.words.settle import settle_likenesses, settle_line, settle_sights
from tracer.words.tokens import clean_text, fold_word, tokens
from tracer.words.tongue import JOINERS
from tracer.words.vocabulary import Vocabulary
from tracer.words.which_language import languages_of
from tracer.words.whole_line import as_a_whole


def read_words(
    text: str, vocabulary: Vocabulary, languages: Sequence[str] | None = None
) -> tuple[Reading, ...]:
    """Readings of one line, in its order. `languages` are the taster's own; without them the line's words decide."""
    parted = clauses(line := clean_text(text), vocabulary.languages)
    own = languages_of(line, vocabulary, languages)
    return tuple(as_a_whole(parted, _by_words(parted, vocabulary, own), vocabulary, own))


def read_sentence(text: str, vocabulary: Vocabulary, language: str) -> tuple[Reading, ...]:
    """Readings of the words of a sentence, which may speak of other things than a cup; it is not compared as a whole."""
    parted = clauses(line := clean_text(text), vocabulary.languages)
    own = languages_of(line, vocabulary, (language,))
    return tuple(_by_words(parted, vocabulary, own))


def _by_words(parted: Sequence[str], vocabulary: Vocabulary, own: Sequence[str]) -> list[Reading]:
    each = [likened(parts_of(clause, vocabulary, own), vocabulary, own) for clause in parted]
    return settle_line([(parts, _Clause(parts, vocabulary, own).read()) for parts in each], vocabulary)


@dataclass
class _Clause:
    """One clause being read, left to right."""

    parts: list[Part]
    vocabulary: Vocabulary
    own: Sequence[str]
    readings: list[Reading] = field(default_factory=list)
    denied: bool = False
    far: bool = False
    """Words that are no part of a plain denial stand between the denial and here."""
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
        settle_likenesses(self.parts, self.readings, self.made)
        settle_sights(self.parts, self.readings, self.vocabulary)
        return self.readings

    def _one(self, index: int, part: Part) -> None:
        kinds = part.kinds
        note = part.names_a_note
        self.far = self.far or not part.joins
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
            self._negation(part, kinds, index)
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
            self._foreign(part)
        elif not kinds:
            self._unknown(part)

    def _only_carries(self, part: Part, index: int) -> bool:
        """A head, or a lack of smell, beside a note only carries it: "no smell of petrol" denies it, a "rubber taint" is rubber."""
        if "head" in part.kinds and self.made and self.made[-1] == index - 1 and self._is_head_alone(part):
            return True
        if not self._note_follows(index):
            return False
        lacks = set(self.vocabulary.lacks.values())
        named = [m for m in part.meanings if m.kind in NOTES]
        if self._is_head_alone(part):
            return True
        last = tokens(part.text)[-1:]
        heads = any("head" in {m.kind for m in self.vocabulary.of(word, self.own)} for word in last)
        if heads and any(m.id in lacks for m in named):
            self.denied = True
            return True
        return False

    def _is_head_alone(self, part: Part) -> bool:
        """A head that by itself is asked, such as taint, and joins a note that stands beside it."""
        named = [m for m in part.meanings if m.kind in NOTES]
        return "head" in part.kinds and all(
            m.kind == "ambiguity" or m.likeness or m.id in self.vocabulary.unspecific for m in named
        )

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
        carries = head and (self._note_follows(index) or self.made[-1:] == [index - 1])
        if not (self.lacking or (self.denied and self._near())) or carries:
            self.quality = None if head else quality
            return False
        self._lack(part.text, quality)
        return True

    def _near(self) -> bool:
        return not self.readings or self.readings[-1].state == "absent"

    def _lack(self, text: str, quality: str) -> None:
        if note := self.vocabulary.lacks.get(quality):
            self.readings.append(
                Reading(text, note, "doubtful" if self.doubt else "present", "unstated", "matched")
            )
        self.lacking = self.denied = False
        self.quality = None

    def _negation(self, part: Part, kinds: frozenset[str], index: int) -> None:
        after = any(m.kind in ("negation", "lacking") and m.language in self._after() for m in part.meanings)
        if self.quality is not None and (after or ("lacking" in kinds and "negation" not in kinds)):
            self._lack(part.text, self.quality)
            return
        if "negation" in kinds and after and self.readings:
            self.readings = [
                denied(one, self._beyond(place, index), self.vocabulary)
                for place, one in zip(self.made, self.readings, strict=True)
            ]
        elif "negation" in kinds:
            self.denied = self.lacking = True
            self.far = False
        else:
            self.lacking = True
            if kinds & {"slight"}:
                self.intensity = "slight"

    def _beyond(self, place: int, index: int) -> bool:
        """True if words that are no part of a plain denial stand between two parts."""
        return not all(one.joins for one in self.parts[place + 1 : index])

    def _after(self) -> list[str]:
        return [name for name, one in self.vocabulary.languages.items() if one.negation_after]

    def _level(self, kinds: frozenset[str], index: int) -> None:
        level = next(kind for kind in ("slight", "moderate", "strong") if kind in kinds)
        if self._note_follows(index):
            # "very subtle" is slight, whichever stands first.
            self.intensity = "slight" if "slight" in (self.intensity, level) else level
        elif self.readings and self.readings[-1].intensity in ("unstated", "strong"):
            told = "slight" if level == "slight" else level
            self.readings[-1] = replace(self.readings[-1], intensity=told)

    def _break(self, part: Part) -> None:
        if not (self.denied and fold_word(part.text) in JOINERS):
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
        if self.denied and denies_by_itself(part, self.vocabulary, self.own):
            self.denied = False  # "no tiene nada de dulzor": the second denial adds nothing
        state: State = "absent" if self.denied else "doubtful" if self.doubt or part.doubted else "present"
        if self.lacking and not self.denied:
            self.intensity = "slight"
        reading = self._named(part, index, state)
        if state == "absent":
            reading = denied(reading, self.far, self.vocabulary)
        which = self.count.which if self.count else ()
        cups, of = (self.count.cups, self.count.of) if self.count else (None, None)
        self.readings.append(replace(reading, cups=cups, of=of, which=which))
        self.intensity, self.lacking, self.quality = "", False, None
        if not which:
            self.count = None

    def _named(self, part: Part, index: int, state: State) -> Reading:
        intensity = self.intensity or "unstated"
        weights, ask, innocent = shares_of(part, self.vocabulary)
        notes = tuple(name for name in weights if name != INNOCENT)
        sure = len(notes) == 1 and not innocent and not part.likened
        stop = sure and notes[0] in self.vocabulary.stops
        if sure and (part.guessed or (part.how == "corrected" and stop)):
            sure, weights = False, {notes[0]: DOUBT_OF_LIKENESS, INNOCENT: 1 - DOUBT_OF_LIKENESS}
            ask = whether_meant(part.corrected, stop)
        usual = usual_meaning(part, self.vocabulary)
        if usual is not None:
            return Reading(part.text, usual, state, intensity, "matched", candidates=notes, ask=ask)
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

    def _foreign(self, part: Part) -> None:
        state: State = "absent" if self.denied else "doubtful" if self.doubt or part.doubted else "present"
        if reading := foreign(part, self.vocabulary, state, self.intensity or "unstated"):
            self.readings.append(reading)
            self.intensity = ""

    def _unknown(self, part: Part) -> None:
        folded = " ".join(tokens(part.text))
        if not folded:
            return
        state: State = "absent" if self.denied else "present"
        near, told = suggestions(folded, self.vocabulary, self.own), self.intensity or "unstated"
        cups, of = (self.count.cups, self.count.of) if self.count else (None, None)
        self.readings.append(Reading(part.text, None, state, told, "unknown", cups, of, suggestions=near))
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
