"""Times as loggers write them. The order of day and month is never guessed in silence."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas

ORDERS = {"year_first": "{Y}{s}%m{s}%d", "day_first": "%d{s}%m{s}{Y}", "month_first": "%m{s}%d{s}{Y}"}
_SHAPE = re.compile(
    r"\s*(\d{1,4})([-/.])(\d{1,2})\2(\d{1,4})(?:([T ]+)(\d{1,2}):(\d{2})(:\d{2}(?:[.,]\d+)?)?)?\s*(.*?)\s*"
)
_ZONED = re.compile(r"(Z|[+-]\d{2}:?\d{2})")


def formats_of(value: str, order: str) -> str | None:
    """The format of one written time under a date order, or None if it does not fit.

    >>> formats_of("03/04/2026 14:30", "day_first")
    '%d/%m/%Y %H:%M'
    >>> formats_of("2026-03-04T14:30:00Z", "year_first")
    '%Y-%m-%dT%H:%M:%S%z'
    >>> formats_of("13/04/2026 14:30", "month_first") is None
    True
    """
    shape = _SHAPE.fullmatch(value)
    if shape is None:
        return None
    first, mark, second, third, joiner, hour, _, seconds, tail = shape.groups()
    if (len(first) == 4) != (order == "year_first"):
        return None
    day, month = {
        "year_first": (third, second),
        "day_first": (first, second),
        "month_first": (second, first),
    }[order]
    if not (1 <= int(month) <= 12 and 1 <= int(day) <= 31):
        return None
    year = first if order == "year_first" else third
    if len(year) not in (2, 4):
        return None
    text = ORDERS[order].format(Y="%Y" if len(year) == 4 else "%y", s=mark)
    if hour is not None:
        half = tail.lower().replace(".", "").replace(" ", "")[:2] in ("am", "pm")
        fraction = seconds is not None and len(seconds) > 3
        text += (
            f"{joiner}{'%I' if half else '%H'}:%M" + (":%S" if seconds else "") + (".%f" if fraction else "")
        )
        if half:
            text += " %p" if value.rstrip()[: -len(tail)].endswith(" ") else "%p"
        elif _ZONED.fullmatch(tail):
            text += "%z"
        elif tail:
            return None
    return text


def orders_that_fit(values: Iterable[str]) -> tuple[str, ...]:
    """Date orders under which every one of some written times can be read."""
    values = list(values)
    return tuple(order for order in ORDERS if values and all(formats_of(value, order) for value in values))


def parse_times(written: pandas.Series, order: str) -> pandas.Series:
    """Times of a column; NaT where a cell is no time. Cells of several shapes are each read in theirs."""
    import pandas

    found = pandas.Series(pandas.NaT, index=written.index, dtype="datetime64[s]")
    rest = written
    for _ in range(6):
        shape = next((text for value in _probe(rest) if (text := formats_of(value, order))), None)
        if shape is None:
            break
        zoned = shape.endswith("%z")
        read = pandas.to_datetime(rest, format=shape, errors="coerce", utc=zoned)
        if zoned:
            read = read.dt.tz_localize(None)
        good = read.notna()
        if not good.any():
            break
        if good.all() and len(rest) == len(written):
            return read.astype("datetime64[s]")
        found[rest.index[good]] = read[good].astype("datetime64[s]")
        rest = rest[~good].str.strip()
        if rest.empty:
            break
    return found


def _probe(written: pandas.Series) -> Sequence[str]:
    return [str(value) for value in written.iloc[:50]] + [
        str(value) for value in written.iloc[50 :: max(1, len(written) // 50)]
    ]
