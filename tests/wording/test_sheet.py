"""The blank lot sheet, in all its forms, explains itself in the reader's language; what is to be typed stays."""

from __future__ import annotations

import json
import re

import pytest
import yaml

from tests.command import run
from tests.wording.english import english
from tracer.lots.form import SheetForm
from tracer.lots.lot_table import COLUMNS
from tracer.lots.sheet import form_in
from tracer.wording.language import speaking, tell

MOST_ENGLISH = 0.03


def described(form=SheetForm, seen=None):
    """Every text that explains a field of the sheet, and the parts within."""
    seen = seen if seen is not None else set()
    seen.add(form)
    for info in form.model_fields.values():
        yield info.description
        inner = form_in(info.annotation)
        if inner is not None and inner not in seen:
            yield from described(inner, seen)


def remarks(sheet):
    """What a sheet says behind its last #, without the lines to fill in."""
    lines = (line.rpartition("#") for line in sheet.splitlines())
    return " ".join(told for _, _, told in lines if not re.match(r"\s*(- )?\w+:", told))


def keys(sheet, base):
    """Fields and rows of a sheet in their order."""
    fields = {name for name, info in SheetForm.model_fields.items()} | {*base.records}
    return [one for one in re.findall(r"^[# ]*(?:- )?(\w+):", sheet, re.MULTILINE) if one in fields]


@pytest.mark.parametrize("language", ["es", "pt"])
def test_every_field_of_the_sheet_is_explained_in_the_reader_s_language(language):
    with speaking(language):
        texts = [*described(), *(meaning for meaning, _ in COLUMNS.values())]
        same = [text for text in texts if tell(text) == text]
    assert len(texts) > 120
    assert all("arabica" in text or "washed" in text or text == "Day." for text in same), same


@pytest.mark.parametrize("language", ["es", "pt"])
@pytest.mark.parametrize("form", [(), ("--stage", "drying"), ("--everything",)], ids=" ".join)
def test_comments_of_the_blank_sheet_are_told_and_its_keys_stay(form, language, base):
    shown = run("sheet", *form, "--language", language).stdout
    plain = run("sheet", *form).stdout
    left, said = english(remarks(shown), language)
    assert said > 500
    assert len(left) <= MOST_ENGLISH * said, left
    assert keys(shown, base) == keys(plain, base)
    assert yaml.safe_load(shown) == yaml.safe_load(plain)


@pytest.mark.parametrize("language", ["es", "pt"])
def test_the_reference_page_and_the_editor_s_schema_are_told(language):
    page = run("sheet", "--fields", "--language", language).stdout
    meanings = " ".join(row.split("|")[2] for row in page.splitlines() if row.count("|") >= 4)
    left, said = english(meanings, language)
    assert len(left) <= MOST_ENGLISH * said, left
    told = json.loads(run("sheet", "--schema", "--language", language).stdout)
    plain = json.loads(run("sheet", "--schema").stdout)
    assert told["properties"]["crop"]["description"] != plain["properties"]["crop"]["description"]
    assert told["properties"]["process"] | {"description": ""} == plain["properties"]["process"] | {
        "description": ""
    }
