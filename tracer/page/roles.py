"""Who a browser belongs to: the leader, the desk, or somebody who only reads; told by the key it was opened with."""

from __future__ import annotations

import hmac
import re
import secrets
from collections.abc import Mapping

from starlette.requests import HTTPConnection

ROLES = ("leader", "desk", "reader")
"""The leader may do everything; the desk everything but the tables; a reader looks."""
COOKIE = "tracer_leader"
"""Cookie of a browser that was opened with a key."""
_TABLES = re.compile(r"/table/|/casebook/|/panel/(set|plan)")
_CHANGES = re.compile(r"/lot/[0-9]+/(sheet|known|log|cupping)|/table/|/casebook/|/panel/(set|plan)")


def new_keys() -> dict[str, str]:
    """A key for each role, made at random."""
    return {role: secrets.token_urlsafe(24) for role in ROLES}


def role_of_key(shown: str, keys: Mapping[str, str]) -> str | None:
    """The role that a key opens.

    >>> role_of_key("b", {"leader": "a", "reader": "b"}), role_of_key("", {"leader": "a"})
    ('reader', None)
    """
    return next(
        (
            role
            for role, key in keys.items()
            if hmac.compare_digest(shown.encode(errors="replace"), key.encode())
        ),
        None,
    )


def role_of(connection: HTTPConnection, keys: Mapping[str, str]) -> str | None:
    """The role of a browser: that of its key, the leader's where there are no keys, None for one without."""
    return role_of_key(connection.cookies.get(COOKIE, ""), keys) if keys else "leader"


def is_leader(connection: HTTPConnection, keys: Mapping[str, str]) -> bool:
    """True for everybody where there are no keys, else for the browser that has shown the leader's."""
    return role_of(connection, keys) == "leader"


def may(role: str | None, method: str, path: str) -> bool:
    """Whether a role may ask for a page or send a form.

    >>> may("desk", "POST", "/lot/3/answer"), may("desk", "GET", "/table/new"), may("reader", "POST", "/lot/3/answer")
    (True, False, False)
    """
    if role == "leader":
        return True
    if role == "desk":
        return not _TABLES.match(path)
    return role == "reader" and method in ("GET", "HEAD") and not _CHANGES.match(path)
