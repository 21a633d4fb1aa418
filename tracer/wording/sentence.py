"""A sentence as data: a template in English and its values. It reads as English; `tell` makes it Spanish or Portuguese."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

Id = str
"""A field of this type holds an id or an option: it is the same in every language."""
Name = str
"""A field of this type holds a name, a place, a date or somebody's own words: never translated."""


class Own(str):
    """Somebody's own words or a name, among the values of a sentence: never translated.

    >>> say("{taster} noted {words}", taster=Own("Ana"), words=Own("musty"))
    'Ana noted musty'
    """

    __slots__ = ()


class Sentence(str):
    """What `say` makes: English text that knows its template and its values."""

    template: str
    values: Mapping[str, Any]

    def __new__(cls, template: str, values: Mapping[str, Any]) -> Sentence:
        """The English sentence of a template.

        Raises KeyError where the template names a value that is not given.
        """
        made = super().__new__(cls, template.format_map(values) if values else template)
        made.template = template
        made.values = values
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Sentence, (self.template, dict(self.values))

    def __deepcopy__(self, _: Any) -> Sentence:
        return self

    def __add__(self, more: str) -> Sentence:
        return joined((self, more), "")

    def __radd__(self, before: str) -> Sentence:
        return joined((before, self), "")


def say(template: str, /, **values: Any) -> Sentence:
    """A sentence from its English template; `{name}` and `{name:.2f}` as in `str.format`.

    The template stands in wording/texts/ with its translations, letter for letter. A choice between two templates, as for one
    and many, is made by the caller. Text in single quotes, `'{name}'`, is what somebody wrote or is to type: it stays as it is.
    What a template names in quotes and is to be told stands in double ones.

    >>> cups = 2
    >>> say("1 cup" if cups == 1 else "{cups} cups", cups=cups)
    '2 cups'
    """
    return Sentence(template, values)


def joined(parts: Iterable[Any], by: str = ", ") -> Sentence:
    """Parts one after the other, each to be told in the reader's language.

    >>> joined(["musty", "earthy"])
    'musty, earthy'
    >>> joined([])
    ''
    """
    found = tuple(parts)
    values = {f"part_{number}": part for number, part in enumerate(found)}
    return Sentence("{by}".join(f"{{{name}}}" for name in values), {**values, "by": by})


def to_type(names: Iterable[object], by: str = ", ") -> Sentence:
    """Ids and options to choose from, as they are typed: the same in every language.

    >>> to_type(["slow", "musty"], " or ")
    'slow or musty'
    """
    return joined((Own(name) for name in names), by)


@cache
def quoted(template: str) -> frozenset[str]:
    """Values of a template that stand in single quotes.

    >>> sorted(quoted("'{words}' is read as {taken}"))
    ['words']
    """
    return frozenset(re.findall(r"'\{(\w+)\}'", template))
