"""One node of a sheet: its data, its place, and typed reading that notes problems instead of raising."""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Iterator, Sequence
from typing import Any

from tracer.issues import Issue, Level, Place
from tracer.knowledge.yamlfile import Document
from tracer.lots.fields import LONGEST
from tracer.names import did_you_mean, fold, printable
from tracer.numbers import finite
from tracer.wording.sentence import say, to_type


class Node:
    """A value in a sheet, with its path; missing ones read as None."""

    def __init__(
        self, document: Document, path: tuple[str | int, ...], data: Any, issues: list[Issue]
    ) -> None:
        self.document, self.path, self.data, self.issues = document, path, data, issues

    @property
    def place(self) -> Place:
        """Where it stands."""
        return self.document.place(self.path)

    def problem(self, message: str, remedy: str, level: Level = "error") -> None:
        """Note a problem here."""
        self.issues.append(Issue(self.place, printable(message), printable(remedy), level))

    def child(self, name: str) -> Node:
        """The value under a key."""
        data = self.data.get(name) if isinstance(self.data, dict) else None
        return Node(self.document, (*self.path, name), data, self.issues)

    def names(self) -> tuple[str, ...]:
        """Keys of a map."""
        return tuple(self.data) if isinstance(self.data, dict) else ()

    def is_map(self, what: str) -> bool:
        """True for a map; otherwise a problem is noted."""
        if isinstance(self.data, dict):
            return True
        self.problem(
            say("{what} must be fields, each 'name: value'", what=what),
            say("See a blank one with: tracer sheet"),
        )
        return False

    def only(self, allowed: Sequence[str], what: str) -> None:
        """Note every key that is not allowed."""
        for name in self.names():
            if name not in allowed:
                child = self.child(name)
                child.problem(
                    say("{what} has no field '{name}'", what=what, name=name),
                    did_you_mean(name, allowed, say("Fields: {allowed}.", allowed=to_type(allowed))),
                )

    def items(self) -> Iterator[Node]:
        """Items of a list; a single value counts as a list of one."""
        if self.data is None:
            return
        values = self.data if isinstance(self.data, list) else [self.data]
        for index, value in enumerate(values):
            path = (*self.path, index) if isinstance(self.data, list) else self.path
            yield Node(self.document, path, value, self.issues)

    def text(self) -> str | None:
        """A line of text without control characters; numbers and dates are taken as written."""
        if self.data is None:
            return None
        if isinstance(self.data, (dict, list)):
            self.problem(say("a plain text was expected here"), say("Write one line of text."))
            return None
        text = str(self.data)
        if any(unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\t" for c in text):
            self.problem(
                say("the text holds control characters"), say("Take them out; copy the text as plain text.")
            )
            return None
        if len(text) > LONGEST:
            self.problem(
                say("the text is longer than {LONGEST} characters", LONGEST=LONGEST),
                say("Split it into several notes."),
            )
            return None
        return text.strip() or None

    def number(self) -> float | None:
        """A number."""
        if self.data is None:
            return None
        if isinstance(self.data, bool) or not isinstance(self.data, (int, float, str)):
            self.problem(say("a number was expected here"), say("Write digits only."))
            return None
        try:
            return finite(str(self.data))
        except ValueError:
            self.problem(say("'{data}' is no number", data=self.data), say("Write digits only."))
            return None

    def whole(self, least: int, most: int) -> int | None:
        """A whole number in a range."""
        number = self.number()
        if number is None:
            return None
        if number != int(number) or not least <= number <= most:
            self.problem(
                say(
                    "{data} is not a whole number from {least} to {most}",
                    data=self.data,
                    least=least,
                    most=most,
                ),
                say("Check the count."),
            )
            return None
        return int(number)

    def choice(self, choices: Sequence[str]) -> str | None:
        """One of some words, in any case, with spaces or dashes for underscores."""
        text = self.text()
        if text is None:
            return None
        folded = fold(text).replace(" ", "_").replace("-", "_")
        for one in choices:
            if fold(one).replace("-", "_") == folded:
                return one
        self.problem(
            say("'{text}' is not one of the choices", text=text),
            did_you_mean(folded, choices, say("Choose: {choices}.", choices=to_type(choices))),
        )
        return None

    def yes_no(self) -> str | None:
        """'yes' or 'no'."""
        if isinstance(self.data, bool):
            return "yes" if self.data else "no"
        return self.choice(("yes", "no"))

    def date(self) -> datetime.date | None:
        """A day, written year-month-day."""
        if self.data is None or isinstance(self.data, datetime.date):
            return self.data
        self.problem(
            say("'{data}' is not a day", data=self.data), say("Write it as year-month-day, 2026-03-09.")
        )
        return None
