"""A taster at the table, on an own device: says notes, and sees nobody else's before the reveal."""

from __future__ import annotations

from typing import Any

from pydantic import Field, ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from tracer.casebook import tables
from tracer.casebook.table_facts import MARKS, Strict
from tracer.casebook.table_rows import Seat, plain_code
from tracer.casebook.tasting import Tasted
from tracer.lots.fields import MOST_CUPS
from tracer.names import fold
from tracer.page.joining import seat_of
from tracer.page.messages import message
from tracer.page.notes_said import alarming, grid, stops_everybody
from tracer.page.render import go, language_of, note_name, page, site_of, whole_number
from tracer.page.roles import is_leader
from tracer.page.site import Site
from tracer.panel.at_table import own_order
from tracer.wording.language import tell
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
    "one_cup",
    "cups_count",
    "share_most",
    "share_half",
    "share_some",
    "sample_mark",
    "sample_done",
    "sample_begun",
)
"""Messages that the script of the tasting page shows."""


class Sent(Strict):
    """A state as a device sends it; every change raises the revision."""

    revision: int = Field(ge=0, le=2**40)
    sample: int = Field(0, ge=0, lt=len(MARKS))
    tasted: Tasted


def taste(request: Request) -> Response:
    """The tasting page; the work is done by its script, which keeps everything on the device as well."""
    site, code = site_of(request), plain_code(request.path_params["code"])
    own = seat_of(request, code)
    if own is None:
        return go(f"/join/{code[:20]}")
    found, language = tables.table(site.book, code), language_of(request)
    states = [tables.own_words(site.book, own, sample) for sample in range(len(found.facts.samples))]
    asked = request.query_params.get("language", "")
    spoken = next((one.language for _, one in states if one.language), "") or asked
    spoken = spoken if spoken in site.base.languages else ""
    languages = tuple(dict.fromkeys((language, spoken or "en", "en")))
    names = dict.fromkeys((*site.usual, *site.offline.words(languages).values()))
    stop = str(tell(site.base.settings.cautions.stop))
    data = {
        "code": found.code,
        "taster": fold(own.taster),
        "cups": found.facts.cups,
        "order": list(own_order(found.facts, own.id)),
        "blind_set": found.facts.blind_set,
        "language": spoken,
        "samples": [
            {
                "mark": found.facts.mark(sample),
                "revision": revision,
                "tasted": tasted.model_dump(mode="json"),
                "late": sample in found.shown,
            }
            for sample, (revision, tasted) in enumerate(states)
        ],
        "notes": {name: _note(site, language, name) for name in names},
        "usual": list(site.usual),
        "stop": stop,
        "stop_language": language if stop != site.base.settings.cautions.stop else "en",
        "alarms": [
            note.words
            for _, tasted in states
            for note in tasted.notes
            if note.means is None and alarming(site, note.words, tasted.language)
        ],
        "offline": site.offline.first(languages, spoken or language),
        "offline_whole": f"/words/{'-'.join(languages)}.json?v={site.base.sha256[:12]}",
        "say": {key: message(key, language) for key in SAID_BY_SCRIPT},
    }
    return page(request, "taste.html", table=found, taster=own.taster, data=data)


def word_list(request: Request) -> Response:
    """The words that a phone reads by without a connection; kept by the browser for as long as the knowledge is this one."""
    site, asked = site_of(request), request.path_params["languages"][:40]
    answer = JSONResponse(site.offline.whole(asked.split("-")[:3]))
    if request.query_params.get("v") == site.base.sha256[:12]:
        answer.headers["Cache-Control"] = "private, max-age=31536000, immutable"
    return answer


def _note(site: Site, language: str, name: str) -> dict[str, Any]:
    entry = site.base.descriptors[name]
    return {
        "id": name,
        "label": note_name(site, language, name),
        "definition": str(tell(entry.definition)),
        "stop": entry.stop_tasting,
    }


def words(request: Request) -> Response:
    """What a line says, read by the same matcher as a lot sheet: matched notes, questions, suggestions, cups."""
    site, language = site_of(request), language_of(request)
    cups = whole_number(request.query_params.get("cups", "")) or 0
    text, many, share = site.shares.read(
        request.query_params.get("text", "")[:LONGEST], cups if cups <= MOST_CUPS else 0
    )
    spoken = request.query_params.get("language", "")
    preferred = (spoken,) if spoken in site.base.languages else None
    readings = read_words(text, site.ready.vocabulary, preferred)
    stops = {name for name, entry in site.base.descriptors.items() if entry.stop_tasting}
    least = site.base.settings.cautions.perhaps
    return JSONResponse(
        [
            {
                **_reading(site, language, one),
                **({} if one.cups is not None else {"cups": many, "share": share}),
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
        "which": list(one.which),
        "share": None,
        "means": one.descriptor,
        "ask": str(tell(one.ask)) if one.ask else None,
        "candidates": [_note(site, language, name) for name in one.candidates],
        "suggestions": [_note(site, language, name) for name in one.suggestions],
    }


def mine(request: Request) -> Response:
    """What this taster said last of a sample, as the page keeps it; and what is revealed."""
    site, own = site_of(request), _own(request)
    found = tables.table(site.book, request.path_params["code"])
    sample = whole_number(request.query_params.get("sample", "")) or 0
    revision, tasted = tables.own_words(site.book, own, sample)
    return JSONResponse(
        {
            "revision": revision,
            "tasted": tasted.model_dump(mode="json"),
            "revealed": sorted(found.shown),
            "stop": stops_everybody(site, found.code),
        }
    )


def _own(request: Request) -> Seat:
    own = seat_of(request, request.path_params["code"])
    if own is None:
        raise HTTPException(403, "This device holds no seat at this table.")
    return own


async def save(request: Request) -> Response:
    """Keep what a taster said; it is on disk when the answer comes."""
    body = await request.body()
    return await run_in_threadpool(_save, request, body)


def _save(request: Request, body: bytes) -> Response:
    own, site = _own(request), site_of(request)
    try:
        sent = Sent.model_validate_json(body)
    except ValidationError as error:
        first = error.errors()[0]
        return _refused(f"{'.'.join(map(str, first['loc']))}: {first['msg']}")
    facts = tables.table(site.book, request.path_params["code"]).facts
    if sent.sample >= len(facts.samples):
        return _refused("sample: the table has no such sample")
    if any(max(*note.cups, note.how_many or 0, 0) > facts.cups for note in sent.tasted.notes):
        return _refused(f"cups: the table has {facts.cups} cups for each taster")
    if site.saves.too_many(str(own.id)):
        return _refused("too many states at once; send the last again later", 429)
    site.saves.wrong(str(own.id))
    late = tables.save(site.book, own, sent.revision, sent.tasted, sent.sample)
    return JSONResponse({"revision": sent.revision, "late": late})


def _refused(text: str, status: int = 422) -> Response:
    return JSONResponse({"error": text}, status)


def everybody(request: Request) -> Response:
    """What the whole table said of the samples that are revealed, for those who sat at it."""
    site, code = site_of(request), request.path_params["code"]
    if seat_of(request, code) is None and not is_leader(request, site.keys):
        return go(f"/join/{code[:20]}")
    found, language = tables.table(site.book, code), language_of(request)
    samples = [
        (
            found.facts.mark(sample),
            found.facts.samples[sample],
            told,
            grid(site, language, told, found.facts.blind_set),
        )
        for sample in sorted(found.shown)
        for told in (tables.told(site.book, code, sample),)
    ]
    return page(request, "all.html", 200 if samples else 422, table=found, shown=samples)
