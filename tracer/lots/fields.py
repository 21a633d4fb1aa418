"""How one field of a lot sheet is read: types that take what people write and say what is wrong with it.

A field left out, or written unknown, is None. Every error carries its remedy; `read.py` adds the place.
"""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Callable, Sequence
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from tracer.names import did_you_mean, fold, printable
from tracer.numbers import finite
from tracer.wording.sentence import say, to_type

LONGEST = 2000
LONGEST_MESSAGE = 20_000
UNKNOWN = ("unknown", "not known", "not kept", "no record", "?")
MOST_CUPS = 500
"""Cups of one table that can be meant; more is a slip of the pen."""


class Part(BaseModel):
    """A part of the sheet: frozen, and no field that is not listed."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, populate_by_name=True)


def problem(message: str, remedy: str) -> PydanticCustomError:
    """What is wrong with a field, with the remedy."""
    return PydanticCustomError(
        "sheet", "{message}", {"message": printable(message), "remedy": printable(remedy)}
    )


def is_unknown(value: object) -> bool:
    """True for what says that the thing is not known."""
    return value is None or (isinstance(value, str) and fold(value) in UNKNOWN)


def known(read: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """A reader that lets unknown through as None."""

    def reader(value: Any) -> Any:
        return None if is_unknown(value) else read(value)

    return reader


def text(value: object) -> str:
    """A line of text without control characters; numbers and days are taken as written."""
    if isinstance(value, (dict, list)):
        raise problem(say("a plain text was expected here"), say("Write one line of text."))
    written = str(value)
    if any(unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\t\r" for c in written):
        raise problem(
            say("the text holds control characters"), say("Take them out; copy the text as plain text.")
        )
    if len(written) > LONGEST:
        raise problem(
            say("the text is longer than {LONGEST} characters", LONGEST=LONGEST),
            say("Split it into several notes."),
        )
    return written.strip()


def _text_or_none(value: object) -> str | None:
    return None if value is None else text(value) or None


def number(value: object) -> float:
    """A plain number."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise problem(say("a number was expected here"), say("Write digits only."))
    try:
        return finite(str(value))
    except ValueError:
        raise problem(say("'{data}' is no number", data=value), say("Write digits only.")) from None


def whole(least: int, most: int) -> Callable[[Any], int]:
    """A whole number in a range."""

    def reader(value: Any) -> int:
        found = number(value)
        if found != int(found) or not least <= found <= most:
            raise problem(
                say(
                    "{data} is not a whole number from {least} to {most}",
                    data=value,
                    least=least,
                    most=most,
                ),
                say("Check the count."),
            )
        return int(found)

    return reader


def one_of(choices: Sequence[str]) -> Callable[[Any], str]:
    """One of some words, in any case, with spaces or dashes for underscores."""

    def reader(value: Any) -> str:
        written = text(value)
        folded = fold(written).replace(" ", "_").replace("-", "_")
        for one in choices:
            if fold(one).replace("-", "_") == folded:
                return one
        remedy = did_you_mean(folded, choices, say("Choose: {choices}.", choices=to_type(choices)))
        raise problem(say("'{text}' is not one of the choices", text=written), remedy)

    return reader


def yes_no(value: object) -> str:
    """'yes' or 'no'."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return one_of(("yes", "no"))(value)


def day(value: object) -> datetime.date:
    """A day, written year-month-day."""
    if isinstance(value, datetime.date):
        return value
    raise problem(say("'{data}' is not a day", data=value), say("Write it as year-month-day, 2026-03-09."))


def as_list(value: object) -> object:
    """A single value counts as a list of one."""
    if value is None:
        return ()
    return value if isinstance(value, (list, tuple)) else [value]


def Choice(choices: Sequence[str], unknown: bool = True) -> Any:
    """The type of a field that takes one of some words."""
    read = one_of(choices)
    if unknown and "unknown" not in choices:
        read = known(read)
    return Annotated[
        str | None,
        BeforeValidator(lambda value: None if value is None else read(value)),
        WithJsonSchema({"enum": [*choices, *([] if "unknown" in choices else ["unknown"])]}),
    ]


Text = Annotated[str | None, BeforeValidator(_text_or_none), WithJsonSchema({"type": ["string", "number"]})]
Count = Annotated[
    int | None, BeforeValidator(known(whole(1, MOST_CUPS))), WithJsonSchema({"type": "integer", "minimum": 1})
]
YesNo = Annotated[
    str | None, BeforeValidator(known(yes_no)), WithJsonSchema({"enum": ["yes", "no", "unknown"]})
]
Day = Annotated[
    datetime.date | None,
    BeforeValidator(known(day)),
    WithJsonSchema({"type": "string", "format": "date"}),
]


def Many(kind: Any) -> Any:
    """The type of a field that takes one or several of a kind."""
    several = tuple[kind, ...]
    return Annotated[several, BeforeValidator(as_list, json_schema_input_type=kind | several)]


def asked(description: str, example: str, alias: str | None = None) -> Any:
    """A field with what to write there and an example, for the blank sheet and the reference page."""
    return Field(None, description=description, examples=[example], alias=alias)


def asked_many(description: str, example: str, alias: str | None = None) -> Any:
    """A field that takes several."""
    return Field((), description=description, examples=[example], alias=alias)


def _raw(value: Any) -> Any:
    return value


Raw = Annotated[Any, BeforeValidator(_raw)]
"""Kept as written: the reader knows more than a type can."""
