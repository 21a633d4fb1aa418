"""Amounts as people write and say them, in any language: exact, about, a range, a bound, or a word for how many.

Every number with a unit that the project reads from people goes through here: rows of the lot sheet, plain sentences,
laboratory values.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from tracer.amount_words import AmountWords
from tracer.knowledge.language import Language
from tracer.names import fold
from tracer.quantity import FACTORS, QuantityError, read_quantity, unit_name
from tracer.wording.sentence import joined, say

Word = Literal["none", "few", "some", "many"]


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity from `low` to `high`; either end None where it is open. Equal ends are an exact figure.

    `word` is set where no figure was given but how many in words.
    """

    low: float | None
    high: float | None
    unit: str = ""
    """As the tables of units name it; empty where none was written."""
    about: bool = False
    word: Word | None = None
    start: int = 0
    end: int = 0
    text: str = ""

    @property
    def exact(self) -> bool:
        """True for one plain figure."""
        return self.low is not None and self.low == self.high and not self.about and self.word is None

    @property
    def best(self) -> float | None:
        """The figure itself, the middle of a range, or the one end of a bound."""
        if self.low is not None and self.high is not None:
            return (self.low + self.high) / 2
        return self.low if self.low is not None else self.high

    def within(self, unit: str) -> Amount:
        """The same amount in another unit. Raises QuantityError where it does not fit."""
        written = self.unit
        return replace(
            self,
            low=None if self.low is None else _convert(self.low, written, unit),
            high=None if self.high is None else _convert(self.high, written, unit),
            unit=unit,
        )

    def widened(self, share: float) -> tuple[float | None, float | None]:
        """Both ends, those of an "about" moved apart by a share of the figure."""
        if not self.about:
            return self.low, self.high
        low = None if self.low is None else self.low - abs(self.low) * share
        high = None if self.high is None else self.high + abs(self.high) * share
        return low, high


def _convert(number: float, written: str, unit: str) -> float:
    if not written:
        return number
    return read_quantity(f"{number!r} {written}", unit)


class AmountReader(AmountWords):
    """Finds amounts in text, with the unit and amount words of some languages."""

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        return self._compile()

    def _compile(self) -> re.Pattern[str]:
        def any_of(words: Iterable[str]) -> str:
            kept = sorted(
                {re.escape(word).replace(r"\ ", r"\s+") for word in words if word}, key=len, reverse=True
            )
            return (
                "|".join(
                    f"{word}(?![^\\W\\d_])" if word[-1:].isascii() and word[-1:].isalpha() else word
                    for word in kept
                )
                or "(?!)"
            )

        digits = r"\d{1,3}(?:[  ]\d{3})+(?!\d)|\d+(?:[.,]\d+)*|[.]\d+"
        named = any_of([*self.numbers, *self.halves, *self.ones])
        halves = any_of(self.halves)
        rounds = rf"(?:{any_of(self.rounds)})(?:\s+(?:{any_of(self.of)})(?=\s))?"
        half = any_of(self.words.get("and_half", ()))
        number = (
            rf"(?:(?<![A-Za-z\d_/:.,-])(?:{digits})|(?<!\w)(?:{rounds}|(?:{halves})\s+(?:a|an|of)\b|{named}))"
        )
        second = rf"(?:{digits}|{any_of(self.numbers)})"
        unit = any_of(self.units)
        join = any_of(w for w in self.words.get("to", {}) if w not in _WEAK)
        weak = any_of(w for w in self.words.get("to", {}) if w in _WEAK)
        kinds = ("about", "more", "less", "least", "most", "between")
        before = "|".join(rf"(?P<{kind}>(?<!\w)(?:{any_of(self.words.get(kind, ()))})\s*)" for kind in kinds)
        after_words = {
            k: [
                w
                for w, lang in self.words.get(k, {}).items()
                if lang in _BEHIND or (k in _BOUNDS and " " in w)
            ]
            for k in kinds
        }
        after = "|".join(rf"(?P<post_{kind}>,?\s*(?:{any_of(after_words[kind])}))" for kind in kinds[:5])
        return re.compile(
            rf"(?:{before})?(?:(?<!\w)(?:{any_of(self.words.get('about', ()))})\s*)?"
            rf"(?P<a>{number})(?P<half>\s*(?:{half}))?\s*(?P<ua>{unit})?(?P<half_behind>\s+(?:{half}))?"
            rf"(?:\s*(?:(?P<join>{join})|(?P<weak>{weak}))\s*(?P<b>{second})(?![/:\d])\s*(?P<ub>{unit})?)?"
            rf"(?:{after})?(?!\d|[/:]\d)",
            re.IGNORECASE,
        )

    def find(self, text: str) -> list[Amount]:
        """Every figure in a text, with its unit where one stands by it; days and clock times are left out."""
        plain = self.days.masked(folded_in_place(text))
        found = []
        for match in self._pattern.finditer(plain):
            amount = self._amount(match, plain)
            if amount is not None:
                found.append(amount)
        return found

    def _amount(self, match: re.Match[str], text: str) -> Amount | None:
        groups = match.groupdict()
        unit_a, unit_b = (self.units.get(fold(groups[name] or ""), "") for name in ("ua", "ub"))
        first = self._number(groups["a"], unit_a or unit_b)
        if first is None or (fold(groups["a"]) in self.ones and not unit_a):
            return None
        if groups["half"] or (groups["half_behind"] and unit_a):
            first += 0.5
        between = groups["between"] is not None
        second = None
        end = match.end()
        parted = bool(unit_a and unit_b and unit_a != unit_b)
        if parted:
            end, unit_b = match.end("ua"), ""
        elif groups["b"] is not None and (groups["join"] is not None or between):
            second = self._number(groups["b"], unit_b or unit_a)
        elif groups["b"] is not None:
            end, unit_b = match.start("weak"), ""
        unit = unit_b or unit_a
        kind = next(
            (
                name
                for name in ("more", "less", "least", "most")
                if groups[name] or groups.get(f"post_{name}")
            ),
            None,
        )
        about = (
            bool(groups["about"] or groups.get("post_about"))
            or self._round(fold(groups["a"])) is not None
            or self._about_inside(text[match.start() : match.start("a")])
        )
        low: float | None
        high: float | None
        if second is not None and second >= first:
            low, high = first, second
        elif kind in ("more", "least"):
            low, high = first, None
        elif kind in ("less", "most"):
            low, high = None, first
        else:
            low = high = first
        if second is not None and second < first:
            low = high = first
        return Amount(low, high, unit, about, None, match.start(), end, text[match.start() : end].strip())

    def _round(self, text: str) -> float | None:
        return next(
            (size for word, size in self.rounds.items() if text == word or text.startswith(f"{word} ")), None
        )

    def _about_inside(self, text: str) -> bool:
        return any(
            word in fold(text)
            for word in self.words.get("about", {})
            if word in fold(text).split() or word == "~"
        )

    def _number(self, written: str, unit: str) -> float | None:
        text = fold(written)
        if (round_number := self._round(text)) is not None:
            return round_number
        if text.split()[0] in self.halves:
            return 0.5
        if text in self.ones:
            return 1.0
        if text in self.numbers:
            return float(self.numbers[text])
        text = text.replace(" ", "").replace(" ", "")
        if re.fullmatch(r"\d{1,3}([.,]\d{3})+", text) and (
            unit in ("", "m", "kg", "g") or text.count(",") + text.count(".") > 1
        ):
            return float(re.sub("[.,]", "", text))
        try:
            return float(text.replace(",", "."))
        except ValueError:
            return None

    def read(self, value: object, unit: str) -> Amount:
        """The amount of a row of the sheet, in the row's unit. Raises QuantityError with the remedy.

        Takes what `read_quantity` takes, and: about 20 h; 10 to 25 h; > 5 cm; up to ten months; none, few, some, many.
        """
        if not isinstance(value, str):
            number = read_quantity(value, unit)  # type: ignore[arg-type]
            return Amount(number, number, unit, text=str(value))
        try:
            number = read_quantity(value, unit)
        except QuantityError as error:
            return self._in_words(value, unit, error)
        if _THOUSANDS.match(value) and unit_name(unit) in ("m", "kg", "g"):
            return self._in_words(
                value,
                unit,
                QuantityError(say("'{data}' is no number", data=value), say("Write digits only.")),
            )
        return Amount(number, number, unit, text=value)

    def _in_words(self, value: str, unit: str, error: QuantityError) -> Amount:
        text = value.strip()
        for kind in HOW_MANY:
            if fold(text) in self.words.get(kind, {}):
                end = 0.0 if kind == "none" else None
                return Amount(end, end, unit, word=kind, text=text)
        found = self.find(text)
        if len(found) == 1 and _rest(text, found[0]) == "":
            amount = found[0]
            return replace(amount.within(unit), text=text)
        raise error


HOW_MANY: tuple[Word, ...] = ("none", "few", "some", "many")
"""Units that are also small words: read on the sheet, not in sentences."""
_BEHIND = ("ja", "am")
"""Languages whose amount words stand behind the figure."""
_BOUNDS = ("least", "most")
_WEAK = ("and", "y", "e", "et", "und", "dan", "va", "hasta", "ate")
"""Joiners of a range only where a word for between stands before."""
_THOUSANDS = re.compile(r"\s*\d{1,3}[.,]\d{3}(?!\d)")


def folded_in_place(text: str) -> str:
    """Text folded sign by sign, so that places in it stay what they were."""
    signs = []
    for sign in text:
        folded = fold(sign) if not sign.isspace() else " "
        signs.append(folded if len(folded) == 1 else sign.lower() if len(sign.lower()) == 1 else sign)
    return "".join(signs)


def _rest(text: str, amount: Amount) -> str:
    return (text[: amount.start] + text[amount.end :]).strip(" .")


def shown(amount: Amount, unit: str) -> str:
    """An amount in a line.

    >>> shown(Amount(10, 25), "h"), shown(Amount(5, None), "cm"), shown(Amount(20, 20, about=True), "h")
    ('10 to 25 h', 'at least 5 cm', 'about 20 h')
    """
    if amount.word is not None:
        return amount.word
    low, high = amount.low, amount.high
    figure = say("some")
    if low is not None and high is not None:
        figure = say("{low:g}" if low == high else "{low:g} to {high:g}", low=low, high=high)
    elif low is not None:
        figure = say("at least {low:g}", low=low)
    elif high is not None:
        figure = say("at most {high:g}", high=high)
    if amount.about:
        figure = say("about {figure}", figure=figure)
    return joined((figure, unit), " ") if unit and unit != "1" else figure


def same_unit(written: str, unit: str) -> bool:
    """True if an amount in one unit can be told in the other."""
    wanted = unit_name(unit)
    if not written:
        return True
    if wanted == "c":
        return unit_name(written) in ("c", "f", "celsius", "fahrenheit")
    return unit_name(written) in FACTORS.get(wanted, {wanted: 1.0})


_readers: dict[str, AmountReader] = {}


def amount_reader(languages: Mapping[str, Language], key: str) -> AmountReader:
    """The reader for some languages, made once for a knowledge base; `key` is the identity of its content."""
    found = _readers.get(key) if key else None
    if found is None:
        found = AmountReader(languages.values())
        _readers.clear()
        _readers[key] = found
    return found
