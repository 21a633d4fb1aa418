"""The server under the page: how many may connect, how long they may be idle, and what stands in its log.

Whoever connects and says nothing, or half of a request, holds a place only until somebody else needs it: the place that was
longest without a whole request is given up first, those of the address that holds most before others.
"""

from __future__ import annotations

import asyncio
import logging
import ssl
from collections import Counter
from pathlib import Path
from typing import Any

import uvicorn
from starlette.types import ASGIApp
from uvicorn.protocols.http.h11_impl import H11Protocol

from tracer.issues import InputError
from tracer.wording.sentence import say

MOST = 200
"""Connections at once."""
HEAD_SECONDS = 20.0
"""Time in which a request must have begun and its head have come."""
IDLE_SECONDS = 15


class Connection(H11Protocol):
    """A connection that gives up its place where it is idle and others need it."""

    _waiting: asyncio.TimerHandle | None = None
    since: float = 0.0
    """When it last began to wait for a request, by the clock of the loop."""

    def connection_made(self, transport: Any) -> None:
        """Take a place; where all are taken, one that waits is let go."""
        super().connection_made(transport)
        self.since = self.loop.time()
        self._waiting = self.loop.call_later(HEAD_SECONDS, self._late)
        if len(self.connections) > MOST:
            _let_one_go(self)

    def _late(self) -> None:
        if self.waits and not self.transport.is_closing():
            self.transport.abort()

    @property
    def waits(self) -> bool:
        """True while no whole request is here to be answered."""
        return self.cycle is None or self.cycle.response_complete or self.cycle.more_body

    def on_response_complete(self) -> None:
        """Answered: from here on it waits for the next."""
        self.since = self.loop.time()
        super().on_response_complete()
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting = self.loop.call_later(HEAD_SECONDS, self._late)

    def connection_lost(self, exc: Exception | None) -> None:
        """Give the place back."""
        if self._waiting is not None:
            self._waiting.cancel()
        super().connection_lost(exc)


def _let_one_go(new: Connection) -> None:
    waiting = [
        one
        for one in new.connections
        if isinstance(one, Connection) and one is not new and one.waits and not one.transport.is_closing()
    ]
    held = Counter(one.client[0] if one.client else "" for one in waiting)
    gone = min(waiting, key=lambda one: (-held[one.client[0] if one.client else ""], one.since), default=new)
    gone.transport.abort()


class OneLine(logging.Filter):
    """An error of the server as one line that says where it arose, without the calls that led there."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Shorten a record; none is left out."""
        error = record.exc_info[1] if record.exc_info else None
        if error is not None:
            trace = error.__traceback__
            while trace is not None and trace.tb_next is not None:
                trace = trace.tb_next
            where = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}" if trace else "?"
            record.msg, record.args = f"{type(error).__name__} at {where}", None
            record.exc_info = record.exc_text = None
        return True


def server(
    app: ASGIApp, host: str, port: int, certificate: Path | None = None, key: Path | None = None
) -> uvicorn.Server:
    """The server for an application, ready to run; encrypted where a certificate is given.

    Raises InputError for a certificate or key that cannot be used.
    """
    _checked(certificate, key)
    settings = uvicorn.Config(
        app,
        host=host,
        port=port,
        http=Connection,
        ws="none",
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        access_log=False,
        h11_max_incomplete_event_size=65536,
        timeout_keep_alive=IDLE_SECONDS,
        timeout_graceful_shutdown=3,
        ssl_certfile=certificate,
        ssl_keyfile=key,
    )
    logging.getLogger("uvicorn.error").addFilter(OneLine())
    return uvicorn.Server(settings)


def _checked(certificate: Path | None, key: Path | None) -> None:
    if certificate is None:
        if key is not None:
            raise InputError.of(
                "--key", say("a key without its certificate"), say("Name it with --certificate.")
            )
        return
    for option, path in (("--certificate", certificate), ("--key", key)):
        if path is not None and not path.is_file():
            raise InputError.of(
                option, say("there is no file {path}", path=str(path)), say("Check the name of the file.")
            )
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password="")
    except (ssl.SSLError, OSError, ValueError):
        raise InputError.of(
            "--certificate",
            say("the certificate and its key cannot be used together"),
            say("Give a PEM certificate and its own PEM key without a password."),
        ) from None
