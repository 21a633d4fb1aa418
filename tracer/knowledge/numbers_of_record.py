"""Numbers by which the world names a thing, and what tells a mistyped one: CAS, DOI, FEMA, year of print."""

from __future__ import annotations

import datetime
import re

_CAS = re.compile(r"([1-9]\d{1,6})-(\d\d)-(\d)")
_DOI = re.compile(r"10\.\d{4,9}/\S+")


def cas_number(value: str | None) -> str | None:
    """A CAS registry number whose check digit is right: the digits before it, counted from the right, weighed by their place.

    Raises ValueError otherwise. Source: CAS, "Check Digit Verification of CAS Registry Numbers".

    >>> cas_number("87-40-1")
    '87-40-1'
    >>> cas_number("87-40-2")
    Traceback (most recent call last):
        ...
    ValueError: '87-40-2' is no CAS number: its check digit is wrong
    """
    if value is None:
        return None
    found = _CAS.fullmatch(value)
    digits = (found[1] + found[2])[::-1] if found else ""
    total = sum(place * int(digit) for place, digit in enumerate(digits, 1))
    if not found or total % 10 != int(found[3]):
        raise ValueError(f"'{value}' is no CAS number: its check digit is wrong")
    return value


def doi_form(value: str | None) -> str | None:
    """A DOI as the DOI handbook writes it, 10.prefix/suffix. Raises ValueError otherwise.

    >>> doi_form("10.1021/jf60207a014")
    '10.1021/jf60207a014'
    """
    if value is not None and not _DOI.fullmatch(value):
        raise ValueError(f"'{value}' is no DOI: write 10.prefix/suffix, without the address before it")
    return value


def year_of_print(value: int | None) -> int | None:
    """A year in which something can have been printed. Raises ValueError otherwise."""
    if value is not None and not 1600 <= value <= datetime.date.today().year + 1:
        raise ValueError(f"{value} is no year of print")
    return value


def fema_number(value: int | None) -> int | None:
    """A FEMA number: they run from 2001 to somewhat above 5000 (lists up to GRAS 31; from memory). Raises ValueError otherwise."""
    if value is not None and not 2001 <= value <= 5999:
        raise ValueError(f"{value} is no FEMA number: they run from 2001")
    return value
