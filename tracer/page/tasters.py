"""A taster at the table, on an own device: joins by the table's code, says notes, and sees nobody else's before the reveal."""

from __future__ import annotations

from typing import Any

from pydantic import Field, ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from tracer.casebook import tables
from tracer.casebook.tasting import Strict, Tasted
from tracer.issues import InputError
from tracer.names import fold
from tracer.page.leader import alarming, grid, stops_everybody
from tracer.page.messages import message
from tracer.page.render import Form, go, language_of, note_name, page, problem, site_of
from tracer.page.roles import is_leader
from tracer.page.site import Site
from tracer.words.heard import Reading
from tracer.words.reading import read_words

LONGEST = 200
SAID_BY_SCRIPT = (
    "saved",
    "saving",
    "kept_here",
    "moved_away",
    "cup",
    "all_cups",
    "remove",
    "undo",
    "removed",
    "slight",
    "moderate",
    "strong",
    "not_there",
    "there",
    "which_cups",
    "did_you_mean",
    "keep_word",
    "not_sure",
    "no_notes_yet",
    "stop_title",
    "somebody_stopped",
    "add_note",
    "late_kept",
    "open_word",
)
"""Messages that the script of the tasting page shows."""


class Sent(Strict):
    """A state as a device sends it; every change raises the revision."""

    revision: int = Field(ge=0, le=2**40)
    tasted: Tasted


def join(request: Request) -> Response:
    """The form that takes a seat."""
    site = site_of(request)
    code = request.path_params.get("code", "")[:20].upper()
    if code and _seat(request, code) is not None:
        return go(f"/table/{code}/taste")
    spoken = {entry.id: entry.label for entry in site.base.languages.values()}
    return page(request, "join.html", code=code, spoken=spoken, mine=language_of(request))


def sit(request: Request, form: Form) -> Response:
    """Take a seat; the device keeps a key for this table alone."""
    site, code = site_of(request), form.text("code").upper()
    taster = " ".join(form.text("taster").split())
    device = request.client.host if request.client else ""
    if site.tries.too_many(device):
        raise HTTPException(429, "Too many wrong codes. Wait a minute.")
    if not 1 <= len(taster) <= 60:
        raise problem("taster", "a taster needs a name of at most 60 letters", "Initials will do.")
    if not taster.isprintable():
        raise problem("taster", "the name holds control characters", "Take them out.")
    try:
        tables.table(site.book, code)
    except InputError:
        site.tries.wrong(device)
        raise
    _, key = tables.sit(site.book, code, taster)
    language = form.text("language") if form.text("language") in site.base.languages else ""
    answer = go(f"/table/{code}/taste?language={language}")
    answer.set_cookie(
        f"tracer_seat_{code}", key, httponly=True, samesite="strict", max_age=7 * 86400, path="/"
    )
    return answer


def _seat(request: Request, code: str) -> tables.Seat | None:
    key = request.cookies.get(f"tracer_seat_{code}", "")
    return tables.seat(site_of(request).book, code, key) if key else None


def taste(request: Request) -> Response:
    """The tasting page; the work is done by its script, which keeps everything on the device as well."""
    site, code = site_of(request), request.path_params["code"]
    own = _seat(request, code)
    if own is None:
        return go(f"/join/{code[:20]}")
    found, language = tables.table(site.book, code), language_of(request)
    revision, tasted = tables.own_words(site.book, own)
    spoken = tasted.language or request.query_params.get("language", "")
    names = {name: _note(site, language, name) for name in site.usual}
    data = {
        "code": code,
        "taster": fold(own.taster),
        "cups": found.facts.cups,
        "language": spoken if spoken in site.base.languages else "",
        "revision": revision,
        "tasted": tasted.model_dump(mode="json"),
        "notes": names,
        "usual": list(site.usual),
        "stop": site.base.settings.cautions.stop,
        "alarms": [
            note.words
            for note in tasted.notes
            if note.means is None and alarming(site, note.words, tasted.language)
        ],
        "say": {key: message(key, language) for key in SAID_BY_SCRIPT},
    }
    return page(request, "taste.html", table=found, taster=own.taster, data=data)


def _note(site: Site, language: str, name: str) -> dict[str, Any]:
    entry = site.base.descriptors[name]
    return {
        "id": name,
        "label": note_name(site, language, name),
        "definition": entry.definition,
        "stop": entry.stop_tasting,
    }


def words(request: Request) -> Response:
    """What a line says, read by the same matcher as a lot sheet: matched notes, questions, suggestions."""
    site, language = site_of(request), language_of(request)
    text = request.query_params.get("text", "")[:LONGEST]
    spoken = request.query_params.get("language", "")
    preferred = (spoken,) if spoken in site.base.languages else None
    readings = read_words(text, site.ready.vocabulary, preferred)
    stops = {name for name, entry in site.base.descriptors.items() if entry.stop_tasting}
    least = site.base.settings.cautions.perhaps
    return JSONResponse(
        [
            {
                **_reading(site, language, one),
                "stop": one.state != "absent" and one.share_of(stops) >= least,
            }
            for one in readings
        ]
    )


def _reading(site: Site, language: str, one: Reading) -> dict[str, Any]:
    return {
        "words": f"{one.text}?" if one.state == "doubtful" else one.text,
        "outcome": one.outcome,
        "found": one.state != "absent" or one.outcome == "clean",
        "intensity": None if one.intensity == "unstated" else one.intensity,
        "cups": one.cups,
        "means": one.descriptor,
        "ask": one.ask,
        "candidates": [_note(site, language, name) for name in one.candidates],
        "suggestions": [_note(site, language, name) for name in one.suggestions],
    }


def mine(request: Request) -> Response:
    """What this taster said last, as the page keeps it."""
    own = _own(request)
    found = tables.table(site_of(request).book, request.path_params["code"])
    revision, tasted = tables.own_words(site_of(request).book, own)
    return JSONResponse(
        {
            "revision": revision,
            "tasted": tasted.model_dump(mode="json"),
            "revealed": found.revealed is not None,
            "stop": stops_everybody(site_of(request), found.code),
        }
    )


def _own(request: Request) -> tables.Seat:
    own = _seat(request, request.path_params["code"])
    if own is None:
        raise HTTPException(403, "This device holds no seat at this table.")
    return own


async def save(request: Request) -> Response:
    """Keep what a taster said; it is on disk when the answer comes."""
    body = await request.body()
    return await run_in_threadpool(_save, request, body)


def _save(request: Request, body: bytes) -> Response:
    own = _own(request)
    try:
        sent = Sent.model_validate_json(body)
    except ValidationError as error:
        first = error.errors()[0]
        return JSONResponse({"error": f"{'.'.join(map(str, first['loc']))}: {first['msg']}"}, 422)
    late = tables.save(site_of(request).book, own, sent.revision, sent.tasted)
    return JSONResponse({"revision": sent.revision, "late": late})


def everybody(request: Request) -> Response:
    """What the whole table said, for those who sat at it, once the leader has revealed it."""
    site, code = site_of(request), request.path_params["code"]
    if _seat(request, code) is None and not is_leader(request, site.keys):
        return go(f"/join/{code[:20]}")
    told = tables.told(site.book, code)
    found = tables.table(site.book, code)
    return page(request, "all.html", table=found, told=told, grid=grid(site, language_of(request), told))
