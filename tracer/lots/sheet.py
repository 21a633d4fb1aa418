"""The blank lot sheet, the reference page and the editor schema, all made from the table of fields and the records."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Record, Stage
from tracer.lots.form import BedForm, LogForm, ReadingForm, SheetForm
from tracer.lots.lot_table import explained
from tracer.lots.places import placed
from tracer.lots.spot import NAMES, form_in
from tracer.wording.language import tell
from tracer.wording.sentence import Own, Sentence, say, to_type

LOGGED = ("processing", "drying", "origin_storage", "transport", "destination_storage")
"""Stages that loggers run in."""
SECTIONS = ("history", "green", "bench")
WIDTH = 100
_HEAD = (
    say(
        "Lot sheet. Fill in what is known; leave out or write unknown for the rest. What is not known is no evidence."
    ),
    say(
        "Words go in as the taster says them, in any language. Dates are year-month-day. A figure may be exact (9 h), about 9 h, 8 to 10 h, > 8 h, up to 10 h; a count or share also none, few, some, many. A row that several people tell otherwise:"
    ),
)
_TOLD_OTHERWISE = "#   rain_on_coffee: [{value: yes, by: the farm}, {value: no, by: the exporter}]"
_COUNTS = "  #   counts: {black bean: 2, sour bean: 1, insect damage: 5}"


def blank_sheet(
    stages: Mapping[str, Stage], records: Mapping[str, Record], only: tuple[str, ...] | None = None
) -> str:
    """The sheet as text; `only` keeps the history of these stages alone."""
    parts = [line for text in _HEAD for line in _comment(tell(text))]
    parts.append(_TOLD_OTHERWISE)
    for name, info in SheetForm.model_fields.items():
        if name == "history":
            parts += _history(stages, records, only)
        elif name in ("green", "bench"):
            rows = [r for r in records.values() if placed(r, records)[0] == name and asked_for(r)]
            parts += [
                "",
                f"# {tell(info.description)}",
                f"{name}:",
                *(_grading() if name == "green" else ()),
            ]
            parts += _lines(rows, "  ")
        elif name not in ("scenario", "drafted"):
            parts += _field(name, info)
    return "\n".join(parts) + "\n"


def _grading() -> Iterator[str]:
    yield f"  # grading:                      # {tell('a grading sheet, brought to 300 g; or table: grading.csv with defect, count')}"
    yield "  #   weight: 350 g"
    yield _COUNTS


def _field(name: str, info: Any) -> list[str]:
    """One field at the top of the sheet, with its parts where it has some."""
    inner = form_in(info.annotation)
    example = _sample(info)
    if name == "lot":
        return [f"lot: {example:<20}  # {tell(info.description)}"]
    if inner is None:
        return [*_comment(tell(info.description)), f"# {name}: {example}"]
    return [
        "",
        *_comment(tell(info.description)),
        f"{name}:",
        *(f"#{line}" for line in _items(inner, "  ", True, set())),
    ]


def _sample(info: Any) -> str:
    """An example of what to write in a field; one in plain words is told, one to type stays."""
    example = (info.examples or [""])[0]
    return tell(example) if isinstance(example, Sentence) else str(example)


def _several(info: Any) -> bool:
    """True for a field that takes a list."""
    return bool(info.default == ())


def _items(
    form: type[BaseModel], indent: str, listed: bool, shown_before: set[type[BaseModel]]
) -> Iterator[str]:
    """The fields of a part, as an item of a list or by themselves, each with what to write there; no part twice."""
    shown_before.add(form)
    first = listed
    for name, info in form.model_fields.items():
        shown, inner = info.alias or name, form_in(info.annotation)
        lead = f"{indent}- " if first else f"{indent}  " if listed else indent
        first = False
        if inner is not None and inner not in shown_before:
            yield f"{lead}{shown}:   # {tell(info.description)}"
            yield from _items(inner, f"{indent}{'    ' if listed else '  '}", _several(info), shown_before)
        else:
            text = f"{lead}{shown}: {_sample(info)}"
            yield f"{text:<44}  # {tell(info.description)}"


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in textwrap.wrap(text, WIDTH)]


def _history(
    stages: Mapping[str, Stage], records: Mapping[str, Record], only: tuple[str, ...] | None
) -> list[str]:
    parts = ["", f"# {tell('History by stage: what the papers say.')}", "history:"]
    told = False
    for stage in stages.values():
        rows = [r for r in records.values() if placed(r, records) == ("history", stage.id) and asked_for(r)]
        if (only is not None and stage.id not in only) or not rows:
            continue
        parts.append(
            f"  {stage.id}:    # {tell('{stage}; asks of: {asked}', stage=stage.label, asked=stage.ask_of)}"
        )
        if stage.id in LOGGED:
            parts += [f"    # {tell('logs, readings: as above')}"] if told else list(_logged())
            told = True
        if stage.id == "drying":
            parts += [
                f"    # {tell('The log of the drying bed, day by day.')}",
                "    # beds:",
                *_flow(BedForm),
            ]
        parts += _lines(rows, "    ")
    return parts


def _logged() -> Iterator[str]:
    yield f"    # {tell('Logs and readings of any stage; what they show is worked out, and counts before the lines below.')}"
    zone = tell("zone of the place, only where the logger's clock ran in another")
    yield f"    # timezone: Africa/Kigali     # {zone}"
    yield f"    # logs:                       # {tell('see first what a file holds: tracer history --look FILE')}"
    yield from _flow(LogForm)
    yield "    # readings:"
    yield from _flow(ReadingForm)


def _flow(form: type[BaseModel]) -> Iterator[str]:
    """A part on one line, and under it what its fields take."""
    shown = ", ".join(f"{i.alias or n}: {_sample(i)}" for n, i in form.model_fields.items())
    yield f"    #   - {{{shown}}}"
    told = " ".join(f"{i.alias or n}: {tell(i.description)}" for n, i in form.model_fields.items())
    yield from (f"    # {line}" for line in textwrap.wrap(told, WIDTH))


def weighed_records(base: KnowledgeBase) -> dict[str, Record]:
    """The records that a rule or a question reads, and those they are worked out from."""
    read = {
        condition.record
        for rule in base.rules.values()
        for condition in (*(rule.when.all or ()), *(rule.when.any or ()))
    }
    read |= {name for enquiry in base.enquiries.values() for name in enquiry.records}
    for record in base.records.values():
        if record.id in read:
            read |= {*(record.between or ()), *(record.difference or ()), record.comes_before or record.id}
    counted = {record.id for record in base.records.values() if record.called or record.kind == "date"}
    return {
        name: record
        for name, record in base.records.items()
        if name in read | counted or record.section == "lot"
    }


def asked_for(record: Record) -> bool:
    """False for a record that is worked out from others or from logs."""
    return (
        record.difference is None
        and not record.logged
        and (record.section != "lot" or record.between is not None)
    )


def _lines(records: Iterable[Record], indent: str) -> list[str]:
    lines: list[str] = []
    for record in records:
        explained = (
            tell(record.explained)
            if record.between is None
            else tell("{label}, where the days are not known.", label=record.label)
        )
        lines += [f"{indent}# {line}" for line in textwrap.wrap(explained, WIDTH)]
        lines.append(f"{indent}# {record.id}: {_example(record)}")
    return lines


def _example(record: Record) -> str:
    if record.kind == "yes_no":
        return tell(to_type(("yes", "no"), " or "))
    if record.kind == "choice":
        return tell(to_type(record.choices, " or "))
    if record.kind == "date":
        return "2026-03-09"
    if record.kind == "text":
        return tell("words")
    if record.unit == "1":
        return tell("number, or none, few, some, many")
    return tell("number {unit}", unit=Own(record.unit))


def reference_page() -> str:
    """SHEET.md: every field of the lot sheet but the records, which stand in `tracer sheet`."""
    parts = [
        f"# {tell('Fields of the lot sheet')}",
        "",
        tell("Made from the code by `python -m tracer.lots.docs`; do not edit."),
        "",
    ]
    seen: list[type[BaseModel]] = []
    waiting: list[type[BaseModel]] = [SheetForm]
    while waiting:
        form = waiting.pop(0)
        if form in seen:
            continue
        seen.append(form)
        parts += _form_table(form)
        waiting += [inner for i in form.model_fields.values() if (inner := form_in(i.annotation)) is not None]
    for form in (LogForm, ReadingForm, BedForm):
        parts += _form_table(form)
    parts += explained()
    return "\n".join(parts).rstrip() + "\n"


def _form_table(form: type[BaseModel]) -> Iterator[str]:
    """A part of the sheet with its fields as a table."""
    yield f"## {tell(NAMES.get(form.__name__, form.__name__))}"
    yield ""
    yield tell(" ".join((form.__doc__ or "").split()))
    yield ""
    yield tell("| field | meaning | example |")
    yield "|---|---|---|"
    for name, info in form.model_fields.items():
        meaning, example = (
            text.replace("|", "\\|") for text in (tell(info.description or ""), _sample(info))
        )
        yield f"| `{info.alias or name}` | {meaning} | `{example}` |"
    yield ""


def schema(stages: Mapping[str, Stage], records: Mapping[str, Record]) -> dict[str, Any]:
    """The lot sheet as a JSON schema for editors, with the rows of history, green and bench."""
    found = SheetForm.model_json_schema(by_alias=True)
    rows: dict[str, dict[str, Any]] = {
        name: {"type": "object", "properties": _rows(records, name, None)} for name in ("green", "bench")
    }
    rows["green"]["properties"]["grading"] = {"type": "object"}
    rows["history"] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            stage: {
                "type": "object",
                "properties": {
                    **_rows(records, "history", stage),
                    "logs": {"type": "array"},
                    "readings": {"type": "array"},
                    "beds": {"type": "array"},
                    "timezone": {"type": "string"},
                },
            }
            for stage in stages
        },
    }
    found["properties"].update(rows)
    _tell_descriptions(found)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def _tell_descriptions(found: Any) -> None:
    """Tell what every field of a schema is in the reader's language."""
    if isinstance(found, list):
        for one in found:
            _tell_descriptions(one)
    elif isinstance(found, dict):
        for name, value in found.items():
            if name == "description" and isinstance(value, str):
                found[name] = tell(value)
            else:
                _tell_descriptions(value)


def _rows(records: Mapping[str, Record], section: str, stage: str | None) -> dict[str, Any]:
    return {
        record.id: {"description": record.explained, **_kind(record)}
        for record in records.values()
        if placed(record, records) == (section, stage) and asked_for(record)
    }


def _kind(record: Record) -> dict[str, Any]:
    several = {"type": ["object", "array"]}
    if record.kind == "yes_no":
        return {"anyOf": [{"enum": ["yes", "no", "unknown", True, False]}, several]}
    if record.kind == "choice":
        return {"anyOf": [{"enum": [*record.choices, "unknown"]}, several]}
    if record.kind == "date":
        return {"type": "string", "format": "date"}
    return {"type": ["number", "string", "object", "array"]}
