"""Every word of the page's own, in every language it speaks, from one catalogue."""

from __future__ import annotations

from functools import cache
from importlib import resources

import yaml

LANGUAGES = {"en": "English", "es": "Español", "pt": "Português"}
FIRST = "en"


@cache
def catalogue() -> dict[str, dict[str, str]]:
    """Key -> language -> text."""
    text = resources.files("tracer.page").joinpath("messages.yaml").read_text(encoding="utf-8")
    found: dict[str, dict[str, str]] = yaml.safe_load(text)
    return found


def message(key: str, language: str, **values: object) -> str:
    """A text in a language. Raises KeyError for a key that is not in the catalogue: a test holds that none is used.

    >>> message("lots", "pt")
    'Lotes'
    """
    text = catalogue()[key][language]
    return text.format(**values) if values else text


def preferred(asked: str, accepted: str) -> str:
    """The language of a page: the one asked for, else the first of the browser's that the page speaks.

    >>> preferred("", "fr-CH, pt-BR;q=0.9, en;q=0.8")
    'pt'
    """
    if asked in LANGUAGES:
        return asked
    wanted = []
    for place, part in enumerate(accepted.split(",")[:20]):
        name, _, weight = part.strip().partition(";q=")
        try:
            wanted.append((-float(weight or 1), place, name[:2].lower()))
        except ValueError:
            continue
    return next((name for _, _, name in sorted(wanted) if name in LANGUAGES), FIRST)
