"""Days as people write them, in any language: 2026-03-12, 12.3.2026, 12 March, el 3 de marzo, 3月12日.

A day is read only where it is plain: 3/4/2026 is left alone where the language writes the month first. Days, clock
times and numbers that only name something (week 12, lot 7) are also what the reader of amounts must not measure.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass

from tracer.knowledge.language import Language
from tracer.names import fold

_ISO = re.compile(r"(?<!\d)(20\d{2})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)")
_NUMERIC = re.compile(r"(?<![\d.,])(\d{1,2})([./-])(\d{1,2})\2(20\d{2}|\d{2})(?!\d)")
_EASTERN = re.compile(r"(?:(20\d{2})年)?(\d{1,2})月(\d{1,2})日")
_CLOCK = r"\d{1,2}:\d{2}(?::\d{2})?|\d{1,2}h\d{2}\b"
_CROP = r"(?<!\d)(?:19|20)\d{2}/\d{2}(?!\d)|(?<![\d.,])(?:19|20)\d{2}(?![\d.,])"
_NAMED = r"(?<!\d)\d{1,2}(?:st|nd|rd|th)\b|(?:\bwk|\bweek|\bsemana|\bKW|\blot[eo]?|\blote|\bno|\bnr|\bnº)\.?\s*#?\d+\b"
_VIETNAMESE = r"(?<!\w)(?:ngay|thang)\s+\d{1,2}(?:/\d{1,2})?"


@dataclass(frozen=True, slots=True)
class Day:
    """A day and where it stands in the text."""

    date: datetime.date
    start: int
    end: int


class DayReader:
    """Finds days in text, with the names of months of some languages."""

    def __init__(self, languages: Iterable[Language]) -> None:
        self.months: dict[str, int] = {}
        for language in languages:
            for number, names in enumerate(language.months, 1):
                for name in names.split("|"):
                    self.months.setdefault(fold(name), number)
        names = "|".join(re.escape(name) for name in sorted(self.months, key=len, reverse=True)) or "(?!)"
        ordinal, small = r"(?:st|nd|rd|th|\.|º|°|er)?", r"(?:(?:de|of|di|do|del|d)\s+)?"
        year = rf"(?:[\s,]*{small}(20\d{{2}}))?(?!\d)"
        self.day_first = re.compile(
            rf"(?<![\d.,])(\d{{1,2}}){ordinal}[\s/-]*{small}({names})\b\.?{year}", re.IGNORECASE
        )
        self.month_first = re.compile(
            rf"\b({names})\.?\s+(\d{{1,2}})(?:st|nd|rd|th)?(?!\d|[.,]\d|\s*%){year}", re.IGNORECASE
        )
        worded = (self.day_first, self.month_first)
        self.mask = re.compile(
            "|".join(
                re.sub(r"(?<!\\)\((?!\?)", "(?:", one)
                for one in (
                    _ISO.pattern,
                    r"\d{1,2}[./]\d{1,2}[./]\d{2,4}",
                    _CLOCK,
                    _CROP,
                    *(pattern.pattern for pattern in worded),
                    _EASTERN.pattern,
                    r"\d{1,2}月",
                    _VIETNAMESE,
                    _NAMED,
                )
            ),
            re.IGNORECASE,
        )

    def masked(self, folded: str) -> str:
        """A text folded sign by sign with its days and names of things blanked, length kept."""
        return self.mask.sub(lambda match: " " * len(match[0]), folded)

    def written(self, folded: str) -> frozenset[int]:
        """Places inside days written in words, which no sentence ends at."""
        return frozenset(
            at for match in self.day_first.finditer(folded) for at in range(match.start(), match.end())
        )

    def find(self, folded: str, by: datetime.date | None = None, month_first: bool = False) -> list[Day]:
        """Every plain day in a folded text; one without a year is the last such day before `by`.

        Without a year and without `by` a day is left out, and so is 3/4/2026 where `month_first` makes it doubtful.
        """
        found: list[Day] = []
        taken: set[int] = set()

        def add(match: re.Match[str], year: str | None, month: int, day: int) -> None:
            date = _date(year, month, day, by)
            span = set(range(match.start(), match.end()))
            if date is not None and not span & taken:
                taken.update(span)
                found.append(Day(date, match.start(), match.end()))

        for match in _ISO.finditer(folded):
            add(match, match[1], int(match[2]), int(match[3]))
        for match in _NUMERIC.finditer(folded):
            day, month = int(match[1]), int(match[3])
            if month > 12 >= day:
                day, month = month, day
            elif month_first and day <= 12:
                continue
            add(match, match[4] if len(match[4]) == 4 else f"20{match[4]}", month, day)
        for match in _EASTERN.finditer(folded):
            add(match, match[1], int(match[2]), int(match[3]))
        for match in self.day_first.finditer(folded):
            add(match, match[3], self.months[fold(match[2])], int(match[1]))
        for match in self.month_first.finditer(folded):
            add(match, match[3], self.months[fold(match[1])], int(match[2]))
        return sorted(found, key=lambda one: one.start)


def _date(year: str | None, month: int, day: int, by: datetime.date | None) -> datetime.date | None:
    if year is None and by is None:
        return None
    try:
        if year is not None:
            return datetime.date(int(year), month, day)
        assert by is not None
        date = datetime.date(by.year, month, day)
        return date if date <= by else datetime.date(by.year - 1, month, day)
    except ValueError:
        return None
