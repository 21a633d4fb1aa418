"""One report to be read by somebody without a key: a link that is shown once, and can be withdrawn."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import shared
from tracer.casebook.cases import whole
from tracer.casebook.entries import unsigned
from tracer.issues import InputError
from tracer.page.answer import on_screen, printable_page
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, page, site_of


def share(request: Request, form: Form) -> Response:
    """Make a link, and show it: the page keeps only what tells it again when it is opened."""
    only_leader(request)
    site, number, by = site_of(request), request.path_params["number"], form.text("by")[:60]
    if unsigned(by):
        raise InputError(unsigned(by))
    address = f"{site.address}/shared/{shared.share(site.book, number, by)}"
    return page(request, "share.html", case=whole(site.book, number).case, link=address)


def withdraw(request: Request, form: Form) -> Response:
    """Take a link back."""
    only_leader(request)
    site, number = site_of(request), request.path_params["number"]
    shared.withdraw(site.book, number, form.number("link") or 0, form.text("by")[:60])
    return go(f"/lot/{number}")


def read(request: Request) -> Response:
    """The report that a link opens, and nothing else."""
    number = shared.case_of(site_of(request).book, request.path_params["secret"])
    if number is None:
        raise HTTPException(404, "This link was withdrawn, or never made. Ask whoever sent it.")
    return on_screen(printable_page(request, number)[1], "")
