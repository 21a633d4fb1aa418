"""Taking a seat at a table by its code: the form, what is wrong with it, and the key that the device keeps."""

from __future__ import annotations

from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.table_rows import Seat, plain_code
from tracer.issues import InputError, Issue
from tracer.page.render import Form, go, language_of, page, site_of
from tracer.page.site import Site
from tracer.wording.sentence import say


def join(request: Request) -> Response:
    """The form that takes a seat; a code that opens no table is told before anything is filled in."""
    site, code = site_of(request), plain_code(request.path_params.get("code", "")[:20])
    if code and seat_of(request, code) is not None:
        return go(f"/table/{code}/taste")
    issues: Sequence[Issue] = ()
    status = 200
    try:
        if code:
            _look_up(request, site, code)
    except _Wait as wait:
        issues, status = wait.issues, 429
    except InputError as error:
        issues, status = [issue.called("") for issue in error.issues], 404
    return _join_form(request, code, "", language_of(request), issues, status)


def _join_form(
    request: Request, code: str, taster: str, mine: str, issues: Sequence[Issue], status: int
) -> Response:
    spoken = {entry.id: entry.label for entry in site_of(request).base.languages.values()}
    return page(
        request,
        "join.html",
        status,
        code=code[:20],
        taster=taster[:60],
        spoken=spoken,
        mine=mine,
        issues=issues,
    )


def sit(request: Request, form: Form) -> Response:
    """Take a seat; the device keeps a key for this table alone. What is wrong stands in the form, with what was typed."""
    site, code = site_of(request), plain_code(form.text("code")[:20])
    taster, language = " ".join(form.text("taster").split()), form.text("language")
    try:
        key = _taken(request, site, code, taster)
    except _Wait as wait:
        return _join_form(request, code, taster, language, wait.issues, 429)
    except InputError as error:
        issues = [issue.called("") for issue in error.issues]
        return _join_form(request, code, taster, language, issues, 422)
    answer = go(f"/table/{code}/taste?language={language if language in site.base.languages else ''}")
    encrypted = request.url.scheme == "https"
    answer.set_cookie(
        f"tracer_seat_{code}",
        key,
        httponly=True,
        samesite="strict",
        max_age=7 * 86400,
        path="/",
        secure=encrypted,
    )
    return answer


class _Wait(Exception):
    """An address that tries too often."""

    @property
    def issues(self) -> Sequence[Issue]:
        """What the form says of it."""
        return InputError.of("", say("too many tries from here"), say("Wait a minute and try again.")).issues


def _look_up(request: Request, site: Site, code: str) -> None:
    device = _device(request)
    try:
        tables.table(site.book, code)
    except InputError:
        # The right code opens all the same: a guesser must not shut out the tasters behind the same address.
        if site.tries.too_many(device):
            raise _Wait from None
        site.tries.wrong(device)
        raise


def _device(request: Request) -> str:
    return request.client.host if request.client else ""


def _taken(request: Request, site: Site, code: str, taster: str) -> str:
    device = _device(request)
    if not 1 <= len(taster) <= 60:
        raise InputError.of("", say("a taster needs a name of at most 60 letters"), say("Initials will do."))
    if not taster.isprintable():
        raise InputError.of("", say("the name holds control characters"), say("Take them out."))
    _look_up(request, site, code)
    if site.seats.too_many(device):
        raise _Wait
    _, key = tables.sit(site.book, code, taster)
    site.seats.wrong(device)
    return key


def seat_of(request: Request, code: str) -> Seat | None:
    """The seat that this device holds at a table."""
    key = request.cookies.get(f"tracer_seat_{plain_code(code)}", "")
    return tables.seat(site_of(request).book, code, key) if key else None
