"""Links to one report that others may read: made with a secret that only the link holds, and withdrawn by an entry of its own."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from pathlib import Path

from tracer.casebook.cases import now
from tracer.casebook.file import opened
from tracer.issues import InputError
from tracer.wording.sentence import say


@dataclass(frozen=True, slots=True)
class SharedLink:
    """A link to the report of a case that still opens it."""

    id: int
    at: str
    by: str


def share(path: Path, case: int, by: str) -> str:
    """Make a link to a case; what it ends with. It is kept nowhere else: who loses it makes another."""
    secret = secrets.token_urlsafe(24)
    with opened(path, write=True) as book:
        if not book.execute("SELECT 1 FROM lot_case WHERE id = ?", (case,)).fetchone():
            raise InputError.of(
                "link", say("no case {number} is kept", number=case), say("Choose one of the list.")
            )
        book.execute(
            "INSERT INTO shared_link (lot_case, at, by, secret_sha256) VALUES (?, ?, ?, ?)",
            (case, now(), by, _hidden(secret)),
        )
    return secret


def withdraw(path: Path, case: int, link: int, by: str) -> None:
    """Take a link of a case back: it opens nothing from now on. Raises InputError where there is none that opens."""
    if link not in {one.id for one in links_of(path, case)}:
        raise InputError.of(
            "link", say("this link is withdrawn already, or was never made"), say("Load the page again.")
        )
    with opened(path, write=True) as book:
        book.execute(
            "INSERT INTO shared_link (lot_case, at, by, withdraws) VALUES (?, ?, ?, ?)",
            (case, now(), by, link),
        )


_OPENS = (
    "secret_sha256 IS NOT NULL AND id NOT IN (SELECT withdraws FROM shared_link WHERE withdraws IS NOT NULL)"
)


def links_of(path: Path, case: int) -> tuple[SharedLink, ...]:
    """Links of a case that are not withdrawn, the oldest first."""
    with opened(path) as book:
        rows = book.execute(
            f"SELECT id, at, by FROM shared_link WHERE lot_case = ? AND {_OPENS} ORDER BY id", (case,)
        ).fetchall()
    return tuple(SharedLink(*row) for row in rows)


def case_of(path: Path, secret: str) -> int | None:
    """The case that a link opens; None for one that was withdrawn or never made."""
    with opened(path) as book:
        row = book.execute(
            f"SELECT lot_case FROM shared_link WHERE secret_sha256 = ? AND {_OPENS}", (_hidden(secret),)
        ).fetchone()
    return int(row[0]) if row else None


def _hidden(secret: str) -> str:
    return hashlib.sha256(secret.encode(errors="replace")).hexdigest()
