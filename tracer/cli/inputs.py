"""What every verb needs: the knowledge, and the lot a user names."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tracer.issues import InputError, has_errors
from tracer.names import printable
from tracer.wording.language import tell
from tracer.wording.sentence import Own, joined, to_type

if TYPE_CHECKING:  # a verb that reads no lot starts without them
    from tracer.casebook.sessions import Kept
    from tracer.inference.tasters import MeasuredPanel
    from tracer.knowledge.base import KnowledgeBase
    from tracer.lots.lot import Lot
    from tracer.tracing import Prepared


def knowledge(houses: Sequence[Path] | None) -> KnowledgeBase:
    """The shipped knowledge with the house overlays named."""
    from tracer.knowledge.cache import load_cached

    return told_from(load_cached(houses=tuple(houses or ())))


def told_from(base: KnowledgeBase) -> KnowledgeBase:
    """The same; what it says is told in the reader's language from here on."""
    from functools import partial

    from tracer.knowledge.texts import in_language
    from tracer.wording.language import know

    know(partial(in_language, base))
    return base


def lot(path: Path | None, example: str | None, base: KnowledgeBase) -> Lot:
    """Read a lot sheet; warnings go to standard error, errors are raised all together."""
    from tracer.lots.attached import example_path
    from tracer.lots.read import read_lot

    if (path is None) == (example is None):
        import typer

        raise typer.BadParameter(tell("give one lot sheet, or --example NAME"))
    where = path if path is not None else example_path(example or "")
    found, issues = read_lot(where, base)
    if found is None or has_errors(issues):
        raise InputError(issues)
    for issue in issues:
        print(issue, file=sys.stderr)
    return found


PARTS = ("precedents",)
"""Parts of the reasoning that a user may leave out."""


def parts(without: Sequence[str] | None) -> tuple[str, ...]:
    """The parts that a user leaves out. Raises InputError for one there is not."""
    from tracer.names import did_you_mean

    for part in without or ():
        if part not in PARTS:
            remedy = did_you_mean(part, PARTS, tell("It can be: {PARTS}.", PARTS=to_type(PARTS)))
            raise InputError.of("--without", tell("there is no part '{part}'", part=part), remedy)
    return tuple(without or ())


def prepared(base: KnowledgeBase, without: Sequence[str] | None) -> Prepared:
    """What a trace needs of the knowledge, but the parts left out."""
    from tracer.tracing import prepare

    return prepare(base, precedents="precedents" not in parts(without))


def write_text(path: Path, text: str) -> None:
    """Write a file the user asked for; the old one stays whole until the new one is."""
    write_lines(path, [text.removesuffix("\n")])


def day(text: str | None, option: str = "--on") -> datetime.date:
    """A day the user names, or today."""
    if text is None:
        return datetime.date.today()
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError.of(
            option, tell("'{text}' is not a day", text=text), tell("Write it as year-month-day, 2026-03-09.")
        ) from None


def book_path(casebook: Path | None) -> Path:
    """The casebook the user names, or the default."""
    from tracer.casebook.file import default_path

    return casebook or default_path()


def check_signed(by: str) -> None:
    """Raise InputError for an entry that nobody stands for."""
    from tracer.casebook.entries import unsigned

    if unsigned(by):
        raise InputError(unsigned(by))


def measured(lot: Lot, base: KnowledgeBase, casebook: Path | None, new: bool = False) -> MeasuredPanel | None:
    """What the casebook knows of the lot's tasters on the day of the last cupping; None where nothing was measured.

    With `new`, a casebook that is named need not be there yet.
    """
    path = _book_there(casebook, new)
    if path is None:
        return None
    from tracer.panel.reliability import measured_for

    return measured_for(lot, base, path)


def measured_cups(casebook: Path | None) -> tuple[Kept, ...]:
    """The cups that tasters are measured by, of the casebook; none where there is no casebook yet. Who is measured is told."""
    path = _book_there(casebook)
    if path is None:
        return ()
    from tracer.casebook.sessions import kept

    cups = kept(path)
    if cups:
        names = sorted({one.taster for one in cups})
        text = tell(
            "tasters weighed by what {path} has measured of them: {names}",
            path=Own(path),
            names=Own(joined(names)),
        )
        print(printable(text), file=sys.stderr)
    return cups


def _book_there(casebook: Path | None, new: bool = False) -> Path | None:
    """The casebook, where it is there. Raises InputError where one is named that is not, unless it may be `new`."""
    path = book_path(casebook)
    if path.exists():
        return path
    if casebook is not None and not new:
        remedy = tell("Check the name, or leave --casebook out.")
        raise InputError.of(path, tell("there is no casebook here"), remedy)
    return None


def write_lines(path: Path, lines: Iterable[str]) -> int:
    """Write lines to a file as they come; the old file stays whole until the new one is. Lines written."""
    from tracer.whole_file import appearing

    count = 0
    try:
        with appearing(path) as part, part.open("w", encoding="utf-8") as file:
            for line in lines:
                file.write(line + "\n")
                count += 1
    except OSError as error:
        remedy = tell("Give a file in a folder that exists and can be written.")
        raise InputError.of(
            path, tell("cannot be written: {strerror}", strerror=error.strerror), remedy
        ) from None
    return count
