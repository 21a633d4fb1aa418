"""A form that is kept only once something more is said about it: all that was sent goes along with the question, files as well."""

from __future__ import annotations

from base64 import b64decode, b64encode
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

AGAIN = "again"
"""Field that carries a file, in pieces, through the question."""
PIECE = 300_000
"""Signs of a piece: a field of a form may not be longer than a form without files."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that can be said, and what comes of it."""

    value: str
    label: str
    told: str


class Asked(Exception):
    """What stands in the way of keeping a form, and the choices that the reader has; the one taken is added to `field`.

    Several such questions of one form are asked on one page: then `each` holds them, and the choice of each is ticked.
    """

    def __init__(
        self,
        title: str,
        told: Sequence[str],
        field: str,
        choices: Sequence[Choice],
        case: int,
        each: Sequence[Asked] = (),
    ) -> None:
        super().__init__(title)
        self.title, self.told, self.field, self.choices, self.case = title, told, field, choices, case
        self.each = each


def carried(
    fields: Mapping[str, Sequence[str]], files: Mapping[str, Sequence[tuple[str, bytes]]]
) -> Iterator[tuple[str, str]]:
    """Names and values of the hidden fields with which the same form comes back.

    >>> sent = list(carried({"lot": ["A"]}, {"files": [("a|b.csv", b"note")]}))
    >>> sent
    [('lot', 'A'), ('again', '0|files|bm90ZQ==|a|b.csv')]
    >>> returned([value for name, value in sent if name == AGAIN])
    {'files': [('a|b.csv', b'note')]}
    """
    for name, values in fields.items():
        yield from ((name, value) for value in values if name != AGAIN)
    every = [(field, *one) for field, sent in files.items() for one in sent]
    for number, (field, name, content) in enumerate(every):
        text = b64encode(content).decode()
        for start in range(0, max(len(text), 1), PIECE):
            yield AGAIN, f"{number}|{field}|{text[start : start + PIECE]}|{name}"


def returned(pieces: Sequence[str]) -> dict[str, list[tuple[str, bytes]]]:
    """The files that came back; what is no piece of one is passed over."""
    whole: dict[tuple[str, str, str], str] = {}
    for piece in pieces:
        number, _, rest = piece.partition("|")
        field, _, rest = rest.partition("|")
        text, bar, name = rest.partition("|")
        if bar and name:
            whole[number, field, name] = whole.get((number, field, name), "") + text
    found: dict[str, list[tuple[str, bytes]]] = {}
    for (_, field, name), text in whole.items():
        try:
            found.setdefault(field, []).append((name, b64decode(text, validate=True)))
        except ValueError:
            continue
    return found
