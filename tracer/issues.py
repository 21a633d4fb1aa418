"""What is wrong with an input, where, and how to mend it. All problems are told at once."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from tracer.names import printable
from tracer.wording.language import tell

_ASKED = re.compile(r"--[a-z][a-z0-9_-]*|[A-Z]+")
"""An option or an argument of a command, in place of a file."""
Level = Literal["error", "warning", "note"]
"""An error stops the work; a warning asks for a mend; a note only tells how something was understood."""


@dataclass(frozen=True, order=True, slots=True)
class Place:
    """A spot in a file; line and column count from 1. Or an option, argument or field of a form, which has neither."""

    file: str
    line: int = 1
    column: int = 1

    @property
    def field(self) -> str | None:
        """What was asked for by name and is no file: `by` of the option --by, `case` of the argument CASE; None of a file."""
        if self.line == self.column == 1 and _ASKED.fullmatch(self.file):
            return self.file.removeprefix("--").lower()
        return None

    def __str__(self) -> str:
        return self.file if self.field else f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, order=True, slots=True)
class Issue:
    """One problem, or one thing to tell. Only an error stops the work."""

    place: Place
    message: str
    remedy: str
    level: Level = field(default="error")

    def called(self, file: str) -> Issue:
        """The same problem with its file under another name."""
        return replace(self, place=replace(self.place, file=file))

    def __str__(self) -> str:
        told = f"{self.place}: {tell(self.level)}: {tell(self.message)}"
        return f"{printable(told)}\n    {printable(tell(self.remedy))}"


class InputError(Exception):
    """Raised at the edge when an input has errors; carries every issue found, sorted by place."""

    def __init__(self, issues: Iterable[Issue]) -> None:
        self.issues = tuple(sorted(issues))
        super().__init__("\n".join(str(issue) for issue in self.issues))

    @classmethod
    def of(cls, place: Place | Path | str, message: str, remedy: str) -> InputError:
        """The error of one problem: at a place, of a whole file, or of an option, argument or form field by its name."""
        return cls([Issue(place if isinstance(place, Place) else Place(str(place)), message, remedy)])


def has_errors(issues: Iterable[Issue]) -> bool:
    """True if at least one issue stops the work."""
    return any(issue.level == "error" for issue in issues)
