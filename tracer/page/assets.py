"""Style, script and pictures: kept by the browser for ever under an address that holds a hash of what is in them."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources
from typing import Any

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

JOINED = {"tasting.js": ("taste_offline.js", "taste.js")}
"""Scripts that go over the line as one: a phone at the table waits for every request."""


@cache
def _raw(name: str) -> bytes:
    folder = resources.files("tracer.page").joinpath("static")
    return b"\n".join(folder.joinpath(part).read_bytes() for part in JOINED.get(name, (name,)))


@cache
def _hash(name: str) -> str:
    return hashlib.sha256(_raw(name)).hexdigest()[:12]


def asset(name: str) -> str:
    """The address of a file, which changes when the file does.

    >>> asset("icon.svg").startswith("/static/icon.svg?v=")
    True
    """
    return f"/static/{name}?v={_hash(name)}"


class Assets(StaticFiles):
    """Files that may be kept for a year where the address names their hash; otherwise asked for again, answered by 304."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One file with how long it may be kept."""
        if path in JOINED:
            answer = Response(_raw(path), media_type="text/javascript")
        else:
            answer = await super().get_response(path, scope)
        if answer.status_code in (200, 304):
            named: Any = scope.get("query_string", b"")
            kept = named == f"v={_hash(path)}".encode()
            answer.headers["Cache-Control"] = "public, max-age=31536000, immutable" if kept else "no-cache"
        return answer
