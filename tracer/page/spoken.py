"""Every answer of the page is told in the reader's language: the one chosen, else the first of the browser's that there is."""

from __future__ import annotations

from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from tracer.page.render import language_of
from tracer.page.site import Site
from tracer.wording.language import speaking


class Spoken:
    """Sets the language for what one request tells."""

    def __init__(self, app: ASGIApp, site: Site) -> None:
        self.app, self.site = app, site

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, within its language."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        language = language_of(Request(scope))
        with speaking(language, lambda: self.site.known(language)):
            await self.app(scope, receive, send)
