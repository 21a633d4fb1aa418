"""Chains both ways, and reference cards with their refusals."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response

from tracer.causes.browse import browse
from tracer.issues import InputError, Issue
from tracer.numbers import finite
from tracer.page.render import language_of, page, site_of
from tracer.page.terms import every_term, meant
from tracer.panel.card_request import CardAnswer, CardRequest, card_for
from tracer.render.picture import chain_picture
from tracer.wording.language import tell
from tracer.wording.sentence import say


def chains(request: Request) -> Response:
    """The chains through one term, as a picture whose boxes lead on, and as a list with strengths and sources."""
    site, language = site_of(request), language_of(request)
    term = request.query_params.get("term", "").strip()[:200]
    found = meant(site, language, term) if term else ()
    picture = tree = None
    if len(found) == 1:
        kind, name, _ = found[0]
        tree = browse(site.base, kind, name)
        picture = chain_picture(site.base, site.graph, name, "/chains?term=")
    return page(
        request,
        "chains.html",
        200 if found or not term else 404,
        term=term,
        tree=tree,
        picture=picture,
        meant=found,
        terms=every_term(site, language),
    )


def card(request: Request) -> Response:
    """What to weigh and dilute for a reference, or why it is not prepared."""
    site, given = site_of(request), request.query_params
    note = given.get("note", "").strip()[:200]
    found: CardAnswer | None = None
    issues: tuple[Issue, ...] = ()
    if note:
        try:
            found = card_for(site.base, _request(given.get, note))
        except InputError as error:
            issues = error.issues
    return page(
        request,
        "card.html",
        422 if issues else 200,
        note=note,
        given={
            name: given.get(name, "")
            for name in ("volume", "times", "compound", "threshold", "mass", "purity", "flask")
        },
        found=tell(found),
        issues=issues,
    )


LIMITS = {
    "volume": (0.01, 100.0),
    "times": (0.1, 100.0),
    "mass": (0.01, 100_000.0),
    "purity": (0.01, 1.0),
    "flask": (1.0, 5000.0),
}
"""The same limits as on the command line; L, times threshold, mg, share, mL."""


def _request(given: Callable[[str, str], str], note: str) -> CardRequest:
    numbers: dict[str, float] = {}
    for name, (low, high) in LIMITS.items():
        text = given(name, "").strip().replace(",", ".")
        if not text:
            continue
        try:
            number = finite(text)
        except ValueError:
            raise InputError.of(f"--{name}", say("this is no number"), say("Write digits only.")) from None
        if not low <= number <= high:
            raise InputError.of(
                f"--{name}",
                say("it must lie from {low:g} to {high:g}", low=low, high=high),
                say("Check the figure and its unit."),
            )
        numbers[name] = number
    texts = {name: given(name, "").strip()[:80] or None for name in ("compound", "threshold")}
    return CardRequest(note, **numbers, **texts)  # type: ignore[arg-type]
