"""Lot sheet (YAML) -> Lot, with every problem at its file, line and column."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tracer.issues import Issue, Place, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Compound, Enquiry
from tracer.knowledge.yamlfile import Document, parse_yaml, read_yaml, with_days
from tracer.lots.cuppings import check_meanings, read_cuppings
from tracer.lots.grading import read_grading
from tracer.lots.histories import read_beds, read_logs, read_readings, read_said
from tracer.lots.lot import Clock, Expectation, LaboratoryResult, Lot, Passed
from tracer.lots.node import Node
from tracer.lots.records import check_dates, read_records
from tracer.names import did_you_mean, fold

FIELDS = (
    "lot",
    "species",
    "process",
    "declared",
    "origin",
    "exporter",
    "crop",
    "contract",
    "clocks",
    "custody",
    "made_of",
    "cuppings",
    "history",
    "green",
    "bench",
    "laboratory",
    "answers",
    "said",
    "scenario",
)
PROCESSES = ("washed", "natural", "pulped_natural", "wet_hulled", "other")
RESULTS = ("raised", "not_raised")
MATRICES = ("green", "roasted", "brew")


def read_lot(path: Path, base: KnowledgeBase) -> tuple[Lot | None, list[Issue]]:
    """Read a lot sheet; the lot is None where an error stands in the way. Nothing is written."""
    return _lot(read_yaml(path), path.parent, base)


def parse_lot(text: str, file: str, base: KnowledgeBase) -> tuple[Lot | None, list[Issue]]:
    """Read a lot sheet from text."""
    return _lot(parse_yaml(text, file), None, base)


def lot_of_data(
    data: object, place: Place, base: KnowledgeBase, folder: Path | None = None
) -> tuple[Lot | None, list[Issue]]:
    """Read a lot from plain data, such as a line of JSON; texts that are days are read as days."""
    return _lot(Document(place.file, with_days(data), {(): place}), folder, base)


def _lot(document: Document, folder: Path | None, base: KnowledgeBase) -> tuple[Lot | None, list[Issue]]:
    issues = list(document.issues)
    if has_errors(issues) and document.data is None:
        return None, sorted(issues)
    sheet = Node(document, (), document.data, issues)
    if document.data is None:
        sheet.problem("the sheet is empty", "Start with: tracer sheet > lot.yaml")
        return None, issues
    if not sheet.is_map("a lot sheet"):
        return None, issues
    sheet.only(FIELDS, "a lot sheet")
    process = sheet.child("process").choice(PROCESSES)
    cuppings = read_cuppings(sheet.child("cuppings"), folder)
    values = (
        *read_records(sheet, base.records),
        *read_grading(sheet.child("green").child("grading"), folder, base.records),
    )
    limits = base.settings.physics.logs
    nested = [(stage, sheet.child("history").child(stage)) for stage in base.stages]
    lot = Lot(
        lot=sheet.child("lot").text() or "(no name)",
        species=_folded(sheet.child("species").text()),
        process=process,
        declared=tuple(text for item in sheet.child("declared").items() if (text := item.text())),
        origin=sheet.child("origin").text(),
        crop=sheet.child("crop").text(),
        cuppings=cuppings,
        records=values,
        laboratory=_laboratory(sheet.child("laboratory"), base.compounds),
        answers=_answers(sheet.child("answers"), base.enquiries),
        scenario=_scenario(sheet.child("scenario")),
        file=document.file,
        contract=sheet.child("contract").text(),
        clocks=_clocks(sheet.child("clocks")),
        exporter=sheet.child("exporter").text(),
        custody=_custody(sheet.child("custody"), tuple(base.stages)),
        made_of=tuple(text for item in sheet.child("made_of").items() if (text := item.text())),
        logs=tuple(log for stage, node in nested for log in read_logs(node, stage, folder, limits)),
        readings=tuple(one for stage, node in nested for one in read_readings(node.child("readings"), stage)),
        beds=tuple(one for stage, node in nested for one in read_beds(node.child("beds"), stage)),
        said=read_said(sheet.child("said"), tuple(base.languages), base.phrases),
    )
    if sheet.child("lot").data is None:
        sheet.problem("the lot has no name", "Write lot: and the mark or number you know it by.")
    check_meanings(cuppings, base.descriptors, issues)
    check_dates(lot, base.records, issues)
    return (None if has_errors(issues) else lot), sorted(issues)


def _folded(text: str | None) -> str | None:
    return fold(text) if text else None


def _clocks(node: Node) -> tuple[Clock, ...]:
    """Time limits, each with its clause, its days and the day they count from: never assumed."""
    found = []
    for item in node.items():
        if not item.is_map("a clock"):
            continue
        item.only(("what", "clause", "days", "from"), "a clock")
        days, start = item.child("days").whole(0, 1000), item.child("from").date()
        what, clause = item.child("what").text(), item.child("clause").text()
        if days is None or start is None or what is None:
            item.problem(
                "a clock needs what, days and from", "Take them from your own contract, with form and clause."
            )
            continue
        if clause is None:
            item.problem(
                "the clock does not name its clause",
                "Add clause: the form, its edition and the article.",
                "warning",
            )
        found.append(Clock(what, clause or "clause not named", days, start))
    return tuple(found)


def _custody(node: Node, stages: tuple[str, ...]) -> tuple[Passed, ...]:
    """Places by stage; several of one stage in a list, as where a lot was blended."""
    if node.data is None or not node.is_map("custody"):
        return ()
    node.only(stages, "custody")
    return tuple(
        Passed(stage, text)
        for stage in node.names()
        if stage in stages
        for item in node.child(stage).items()
        if (text := item.text())
    )


def _laboratory(node: Node, compounds: Mapping[str, Compound]) -> tuple[LaboratoryResult, ...]:
    if node.data is None:
        return ()
    found = []
    names = {
        fold(name): entry.id
        for entry in compounds.values()
        for name in (entry.id, entry.label, entry.cas or entry.id)
    }
    for item in node.items():
        if not item.is_map("a laboratory result"):
            continue
        item.only(("compound", "value", "unit", "matrix", "method", "result", "on"), "a laboratory result")
        written = item.child("compound").text()
        if written is None:
            item.problem("a laboratory result needs its compound", "Give an id, a name or a CAS number.")
            continue
        identity = names.get(fold(written))
        if identity is None:
            remedy = did_you_mean(written, compounds, "Browse the compounds with: tracer show NOTE")
            item.child("compound").problem(f"'{written}' is no compound of the knowledge base", remedy)
            continue
        value = item.child("value").number()
        if value is not None and value < 0:
            item.child("value").problem(
                "an amount cannot be below 0", "Write what the report says; below the limit is not_raised."
            )
        unit = item.child("unit").text()
        if value is not None and unit is None:
            item.problem("an amount needs its unit", "Add unit: as ug/kg, ng/L.")
        result = item.child("result").choice(RESULTS)
        if result is None and item.child("result").data is None:
            message = f"the result for '{written}' does not say whether it is raised, and so does not count"
            item.problem(
                message,
                "Add result: raised, or not_raised, against a sound reference in the same matrix.",
                "warning",
            )
        matrix = item.child("matrix").choice(MATRICES)
        found.append(
            LaboratoryResult(identity, value, unit, matrix, item.child("method").text(), result, item.place)
        )
    return tuple(found)


def _answers(node: Node, enquiries: Mapping[str, Enquiry]) -> tuple[tuple[str, str], ...]:
    found = []
    if node.data is None or not node.is_map("answers"):
        return ()
    for name in node.names():
        child = node.child(name)
        enquiry = enquiries.get(name)
        if enquiry is None:
            child.problem(
                f"'{name}' is no question of the knowledge base",
                did_you_mean(name, enquiries, "See: tracer ask LOT"),
            )
            continue
        answer = child.choice(tuple(enquiry.answers))
        if answer is not None:
            found.append((name, answer))
    return tuple(found)


def _scenario(node: Node) -> Expectation | None:
    if node.data is None or not node.is_map("scenario"):
        return None
    node.only(("story", "expect"), "a scenario")
    expect = node.child("expect")
    fields: dict[str, Any] = {}
    if expect.data is not None and expect.is_map("expect"):
        expect.only(("verdict", "source", "stage", "question", "within"), "expect")
        fields = {name: expect.child(name).text() for name in ("verdict", "source", "stage", "question")}
        within = expect.child("within").number()
        if within is not None:
            fields["within"] = int(within)
    return Expectation(story=node.child("story").text() or "", **fields)
