"""Reads the sentences of a message: phrases, off-notes, contacts and laboratory values, grouped by what they rest on."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from functools import cached_property

from tracer.amounts import Amount, AmountReader, amount_reader, folded_in_place, same_unit
from tracer.days import Day
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.kept import kept_at, read_json, write_json
from tracer.knowledge.phrase import Phrase
from tracer.quantity import QuantityError
from tracer.sentences.alike import alike, known_in
from tracer.sentences.chance import chance_right
from tracer.sentences.match import Match, Token, matches, read_tokens
from tracer.sentences.notes import notes, tasted_first
from tracer.sentences.proposal import Kind, Proposal, Read
from tracer.sentences.siblings import siblings_of
from tracer.sentences.split import Sentence, sentences
from tracer.sentences.statements import statements
from tracer.sentences.things import contacts, counted_cups, laboratory
from tracer.sentences.ways import Ways, as_data, build_ways, from_data
from tracer.words.clauses import without_counts
from tracer.words.known_texts import KnownTexts
from tracer.words.tokens import clean_text, fold_word
from tracer.words.tongue import QUIET, RUNNING
from tracer.words.vocabulary import Vocabulary
from tracer.words.which_language import best, languages_of, scores

BARE_UNITS = ("%", "aw", "ph", "1", "points")
"""Units that people leave out beside the name of what is measured."""
TIGHT = 0.97
"""Factor on the weight of a way for each strange word between its own: of two that are said, the tighter is meant. Tried on the open sentences of
tests/reading."""
DATE = "date"
"""What a phrase takes that needs a day."""
PLAINLY = (2.0, 1.5)
"""Words of another language in a sentence, and how many times those of the message's own, from which it is in that."""
CLOSE = 30
"""Signs within which a bare figure must stand of the words that name it."""


class SentenceReader:
    """Reads sentences with one knowledge base; the ways of a language are read when a sentence in it comes."""

    def __init__(self, base: KnowledgeBase, vocabulary: Vocabulary) -> None:
        self.base, self.vocabulary = base, vocabulary
        self.kept: dict[str, Ways] = {}
        self.known: dict[str, KnownTexts] = {}

    @cached_property
    def amounts(self) -> AmountReader:
        """Finds the figures."""
        return amount_reader(self.base.languages, self.base.sha256)

    def ways(self, language: str) -> Ways:
        """The ways of a language, from the cache or made anew."""
        if language not in self.kept:
            path = kept_at(f"ways.{language}", self.base.sha256)
            data = read_json(path) if self.base.sha256 else None
            found = from_data(data) if data is not None else None
            if found is None:
                found = build_ways(language, self.base.phrases.values())
                if self.base.sha256:
                    write_json(path, as_data(found))
            self.kept[language] = found
        return self.kept[language]

    def message(
        self, text: str, language: str | None = None, by: datetime.date | None = None
    ) -> tuple[Read, ...]:
        """Every sentence of a message with what it may mean.

        Without a language, the words decide. `by` is the day it was written: days without a year lie before it.
        """
        clean = clean_text(text)
        whole = self.amounts.days.written(folded_in_place(clean))
        if language:
            return tuple(self.sentence(one, language, by) for one in sentences(clean, whole))
        usual = next(iter(best(scores(clean[:4000], self.vocabulary))), None)
        return tuple(self.sentence(one, self._spoken(one.text, usual), by) for one in sentences(clean, whole))

    def nearest(self, language: str) -> KnownTexts:
        """The known sentences of a language."""
        if language not in self.known:
            self.known[language] = known_in(language, self.base)
        return self.known[language]

    def _spoken(self, text: str, usual: str | None) -> str | None:
        """The language of the message, unless a sentence is plainly in another: people forward and mix."""
        known = scores(text, self.vocabulary)
        found = best(known)
        if usual is None or not found or usual in found or known[found[0]] < PLAINLY[0]:
            return usual
        return found[0] if known[found[0]] >= PLAINLY[1] * known.get(usual, 0.0) else usual

    def sentence(
        self, sentence: Sentence, language: str | None = None, by: datetime.date | None = None
    ) -> Read:
        """One sentence with what it may mean."""
        spoken = self._language(sentence.text, language)
        entry = self.base.languages[spoken]
        words = read_tokens(sentence.text, spoken)
        text = (
            f" {' '.join(word.folded for word in words)} "
            if spoken not in RUNNING
            else fold_word(sentence.text)
        )
        hearsay = any(
            (fold_word(one) in text) if spoken in RUNNING else f" {fold_word(one)} " in text
            for one in entry.hearsay
        )
        found: list[Proposal] = []
        amounts = self.amounts.find(without_counts(sentence.text, self.base.languages))
        days = self.amounts.days.find(folded_in_place(sentence.text), by, entry.month_first)
        ways = self.ways(spoken)
        matched = matches(sentence.text, ways, entry)
        small = self._small(words, spoken)
        if spoken not in RUNNING:
            matched = alike(words, self.nearest(spoken), entry, matched, small)
        own = self._own_words(matched, words, amounts, small)
        for match in matched:
            named = own.get(match.phrase, match.places)
            proposal = self._phrase(match, words, named, amounts, days, hearsay, small)
            if proposal is not None:
                found.append(proposal)
        told = {at for one in found if one.sure and one.kind in TOLD for at in one.places}
        found += notes(sentence.text, self.vocabulary, spoken, words, hearsay, told)
        found = tasted_first(found, self.vocabulary, spoken, words)
        beside = siblings_of(entry)
        parts = list(beside.read(sentence.text, words, hearsay, _present(found), _said(found)))
        theirs = beside.of_the_clean(
            words, [*parts, *(one for one in found if one.sure and one.kind == "comparison")]
        )
        found = [
            replace(one, sure=one.sure and not _of_another(one, theirs))
            if one.kind in TOLD or _heard(one)
            else one
            for one in found
        ]
        found += parts
        found += counted_cups(sentence.text, self.vocabulary, hearsay)
        found += contacts(self.base, words, spoken, sentence.text, hearsay)
        found += laboratory(self.base, entry, sentence.text, words, amounts, hearsay)
        if sentence.asks:
            found = [replace(one, sure=False) for one in found]
        return Read(sentence.text, sentence.line, spoken, tuple(statements(found)), hearsay)

    def _language(self, text: str, stated: str | None) -> str:
        own = languages_of(text, self.vocabulary, (stated,) if stated else None)
        if own[0] in self.base.languages:
            return own[0]
        return stated or next(iter(self.base.languages))

    def _phrase(
        self,
        match: Match,
        words: Sequence[Token],
        own: frozenset[int],
        amounts: Sequence[Amount],
        days: Sequence[Day],
        hearsay: bool,
        small: frozenset[int],
    ) -> Proposal | None:
        law = self.base.settings.reading
        phrase = self.base.phrases.get(match.phrase)
        if phrase is None:
            return None
        value: str | float | None = phrase.value
        amount = day = None
        if match.denied:
            if phrase.takes is not None or phrase.denied is None:
                return None
            value = phrase.denied
        elif phrase.takes == DATE:
            day = min(days, key=lambda one: min(_apart(one, words[at], words) for at in own), default=None)
            if day is None:
                return None
            value = day.date.isoformat()
        elif phrase.takes is not None:
            amount = self._amount(phrase, [words[at] for at in own], words, amounts)
            if amount is None:
                return None
            value = amount.best
        places = _signs(match.places, words)
        right = chance_right(match, words, small, law) if match.share >= 1 else None
        kind, target, said = _what(phrase)
        figure = amount or day
        return Proposal(
            phrase.id,
            kind,
            target,
            said if said is not None else value,
            (match.score + match.beside) * (1.25 if figure is not None else 1.0) * TIGHT**match.loose,
            right is not None and right >= law.sure,
            places if figure is None else (*places, *range(figure.start, figure.end)),
            amount,
            self._stage(phrase),
            hearsay,
            unit=phrase.takes,
            day=day.date if day is not None else None,
            right=right,
        )

    def _small(self, words: Sequence[Token], spoken: str) -> frozenset[int]:
        """Places of articles, prepositions and words that only join."""
        of = self.vocabulary.tongues[spoken].of
        return frozenset(
            at for at, word in enumerate(words) if any(one.kind in QUIET for one in of(word.folded))
        )

    def _own_words(
        self,
        matched: Sequence[Match],
        words: Sequence[Token],
        amounts: Sequence[Amount],
        small: frozenset[int],
    ) -> dict[str, frozenset[int]]:
        """For each phrase that takes a figure, the words that no other one of the same unit rests on."""
        taking = [
            (one, phrase.takes)
            for one in matched
            if (phrase := self.base.phrases.get(one.phrase)) is not None and phrase.takes
        ]
        figures = {
            at for at, word in enumerate(words) for one in amounts if one.start <= word.start < one.end
        }
        found = {}
        for one, unit in taking:
            others = {
                at
                for other, its in taking
                if other is not one and its == unit and other.share >= 1
                for at in other.places
            }
            told = (one.places - figures - small) or (one.places - figures) or one.places
            found[one.phrase] = (told - others) or (one.places - figures - others) or told
        return found

    def _stage(self, phrase: Phrase) -> str | None:
        if phrase.record is not None:
            record = self.base.records.get(phrase.record)
            return record.stage if record is not None else None
        return phrase.normal

    def _amount(
        self, phrase: Phrase, own: Sequence[Token], words: Sequence[Token], amounts: Sequence[Amount]
    ) -> Amount | None:
        """The figure nearest to the phrase's own words that fits its unit and what the record can be."""
        unit = phrase.takes or ""
        record = self.base.records.get(phrase.record or "")
        near: list[tuple[int, Amount]] = []
        for amount in amounts:
            distance = min(_apart(amount, word, words) for word in own)
            if not same_unit(amount.unit, unit) or (
                not amount.unit and (unit not in BARE_UNITS or distance > CLOSE)
            ):
                continue
            if amount.unit in ("beans", "cups", "bags") and unit not in ("1",):
                continue
            try:
                fitting = amount.within(unit)
            except QuantityError:
                continue
            ends = [end for end in (fitting.low, fitting.high) if end is not None]
            if record is not None and record.possible is not None:
                low, high = record.possible
                if any(not low <= end <= high for end in ends):
                    continue
            near.append((distance - (20 if amount.unit else 0), fitting))
        return min(near, key=lambda one: one[0])[1] if near else None


def _apart(amount: Amount | Day, word: Token, words: Sequence[Token]) -> int:
    """Signs between a figure and a word; a comma between them counts as far."""
    signs = max(0, amount.start - word.end, word.start - amount.end)
    own = next((one.clause for one in words if one.end > amount.start), word.clause)
    return signs + (CLOSE if own != word.clause else 0)


def _what(phrase: Phrase) -> tuple[Kind, str, str | None]:
    """Kind, target and value of a phrase; the value of a record is its own."""
    if phrase.record is not None:
        return "record", phrase.record, None
    if phrase.answer is not None:
        question, answer = next(iter(phrase.answer.items()))
        return "answer", question, answer
    if phrase.pattern is not None:
        return "pattern", phrase.pattern.level, phrase.pattern.share
    if phrase.comparison is not None:
        return "comparison", phrase.comparison.with_, phrase.comparison.shows
    if phrase.sample is not None:
        return "sample", phrase.sample, None
    if phrase.lot is not None:
        name, value = next(iter(phrase.lot.items()))
        return "lot", name, value
    return "normal", phrase.normal or "any", None


def _signs(places: Iterable[int], words: Sequence[Token]) -> tuple[int, ...]:
    return tuple(sign for at in sorted(places) for sign in range(words[at].start, words[at].end))


def _heard(one: Proposal) -> bool:
    return one.kind == "note" and one.value == "present"


def _of_another(one: Proposal, theirs: Collection[int]) -> bool:
    """True for an off-note beside what is said of a clean part, and for a row that rests on nothing else: it is the part's own."""
    if one.kind == "note":
        return not set(theirs).isdisjoint(one.places)
    return bool(one.places) and set(theirs).issuperset(one.places)


def _present(found: Iterable[Proposal]) -> set[int]:
    """Signs of the off-notes that are there."""
    return {at for one in found if _heard(one) for at in one.places}


def _said(found: Iterable[Proposal]) -> set[int]:
    """Signs of what surely fills in a row, answers a question or compares."""
    kinds = (*TOLD, "comparison")
    return {at for one in found if one.sure and one.kind in kinds for at in one.places}


TOLD = ("record", "answer", "lot")
"""Kinds that speak of what was done to the coffee, and not of a cup."""
