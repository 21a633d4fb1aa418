"""A new lot without a sheet: what somebody wrote is read sentence by sentence, a cupping is filled in, and ticks say what is right."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from string import digits
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook.tasting import sheet_text
from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.form import PROCESSES
from tracer.lots.form_cupping import INTENSITIES
from tracer.page.cupping_form import counted
from tracer.page.keeping import keep_sheet, stands_of
from tracer.page.leader import only_leader
from tracer.page.render import Form, go, page, site_of
from tracer.page.site import Site
from tracer.page.uploads import day_or_text
from tracer.sentences.draft import Drafted, Offered, draft, says, sheet_lines
from tracer.sentences.reader import SentenceReader
from tracer.wording.sentence import say
from tracer.words.kept import vocabulary_of

ROWS = 5
"""Rows for off-notes."""
LONGEST_MESSAGE = 20_000
HEAD = ("exporter", "origin", "process")
FIELDS = ("lot", *HEAD, "by", "taster", "on", "sample", "cups", "message")


@dataclass(frozen=True, slots=True)
class Said:
    """An off-note as it was filled in: the words, in how many cups, how strong."""

    words: str
    cups: str
    strength: str


@dataclass(frozen=True, slots=True)
class Offer:
    """What a tick would put on the sheet."""

    mark: str
    says: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """A sentence with what it says, each thing with its rivals, likeliest first; and what it only may say."""

    text: str
    likely: tuple[tuple[Offer, ...], ...]
    perhaps: tuple[Offer, ...]


def new(request: Request) -> Response:
    """The form, empty."""
    return _form(request, Form({"on": [str(datetime.date.today())]}, {}))


def look_or_keep(request: Request, form: Form) -> Response:
    """Show what the sentences may mean; once that was seen, keep the lot with what was ticked."""
    only_leader(request)
    site = site_of(request)
    marks = form.all("mark")
    try:
        drafted = _read(site, form, marks)
        _enough(form, drafted)
        if form.text("step") == "keep" or not any(one.offered for one in drafted):
            _something(form, drafted)
            by, stands = form.text("by")[:60], stands_of(form)
            return go(keep_sheet(site, _sheet(site, form, drafted), {}, by, stands=stands).link)
    except InputError as error:
        return _form(request, form, error)
    shown = [offers(site.base, one, marks) for one in drafted]
    return page(request, "ticks.html", shown=shown, fields=_filled(form), said=_said(form))


def offers(base: KnowledgeBase, drafted: Drafted, marks: Collection[str]) -> Shown:
    """The proposals of a sentence. What would put the same on the sheet is offered once, where it says most."""
    told = {one.mark: says(base, one.proposal) for one in drafted.offered}
    best: dict[str, Offered] = {}
    for one in drafted.offered:
        other = best.setdefault(one.proposal.id, one)
        if _fullness(one, told) > _fullness(other, told):
            best[one.proposal.id] = one
    kept = [one for one in drafted.offered if best[one.proposal.id] is one]
    first = {_thing(one): one.proposal.id for one in reversed(drafted.offered)}
    likely: dict[str, list[Offer]] = {}
    perhaps = []
    for one in kept:
        offer = Offer(one.mark, told[one.mark], one.mark in marks)
        if one.proposal.sure:
            # Rivals of what is said twice stand by the one that is kept of it.
            likely.setdefault(_thing(best[first[_thing(one)]]), []).append(offer)
        else:
            perhaps.append(offer)
    return Shown(drafted.read.text, tuple(map(tuple, likely.values())), tuple(perhaps))


def _thing(one: Offered) -> str:
    """The mark of what a proposal and its rivals are readings of: 3a of 3a2."""
    return one.mark.rstrip(digits)


def _fullness(one: Offered, told: Mapping[str, str]) -> tuple[bool, int]:
    return one.proposal.sure, len(told[one.mark])


def change(request: Request, form: Form) -> Response:
    """Back from the ticks to the form, with all that was written."""
    only_leader(request)
    return _form(request, form)


def _form(request: Request, form: Form, error: InputError | None = None) -> Response:
    rows = [*_said(form), *[Said("", "", "")] * ROWS]
    return page(
        request,
        "new.html",
        422 if error else 200,
        issues=error.issues if error else (),
        fields=_filled(form),
        rows=rows[: max(ROWS, len(_said(form)) + 1)],
        processes=PROCESSES,
        strengths=INTENSITIES,
    )


def _filled(form: Form) -> dict[str, str]:
    return {name: form.text(name) for name in FIELDS}


def _said(form: Form) -> list[Said]:
    columns = [form.all(name) for name in ("note", "note_cups", "note_strength")]
    rows = [Said(*(one.strip()[:200] for one in row)) for row in zip(*columns, strict=False)]
    return [row for row in rows if row.words][:60]


def _read(site: Site, form: Form, marks: list[str]) -> tuple[Drafted, ...]:
    text = form.text("message")[:LONGEST_MESSAGE]
    if not text:
        return ()
    reads = SentenceReader(site.base, vocabulary_of(site.base)).message(text, None, datetime.date.today())
    return tuple(draft(reads, marks))


def _enough(form: Form, drafted: tuple[Drafted, ...]) -> None:
    issues = []
    if not form.text("lot"):
        issues.append(
            Issue(Place("--lot"), say("the lot has no name"), say("Write its mark, as on the bags."))
        )
    if not drafted and not _said(form):
        remedy = say("Paste a message, or write at least one off-note.")
        issues.append(Issue(Place("--message"), say("nothing is said of the lot yet"), remedy))
    if issues:
        raise InputError(issues)


def _something(form: Form, drafted: tuple[Drafted, ...]) -> None:
    if _said(form) or any(one.confirmed for one in drafted):
        return
    remedy = say("Tick what is right, or write an off-note; if nothing fits, say it in other words.")
    raise InputError.of("--message", say("nothing of the message was ticked, so nothing counts"), remedy)


def _sheet(site: Site, form: Form, drafted: tuple[Drafted, ...]) -> str:
    """The sheet that the form makes.."""
    head = {name: form.text(name) for name in HEAD if form.text(name)}
    said = _said(form)
    cupping = {"cuppings": [_cupping(form, said)]} if said else {}
    if not drafted:
        return sheet_text({"lot": form.text("lot"), **head, **cupping})
    by, today = form.text("by") or "the message", datetime.date.today()
    lines = sheet_lines(drafted, site.base, form.text("lot"), "a pasted message", by, today, False)
    return "\n".join([*lines, sheet_text({**head, **cupping}) if head or cupping else ""]) + "\n"


def _cupping(form: Form, said: list[Said]) -> Mapping[str, Any]:
    notes = [
        _known({"note": one.words, "cups": counted(one.cups), "intensity": one.strength}) for one in said
    ]
    taster = {"taster": form.text("taster") or form.text("by") or "taster 1", "notes": notes}
    day = day_or_text(form.text("on")) if form.text("on") else ""
    head = _known({"on": day, "sample": form.text("sample"), "cups": counted(form.text("cups"))})
    return {**head, "tasters": [taster]}


def _known(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value != ""}
