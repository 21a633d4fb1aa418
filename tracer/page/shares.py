"""A share of the cups, said in words or per cent: taken out of a taster's line before its words are read."""

from __future__ import annotations

import re

_CUPS = r"(?:cups?|tazas?|x[ií]caras?)"
_OF = r"(?:\s+(?:of|de)(?:\s+(?:the|las|los|as))?|\s+(?:the|das|dos))?"
_IN = r"(?:\b(?:in|en|em)\s+)?(?:\b(?:the|la|los|las|a|as)\s+)?"
_SHARES = {
    "most": rf"{_IN}\b(?:most|mayor[ií]a|maioria){_OF}\s+{_CUPS}\b",
    "half": rf"{_IN}\b(?:half|mitad|metade){_OF}\s+{_CUPS}\b",
    "some": rf"{_IN}\b(?:some|several|a few|algunas|varias|algumas|v[áa]rias){_OF}\s+{_CUPS}\b",
}
_PER_CENT = re.compile(rf"{_IN}\b(\d{{1,3}})\s*%(?:{_OF}\s+{_CUPS}\b)?", re.IGNORECASE)


def share_said(line: str, cups: int) -> tuple[str, int | None, str | None]:
    """A line without the share it names; how many cups that is where it comes out even; and the share in words.

    >>> share_said("musty in half the cups", 5)
    ('musty', None, 'half')
    >>> share_said("terroso en 40 % de las tazas", 5)
    ('terroso', 2, None)
    """
    found = _PER_CENT.search(line)
    if found and 0 < int(found[1]) <= 100 and (int(found[1]) * cups) % 100 == 0:
        return _without(line, found), int(found[1]) * cups // 100, None
    for name, pattern in _SHARES.items():
        if match := re.search(pattern, line, re.IGNORECASE):
            return _without(line, match), None, name
    return line, None, None


def _without(line: str, found: re.Match[str]) -> str:
    return " ".join(f"{line[: found.start()]} {line[found.end() :]}".split())
