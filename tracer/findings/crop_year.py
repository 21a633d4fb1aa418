"""How old a lot is at least, by the crop year on its sheet."""

from __future__ import annotations

import calendar
import datetime
import re

from tracer.knowledge.settings import CropYear

_YEARS = re.compile(r"(?<!\d)((?:19|20)?\d\d)(?:\s*[/-]\s*((?:19|20)?\d\d))?(?!\d)")
DAYS_OF_A_MONTH = 365.25 / 12


def months_since(crop: str, cupped: datetime.date, law: CropYear) -> float | None:
    """Months from the last day on which such a crop can have been picked to the cup; None where the crop tells nothing.

    >>> law = CropYear(basis="judgement", why="", last_month={"one": 12, "two": 9}, tells_from=8)
    >>> round(months_since("2023/24", datetime.date(2026, 3, 30), law))
    18
    >>> months_since("2025/26", datetime.date(2026, 3, 30), law), months_since("early", datetime.date(2026, 3, 30), law)
    (None, None)
    """
    match = _YEARS.search(crop)
    if match is None:
        return None
    year = _full(match[2] or match[1])
    month = law.last_month["two" if match[2] else "one"]
    last = datetime.date(year, month, calendar.monthrange(year, month)[1])
    months = (cupped - last).days / DAYS_OF_A_MONTH
    return round(months, 1) if months >= law.tells_from else None


def _full(year: str) -> int:
    return int(year) if len(year) == 4 else 2000 + int(year)
