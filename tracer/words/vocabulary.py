"""The vocabulary: for each language an index from folded phrases to what they mean."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from tracer.knowledge.entries import Ambiguity, Descriptor
from tracer.knowledge.language import MARKED, Language
from tracer.knowledge.word_list import LikenedThing, WordList
from tracer.words.known_lines import KnownLines, known_lines
from tracer.words.known_texts import KnownTexts
from tracer.words.stems import respelt, stem, stem_key
from tracer.words.thing_index import index, questions
from tracer.words.tokens import apart, has_marks, is_unspaced, marked, tokens
from tracer.words.tongue import AS_SPELLED, NAMING, TELLING, Meaning, Tongue

LISTED = (
    "negation",
    "not_negation",
    "noticing",
    "slight",
    "moderate",
    "strong",
    "doubt",
    "clean",
    "all_cups",
    "one_cup",
    "lacking",
    "seen",
)
"""Lists of a language whose words have the list's name as their kind."""
UNSPECIFIC = "unspecific"
"""Group of the off-notes that name no cause."""
LEAST_FRAGMENT = 5
"""Letters of a word that may stand for the likenesses it is part of."""
LEAST_LIKENESSES = 2
"""Likenesses a word must stand in before it may stand for them: judgement."""
LEAST_TO_STOP = 3
"""The same where it would stop tasting: judgement."""


@dataclass(frozen=True)
class Vocabulary:
    """The words of every language, and what the reading needs to know of the notes."""

    tongues: Mapping[str, Tongue]
    ambiguities: Mapping[str, Ambiguity]
    stops: frozenset[str]
    """Off-notes that stop tasting."""
    unspecific: frozenset[str]
    """Off-notes that say only that something is wrong."""
    lacks: Mapping[str, str]
    """Quality -> the off-note that it is missing."""
    unclean: str | None
    """The off-note of 'not clean'."""
    sights: Mapping[str, str]
    """Off-note -> the one it is where it is seen."""
    languages: Mapping[str, Language]
    lines: Mapping[str, KnownTexts]
    """Language -> all that its lists say, found by likeness."""
    likened: Mapping[str, Mapping[str, Mapping[str, float]]] = field(default_factory=dict)
    """Kind of thing -> its state, or `alone` -> off-note or innocent -> share of tasters who mean it."""

    def of(self, phrase: str, languages: Sequence[str], text: str = "") -> tuple[Meaning, ...]:
        """Meanings of a folded phrase in some languages; as the text is written, where marks tell words apart."""
        spelled = AS_SPELLED + marked(text) if text else ""
        bare = not has_marks(text)
        return tuple(
            one
            for name in languages
            if name in self.tongues
            for one in self.tongues[name].written(phrase, spelled, always=name in MARKED, bare=bare)
        )

    def elsewhere(self, phrase: str, languages: Sequence[str], text: str = "") -> tuple[Meaning, ...]:
        """Meanings of a folded phrase in all other languages."""
        return self.of(phrase, [name for name in self.tongues if name not in languages], text)


def build_vocabulary(
    descriptors: Iterable[Descriptor],
    ambiguities: Iterable[Ambiguity],
    languages: Iterable[Language],
    lists: Iterable[WordList] = (),
    things: Iterable[LikenedThing] = (),
) -> Vocabulary:
    """The index over all words of the knowledge base."""
    lists, things, ambiguities = tuple(lists), tuple(things), tuple(ambiguities)
    descriptors, known = tuple(descriptors), {language.id: language for language in languages}
    asked = {ambiguity.id: ambiguity for ambiguity in ambiguities}
    stops = frozenset(d.id for d in descriptors if d.stop_tasting)
    builds = {name: _Build(language, stops) for name, language in known.items()}
    for descriptor in descriptors:
        for kind, table in (("note", descriptor.words), ("misspelt", descriptor.misspelt)):
            for name, words in table.items():
                builds[name].add(words, Meaning(name, kind, descriptor.id))
    for ambiguity in asked.values():
        for name, words in ambiguity.words.items():
            builds[name].add(words, Meaning(name, "ambiguity", ambiguity.id))
    for one in lists:
        if one.thing or one.state:
            builds[one.language].likened.append(one)
            continue
        kind = "note" if one.note else "harmless"
        builds[one.language].add(
            one.words, Meaning(one.language, kind, one.note or "", likeness=one.note is not None)
        )
    return Vocabulary(
        {name: build.done() for name, build in builds.items()},
        {**asked, **questions(things)},
        stops,
        frozenset(d.id for d in descriptors if d.group == UNSPECIFIC),
        {d.lack_of: d.id for d in descriptors if d.lack_of},
        next((d.id for d in descriptors if d.not_clean), None),
        {d.id: d.seen_as for d in descriptors if d.seen_as},
        known,
        KnownLines(
            tuple(known),
            lambda name: known_lines(name, descriptors, ambiguities, lists, {one.id: one for one in things}),
        ),
        {thing.id: thing.means for thing in things},
    )


class _Build:
    """One language being indexed."""

    def __init__(self, language: Language, stops: frozenset[str]) -> None:
        self.language = language
        self.stops = stops
        self.places: dict[Meaning, int] = {}
        self.exact: dict[str, list[int]] = {}
        self.spelled: dict[str, list[str]] = {}
        self.phrases: list[tuple[str, Meaning]] = []
        self.likened: list[WordList] = []
        self.small = frozenset(" ".join(tokens(word)) for word in (*language.fillers, *language.heads))
        lists = (language.negation, language.lacking, language.noticing)
        self.bare = frozenset(word for words in lists for phrase in words for word in tokens(phrase))
        for kind in LISTED:
            self.add(getattr(language, kind), Meaning(language.id, kind, ""))
        for quality, words in language.qualities.items():
            self.add(words, Meaning(language.id, "quality", quality))
        for kind, words in (
            ("break", language.breaks),
            ("carrier", (*language.carriers, *language.cup_words)),
            ("filler", language.fillers),
            ("head", language.heads),
        ):
            self.add(words, Meaning(language.id, kind, ""))

    def add(self, words: Iterable[str], meaning: Meaning) -> None:
        place = self.places.setdefault(meaning, len(self.places))
        for word in words:
            for form in _forms(word, self.language):
                if not form:
                    continue
                found = self.exact.setdefault(form, [])
                if place not in found:
                    found.append(place)
                spelling = marked(apart(word))
                self.spelled.setdefault(form, []).append(spelling)
                with_marks = self.exact.setdefault(AS_SPELLED + spelling, [])
                if place not in with_marks:
                    with_marks.append(place)
                self.phrases.append((form, meaning))

    def _denials(self) -> set[str]:
        """Phrases such as "no mould" among the harmless ones: the denial is read, so that the absence counts."""
        deny = {" ".join(tokens(word)) for word in self.language.negation}
        notes = {form for form, meaning in self.phrases if meaning.kind in ("note", "ambiguity")}
        return {
            form
            for form, meaning in self.phrases
            if meaning.kind == "harmless"
            for cut in range(1, form.count(" ") + 1)
            for words in (form.split(),)
            if " ".join(words[:cut]) in deny and " ".join(words[cut:]) in notes
        }

    def _told_apart(self) -> None:
        """Keep spellings only where marks tell an off-note from another word (Spanish papa, papá)."""
        if self.language.id in MARKED:
            return
        noted = {place for meaning, place in self.places.items() if meaning.kind in NAMING}
        kept: set[str] = set()
        for form, spellings in list(self.spelled.items()):
            with_marks = {AS_SPELLED + spelling for spelling in spellings}
            if form.isascii() and len({noted.isdisjoint(self.exact[one]) for one in with_marks}) > 1:
                kept |= with_marks
            else:
                del self.spelled[form]
        self.exact = {
            form: found
            for form, found in self.exact.items()
            if not form.startswith(AS_SPELLED) or form in kept
        }

    def done(self) -> Tongue:
        denials = self._denials()
        self.phrases = [
            (form, m) for form, m in self.phrases if not (m.kind == "harmless" and form in denials)
        ]
        self._told_apart()
        meanings = list(self.places)
        written = {AS_SPELLED + spelling for form in denials for spelling in self.spelled.get(form, ())}
        for form in denials | (written & set(self.exact)):
            kept = [place for place in self.exact[form] if meanings[place].kind != "harmless"]
            self.exact[form] = kept
            if not kept:
                del self.exact[form]
        stemmed: dict[str, list[int]] = {}
        deny = {" ".join(tokens(word)) for word in self.language.negation}
        for form, meaning in self.phrases:
            # "No smoking" says nothing of "no smoke".
            alone = meaning.kind == "harmless" and form.split()[0] in deny
            inflects = meaning.kind in TELLING and not alone and not self._empty(form)
            key = stem_key(form.split(), self.language.id, self.small) if inflects else ""
            place = self.places[meaning]
            if key and place not in stemmed.setdefault(key, []):
                stemmed[key].append(place)
        known = frozenset(word for form, _ in self.phrases for word in form.split())
        by_letter: dict[str, list[str]] = {}
        for word in sorted(known):
            if len(word) >= 4 and not is_unspaced(word):
                by_letter.setdefault(word[0], []).append(word)
        unspaced: dict[str, list[str]] = {}
        for phrase in sorted(
            (p for p in self.exact if is_unspaced(p) and not p.startswith(AS_SPELLED)),
            key=lambda p: (-len(p), p),
        ):
            unspaced.setdefault(phrase[0], []).append(phrase)
        return Tongue(
            dict(enumerate(self.places)),
            self.exact,
            stemmed,
            self.spelled,
            self._fragments(),
            known,
            self.small,
            max((form.count(" ") + 1 for form, _ in self.phrases), default=1),
            by_letter,
            unspaced,
            index(
                ((w, one.thing) for one in self.likened if one.thing for w in one.words),
                self.language,
                self.small,
            ),
            index(
                ((w, one.state) for one in self.likened if one.state for w in one.words),
                self.language,
                self.small,
            ),
        )

    def _empty(self, form: str) -> bool:
        """True for a phrase of which one word, or only words of denial, are left without its small ones: they do not stand for it.

        "Body odour" is not body, "old house" no house, nor "can smell no aroma" can smell no.
        """
        words = form.split()
        rest = [word for word in words if word not in self.small]
        return len(words) > 1 and (len(rest) < 2 or (len(rest) < len(words) and self.bare.issuperset(rest)))

    def _fragments(self) -> dict[str, dict[str, float]]:
        """Stems inside likenesses of several words that stand nowhere else, with the notes of those likenesses."""
        notes: dict[str, dict[str, int]] = {}
        elsewhere: set[str] = set()
        for form, meaning in self.phrases:
            parts = [stem(word, self.language.id) for word in form.split() if word not in self.small]
            if meaning.kind == "note" and len(parts) > 1:
                for part in parts:
                    if len(part) >= LEAST_FRAGMENT:
                        counts = notes.setdefault(part, {})
                        counts[meaning.id] = counts.get(meaning.id, 0) + 1
            elif meaning.kind != "note":
                elsewhere |= set(parts)
        return {
            part: {name: count / sum(found.values()) for name, count in found.items()}
            for part, found in notes.items()
            if part not in elsewhere
            and len(found) <= 2
            and sum(found.values()) >= (LEAST_TO_STOP if self.stops & found.keys() else LEAST_LIKENESSES)
        }


def _forms(word: str, language: Language) -> list[str]:
    """The folded phrase; for German also the spelling without umlauts, and each language's other spellings."""
    forms = [" ".join(tokens(word))]
    if language.id == "de":
        plain = word.lower().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
        forms.append(" ".join(tokens(plain)))
    if language.spellings:
        forms.append(respelt(forms[0], language.spellings))
    return list(dict.fromkeys(forms))
