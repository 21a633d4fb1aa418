"""What every request must pass: a host that is ours, a form that is ours, a size that is sane, and a key where one is set.

Cross-site forms are told by Sec-Fetch-Site and Origin (W3C Fetch Metadata; RFC 6454), foreign names that point here by Host
(DNS rebinding). Pages run no script and no style but our own files (Content Security Policy, level 3).
"""

from __future__ import annotations

import asyncio
import ipaddress
import re
import time
from collections import OrderedDict, deque
from collections.abc import Awaitable, Callable, Iterable, Mapping
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect, HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tracer.page.roles import COOKIE, may, role_of, role_of_key

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
SMALL, LARGE = 400_000, 40_000_000
"""Bytes of a form, and of a form with files."""
SLOWEST = 30.0
"""Seconds that a form may stand still while it comes in."""
_SAFE = ("GET", "HEAD")
_OPEN = ("/static/", "/join", "/table/", "/words", "/language/", "/shared/")
"""Where tasters go, who have no key: their pages look for a seat themselves. A shared report opens to who has its link."""


@dataclass
class Tries:
    """What an address did too often of late: wrong codes are not looked up any more, no more seats are given, for a while."""

    most: int = 30
    seconds: float = 60.0
    devices: int = 1000
    at: OrderedDict[str, deque[float]] = field(default_factory=OrderedDict)

    def too_many(self, device: str) -> bool:
        """True while a device has to wait."""
        wrong = self.at.get(device, deque())
        while wrong and wrong[0] < time.monotonic() - self.seconds:
            wrong.popleft()
        return len(wrong) >= self.most

    def wrong(self, device: str) -> None:
        """Note one more; of many devices the oldest are forgotten."""
        self.at.setdefault(device, deque()).append(time.monotonic())
        while len(self.at) > self.devices:
            self.at.popitem(last=False)


class Guard:
    """The gate before every page."""

    def __init__(
        self, app: ASGIApp, keys: Mapping[str, str], names: Iterable[str], uploads: Iterable[str]
    ) -> None:
        self.app, self.keys, self.names, self.uploads = app, keys, frozenset(names), tuple(uploads)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, _guarded(send))
            return
        limit = LARGE if scope["path"].endswith(self.uploads) else SMALL
        length = Headers(scope=scope).get("content-length", "0")
        if not re.fullmatch("[0-9]{1,12}", length) or int(length) > limit:
            await _plain(413, "This is larger than a form may be.")(scope, receive, _guarded(send))
            return
        await self.app(scope, _limited(receive, limit), _guarded(send))

    def _refusal(self, scope: Scope) -> Response | None:
        headers, connection = Headers(scope=scope), HTTPConnection(scope)
        if not _ours(headers.get("host", ""), self.names):
            return _plain(421, "This name does not belong to this page.")
        if scope["method"] not in (*_SAFE, "POST"):
            return _plain(405, "The page takes GET and POST.")
        if scope["method"] == "POST" and not _same_site(headers):
            return _plain(
                403, "The form did not come from this page. Load the page again and send it from there."
            )
        if not self.keys:
            return None
        shown = connection.query_params.get("key")
        if shown is not None and role_of_key(shown, self.keys):
            answer = RedirectResponse("/", 303)
            encrypted = scope["scheme"] == "https"
            answer.set_cookie(
                COOKIE, shown, httponly=True, samesite="strict", max_age=14 * 86400, secure=encrypted
            )
            return answer
        role, path = role_of(connection, self.keys), scope["path"]
        if may(role, scope["method"], path) or path.startswith(_OPEN):
            return None
        return _plain(
            403,
            "Your key opens other pages, not this one: ask the leader."
            if role
            else "Open the address with its key, as tracer printed it. Tasters: go to /join with the code of the table.",
        )


def _plain(status: int, text: str) -> Response:
    return PlainTextResponse(text + "\n", status)


def _ours(host: str, names: frozenset[str]) -> bool:
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return name in names
    return True


def _same_site(headers: Headers) -> bool:
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None and site not in ("same-origin", "none"):
        return False
    if origin is not None:
        return urlsplit(origin).netloc == headers.get("host", "")
    return site is not None


class TooLarge(Exception):
    """A body that grew beyond its limit while it came in."""


def _limited(receive: Receive, limit: int) -> Receive:
    seen, whole = 0, False

    async def counted() -> Message:
        nonlocal seen, whole
        try:
            message = await (receive() if whole else asyncio.wait_for(receive(), SLOWEST))
        except TimeoutError:
            raise ClientDisconnect from None
        whole = not message.get("more_body", False)
        seen += len(message.get("body", b""))
        if seen > limit:
            raise TooLarge
        return message

    return counted


def _guarded(send: Send) -> Callable[[Message], Awaitable[None]]:
    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers.setdefault("Content-Security-Policy", POLICY)
            headers.setdefault("Cache-Control", "no-store")
            headers["X-Content-Type-Options"] = "nosniff"
            headers["Referrer-Policy"] = "same-origin"
            headers["X-Frame-Options"] = "DENY"
            headers["Permissions-Policy"] = "camera=(), microphone=(), geolocation=()"
            headers["Cross-Origin-Opener-Policy"] = "same-origin"
        await send(message)

    return with_headers
