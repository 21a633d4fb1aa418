"""Templates to pages, forms to text and files, and errors as a person can act on them."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from tracer.casebook.cases import HOW
from tracer.issues import InputError
from tracer.lots.form_cupping import SAMPLES
from tracer.names import printable
from tracer.page.asking import AGAIN, Asked, carried, returned
from tracer.page.assets import asset
from tracer.page.messages import LANGUAGES, message, preferred
from tracer.page.remedies import on_the_page
from tracer.page.roles import role_of
from tracer.page.site import Site
from tracer.wording.language import tell
from tracer.wording.sentence import Sentence

LANGUAGE = "tracer_language"


@dataclass(frozen=True)
class Form:
    """What a form sent: texts by field, and files as (name, bytes)."""

    fields: dict[str, list[str]]
    files: dict[str, list[tuple[str, bytes]]]

    def text(self, name: str) -> str:
        """One field, without white space around it; '' where it was not sent."""
        return (self.fields.get(name) or [""])[0].strip()

    def number(self, name: str) -> int | None:
        """A field as a whole number; None where it is none."""
        return whole_number(self.text(name))

    def all(self, name: str) -> list[str]:
        """Every value of a field."""
        return self.fields.get(name, [])


def whole_number(text: str) -> int | None:
    """Plain digits as a number, None for anything else.

    >>> whole_number("12"), whole_number("²"), whole_number("9" * 5000)
    (12, None, None)
    """
    return int(text) if re.fullmatch("[0-9]{1,15}", text) else None


def site_of(request: Request) -> Site:
    """The running page."""
    found: Site = request.app.state.site
    return found


def language_of(request: Request) -> str:
    """Language of the page for this browser."""
    return preferred(request.cookies.get(LANGUAGE, ""), request.headers.get("accept-language", ""))


@cache
def _templates() -> Environment:
    found = Environment(
        loader=PackageLoader("tracer.page"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters["safe_text"] = lambda text: printable(str(text))
    found.filters["told"] = tell
    found.filters["on_the_page"] = on_the_page
    found.filters["figure"] = lambda value: f"{value:.2f}"
    found.finalize = _shown
    return found


def _shown(value: Any) -> Any:
    if isinstance(value, Sentence):
        value = str(tell(value))
    # Whatever came from a sheet may hold signs that turn text round or hide it.
    return printable(value) if type(value) is str and "\n" not in value else value


def page(request: Request, name: str, status: int = 200, **context: Any) -> HTMLResponse:
    """A template as a page in the reader's language."""
    site, language = site_of(request), language_of(request)
    role = role_of(request, site.keys)
    text = (
        _templates()
        .get_template(name)
        .render(
            t=partial(_message, language),
            language=language,
            languages=LANGUAGES,
            role=role,
            leader=role == "leader",
            asset=asset,
            path=request.url.path,
            posted=request.method == "POST",
            here=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
            base=site.base,
            samples=SAMPLES,
            ways=HOW,
            note_name=partial(note_name, site, language),
            **context,
        )
    )
    return HTMLResponse(text, status)


def _message(language: str, key: str, **values: object) -> str:
    return message(key, language, **values)


def note_name(site: Site, language: str, descriptor: str) -> str:
    """An off-note as the reader's language calls it first, else its label."""
    entry = site.base.descriptors[descriptor]
    own = entry.words.get(language, ())
    return tell(entry.label) if language == "en" or not own else own[0].capitalize()


def problems(request: Request, error: InputError, status: int = 422) -> HTMLResponse:
    """Every problem of an input, each with its mend, as the command line tells them."""
    return page(request, "problems.html", status, issues=error.issues)


def go(path: str) -> RedirectResponse:
    """On to another page after a form."""
    return RedirectResponse(path, 303)


def form_page(handler: Callable[[Request, Form], Response]) -> Callable[[Request], Awaitable[Response]]:
    """An endpoint that takes a form: read it, then work in a thread."""

    async def endpoint(request: Request) -> Response:
        async with request.form(max_files=20, max_fields=600, max_part_size=400_000) as sent:
            fields: dict[str, list[str]] = {}
            files: dict[str, list[tuple[str, bytes]]] = {}
            for name, value in sent.multi_items():
                if isinstance(value, UploadFile):
                    if value.filename:
                        files.setdefault(name, []).append((value.filename, await value.read()))
                else:
                    fields.setdefault(name, []).append(value.replace("\r\n", "\n"))
        for name, returned_files in returned(fields.pop(AGAIN, [])).items():
            files.setdefault(name, []).extend(returned_files)
        try:
            return await run_in_threadpool(handler, request, Form(fields, files))
        except Asked as asked:
            hidden = list(carried(fields, files))
            return page(request, "asked.html", 409, asked=asked, hidden=hidden)

    return endpoint
