"""A back-up of the casebook, made while it is in use and sent to the leader's browser."""

from __future__ import annotations

import datetime
import tempfile
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.transfer import back_up
from tracer.page.leader import only_leader
from tracer.page.render import site_of


def backup(request: Request) -> Response:
    """The whole casebook as one checked file."""
    only_leader(request)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "casebook.sqlite"
        back_up(site_of(request).book, copy)
        content = copy.read_bytes()
    name = f"casebook-{datetime.date.today()}.sqlite"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type="application/vnd.sqlite3", headers=headers)
