"""What comes in as text or files: lot sheets and cupping tables, with the same errors as the command line."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from tracer.casebook import tables
from tracer.casebook.cases import whole
from tracer.casebook.tasting import appended, sheet_text, sheet_values, with_meaning
from tracer.issues import InputError
from tracer.lots.attached import beside, example_path
from tracer.page.keeping import keep_sheet, stands_of
from tracer.page.leader import only_leader, shown_again
from tracer.page.render import Form, go, page, site_of
from tracer.wording.sentence import say

SHEETS = (".yaml", ".yml")
_SAFE_NAME = re.compile(r"[^\w .()+-]")


def text(request: Request, form: Form) -> Response:
    """A sheet as text, from a table or mended by hand."""
    only_leader(request)
    site = site_of(request)
    try:
        kept = keep_sheet(
            site,
            form.text("sheet") + "\n",
            {},
            form.text("by")[:60],
            form.number("replaces"),
            stands=stands_of(form),
        )
    except InputError as error:
        return shown_again(request, form, error)
    if form.text("code"):
        tables.finish(site.book, form.text("code"), kept.number, form.number("sample") or 0)
    return go(kept.link)


def files(request: Request, form: Form) -> Response:
    """A sheet with the files it names, as they lie on the user's disk."""
    only_leader(request)
    sent = {safe_name(name): content for name, content in form.files.get("files", [])}
    sheets = [name for name in sent if name.lower().endswith(SHEETS)]
    if len(sheets) != 1:
        raise InputError.of(
            "--files",
            say("{number} lot sheets were sent, one is needed", number=len(sheets)),
            say("Choose one .yaml and its files."),
        )
    sheet = _decoded(sent.pop(sheets[0]), sheets[0])
    try:
        kept = keep_sheet(site_of(request), sheet, sent, form.text("by")[:60], stands=stands_of(form))
    except InputError as error:
        raise InputError(
            [one.called(sheets[0]) if one.place.file == "lot.yaml" else one for one in error.issues]
        ) from None
    return go(kept.link)


def safe_name(name: str) -> str:
    """The last part of a file's name, without signs that could lead out of a folder.

    >>> safe_name("../../etc/passwd"), safe_name("C:\\\\logs\\\\a b.csv"), safe_name("..")
    ('passwd', 'a b.csv', 'file')
    """
    last = PureWindowsPath(PurePosixPath(name.replace("\0", "")).name).name
    return _SAFE_NAME.sub("_", last).strip(". ")[:100] or "file"


def _decoded(raw: bytes, name: str) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError.of(name, say("the sheet is not UTF-8 text"), say("Save it as UTF-8.")) from None


def table(request: Request, form: Form) -> Response:
    """A cupping as CSV or XLSX: a lot of its own, or one more cupping of a kept one."""
    only_leader(request)
    sent = form.files.get("files", [])
    if len(sent) != 1:
        raise InputError.of("--files", say("one table is needed"), say("Choose one CSV or XLSX file."))
    site, (name, content) = site_of(request), sent[0]
    cupping: dict[str, Any] = {
        "on": day_or_text(form.text("on")),
        "sample": form.text("sample"),
        "cups": form.text("cups"),
        "table": safe_name(name),
    }
    cupping = {field: value for field, value in cupping.items() if value}
    number = form.number("case")
    if number is not None:
        old = whole(site.book, number)
        attached = free_name(safe_name(name), old.files)
        data = sheet_values(old.sheet)
        data["cuppings"] = appended(data.get("cuppings"), {**cupping, "table": attached})
        kept = keep_sheet(site, sheet_text(data), {attached: content}, form.text("by")[:60], number)
        return go(kept.link)
    data = {"lot": form.text("lot"), "process": form.text("process"), "origin": form.text("origin")}
    data = {field: value for field, value in data.items() if value}
    sheet = sheet_text({**data, "cuppings": [cupping]})
    by, attached_as = form.text("by")[:60], {safe_name(name): content}
    return go(keep_sheet(site, sheet, attached_as, by, stands=stands_of(form)).link)


def free_name(name: str, taken: Mapping[str, bytes]) -> str:
    """A name that no kept file has."""
    stem, dot, ending = name.rpartition(".")
    number, found = 2, name
    while found in taken:
        found = f"{stem or ending}-{number}{dot}{ending if stem else ''}"
        number += 1
    return found


def day_or_text(written: str) -> datetime.date | str:
    """A day where it is one, so that the sheet holds a day; else the text, to be told as an error."""
    try:
        return datetime.date.fromisoformat(written)
    except ValueError:
        return written


def example(request: Request, form: Form) -> Response:
    """A shipped example lot, kept as a case to play with."""
    only_leader(request)
    path = example_path(form.text("name"))
    text = path.read_text(encoding="utf-8")
    return go(keep_sheet(site_of(request), text, beside(path), example=True).link)


def edit(request: Request) -> Response:
    """The sheet of a kept case, to be mended; what is kept is a new case that replaces this one."""
    kept = whole(site_of(request).book, request.path_params["number"])
    return page(
        request,
        "sheet.html",
        text=kept.sheet,
        issues=(),
        lot=kept.case.lot,
        code="",
        sample=0,
        replaces=kept.case.id,
        earlier=(),
        late=(),
    )


def settle(request: Request, form: Form) -> Response:
    """Write beside a taster's word what the taster, asked back, says it means; kept as a new case."""
    only_leader(request)
    site, number, means = site_of(request), request.path_params["number"], form.text("means")
    if means not in site.base.descriptors:
        raise InputError.of("--means", say("this is no off-note"), say("Choose from the list."))
    sheet = with_meaning(whole(site.book, number).sheet, form.text("place"), means)
    if sheet is None:
        raise InputError.of(
            "--place",
            say("this word does not stand on the sheet itself"),
            say("Mend the table it came from."),
        )
    return go(keep_sheet(site, sheet, {}, form.text("by")[:60], number).link)
