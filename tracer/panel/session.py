"""A session from its two files: scored, shown, and kept once; taken out again by an entry that says why."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tracer.casebook.sessions import Row, add_session, cups_of, kept, sessions
from tracer.issues import InputError, Issue, Place, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.names import fold
from tracer.panel.files import read_answers, read_key
from tracer.panel.scoring import Served, match
from tracer.wording.sentence import say
from tracer.words.vocabulary import Vocabulary


@dataclass(frozen=True, slots=True)
class Scored:
    """A session's cups with their answers, and what to mind."""

    name: str
    served: tuple[Served, ...]
    to_mind: tuple[Issue, ...]


def named_after(key: Path, folder: str = "") -> str:
    """What a session is called: as its key; where that is called key like all of them, as the folder it lies in.

    >>> named_after(Path("week12/key.csv")), named_after(Path("march.csv")), named_after(Path("key.csv"), "Blind set")
    ('week12', 'march', 'Blind set')
    """
    return key.stem if fold(key.stem) != "key" else folder or key.resolve().parent.name


def scored(key: Path, answers: Path, base: KnowledgeBase, vocabulary: Vocabulary, folder: str = "") -> Scored:
    """The session of a key and its answers; `folder` is another name than that of the folder they lie in.

    Raises InputError with every error of both.
    """
    made, problems = read_key(key)
    given, more = read_answers(answers)
    problems += more
    if made is None or has_errors(problems):
        raise InputError(problems)
    served, more = match(made, given, base, vocabulary)
    if has_errors(more):
        raise InputError(more)
    if not served:
        message = say("no cup of the key has an answer, so there is nothing to score")
        raise InputError.of(answers, message, say("Fill in the answers; 'clean' where nothing was found."))
    return Scored(named_after(key, folder), tuple(served), (*problems, *more))


def keep(
    path: Path,
    one: Scored,
    on: datetime.date,
    name: str,
    by: str,
    base: KnowledgeBase,
    replaces: int | None = None,
    another: bool = False,
) -> int:
    """Keep a session; its number. Raises InputError where it is kept already, unless it replaces that one or is another."""
    _is_there(path, replaces)
    before = kept_already(path, one.served, replaces)
    if before is not None and not another:
        message = say("these cups are kept already, as session {number}", number=before)
        remedy = say(
            "To correct it: --replaces {number}. If it was tasted anew with the same codes: --another.",
            number=before,
        )
        raise InputError.of(one.name, message, remedy)
    rows: list[Row] = [
        (s.taster, s.code, s.sample, s.given, s.named, s.multiple, s.repeat) for s in one.served
    ]
    return add_session(path, on, name, by, rows, base.sha256, replaces=replaces)


@dataclass(frozen=True, slots=True)
class Removal:
    """An entry that takes a session out, or undoes another such entry."""

    entry: int
    session: int
    """The session with cups that it is about in the end."""
    counts: bool
    """Whether that session counts now."""


def remove(path: Path, number: int, by: str, why: str, base: KnowledgeBase, on: datetime.date) -> Removal:
    """Take a kept session out by an entry that replaces it with nothing; the session itself stays in the book.

    The number of such an entry undoes it: what it took out counts again.
    """
    issues = []
    if not by.strip():
        issues.append(
            Issue(Place("--by"), say("somebody must stand for it"), say("Write a name or initials."))
        )
    if not why.strip():
        issues.append(
            Issue(
                Place("--why"),
                say("a session is not taken out without a reason"),
                say("Say why in one sentence."),
            )
        )
    if issues:
        raise InputError(issues)
    _is_there(path, number)
    one = next(one for one in sessions(path) if one.id == number)
    if one.replaced:
        message = say("session {number} is replaced or taken out already", number=number)
        raise InputError.of("SESSION", message, say("See: tracer panel status --sessions"))
    if one.replaces is not None and not one.cups:
        _refuse_twice(path, one.replaces)
    entry = add_session(path, on, "removed", by, [], base.sha256, note=why, replaces=number)
    every = {one.id: one for one in sessions(path)}
    about = every[number]
    while not about.cups and about.replaces is not None:
        about = every[about.replaces]
    return Removal(entry, about.id, not about.replaced)


def _is_there(path: Path, number: int | None) -> None:
    if number is not None and number not in {one.id for one in sessions(path)}:
        message = say("no session {replaces} is kept", replaces=number)
        remedy = say("See the numbers with: tracer panel status --sessions")
        raise InputError.of("--replaces", message, remedy)


def _refuse_twice(path: Path, number: int) -> None:
    """Raise InputError where the cups of a session that is to count again were kept anew since."""
    again = _with_most(path, cups_of(path, number), None)
    if again is not None:
        message = say(
            "the cups of session {number} are kept anew, as session {again}", number=number, again=again
        )
        remedy = say("Take that one out first: the same cups would count twice.")
        raise InputError.of("SESSION", message, remedy)


def kept_already(path: Path, served: Sequence[Served], replaces: int | None = None) -> int | None:
    """The number of a kept session with most of these cups: the same taster, code and sample."""
    return _with_most(path, {(fold(one.taster), one.code, one.sample) for one in served}, replaces)


def _with_most(path: Path, cups: set[tuple[str, str, str]], replaces: int | None) -> int | None:
    shared: dict[int, int] = {}
    for one in kept(path):
        if one.session != replaces and (fold(one.taster), one.code, one.sample) in cups:
            shared[one.session] = shared.get(one.session, 0) + 1
    most = max(shared, key=lambda session: shared[session], default=None)
    return most if most is not None and 2 * shared[most] > len(cups) else None
