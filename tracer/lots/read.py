"""Lot sheet (YAML) -> Lot, with every problem at its file, line and column."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from tracer.amounts import amount_reader
from tracer.issues import Issue, Place, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.knowledge.renamed import now_called
from tracer.knowledge.yamlfile import Document, parse_yaml, read_yaml, with_days
from tracer.lots.circumstances import read_comparisons, read_contacts, read_normal, read_patterns
from tracer.lots.cuppings import check_meanings, check_words, read_cuppings
from tracer.lots.form import ClockForm, ScenarioForm, SheetForm
from tracer.lots.grading import read_grading
from tracer.lots.histories import read_beds, read_logs, read_readings
from tracer.lots.laboratory import read_laboratory
from tracer.lots.lot import Clock, Expectation, Lot, Passed
from tracer.lots.node import Node
from tracer.lots.places import misplaced
from tracer.lots.records import check_dates, read_records
from tracer.lots.said import read_said
from tracer.lots.spot import Spot, fields_of, validate, validate_rest
from tracer.names import fold
from tracer.wording.sentence import say


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
    return _lot(Document(place.file, with_days(data), place), folder, base)


def _lot(document: Document, folder: Path | None, base: KnowledgeBase) -> tuple[Lot | None, list[Issue]]:
    issues = list(document.issues)
    if has_errors(issues) and document.data is None:
        return None, sorted(issues)
    sheet, top = Node(document, (), document.data, issues), Spot(document, issues)
    if document.data is None:
        sheet.problem(say("the sheet is empty"), say("Start with: tracer sheet > lot.yaml"))
        return None, issues
    form = validate(SheetForm, _well_placed(sheet, base), top)
    if not isinstance(document.data, dict):
        return None, sorted(issues)
    amounts = amount_reader(base.languages, base.sha256)
    values = (
        *read_records(sheet, base.records, amounts),
        *read_grading(sheet.child("green").child("grading"), folder, base.records),
    )
    stages, limits, data = tuple(base.stages), base.settings.physics.logs, document.data
    nested = [(stage, sheet.child("history").child(stage)) for stage in stages]
    logs = tuple(log for stage, node in nested for log in read_logs(node, stage, folder, limits))
    readings = tuple(one for stage, node in nested for one in read_readings(node.child("readings"), stage))
    beds = tuple(one for stage, node in nested for one in read_beds(node.child("beds"), stage))
    custody = _custody(sheet.child("custody"), stages)
    answers = _answers(sheet.child("answers"), base.enquiries)
    if form is None:
        form = validate_rest(SheetForm, document.data)
    if form is None:
        return None, sorted(issues)
    cuppings = read_cuppings(form.cuppings, data.get("cuppings"), top / "cuppings", folder)
    lot = Lot(
        lot=form.lot or say("(no name)"),
        species=fold(form.species) if form.species else None,
        process=form.process,
        declared=tuple(filter(None, form.declared)),
        origin=form.origin,
        crop=form.crop,
        cuppings=cuppings,
        records=values,
        laboratory=read_laboratory(
            form.laboratory, data.get("laboratory"), top / "laboratory", base.compounds, amounts
        ),
        answers=answers,
        scenario=_scenario(form.scenario),
        file=document.file,
        contract=form.contract,
        clocks=_clocks(form.clocks, data.get("clocks"), top / "clocks"),
        exporter=form.exporter,
        custody=custody,
        made_of=tuple(filter(None, form.made_of)),
        logs=logs,
        readings=readings,
        beds=beds,
        said=read_said(form.said, data.get("said"), top / "said", base),
        pattern=read_patterns(form.pattern, data.get("pattern"), top / "pattern"),
        comparisons=read_comparisons(form.comparisons, data.get("comparisons"), top / "comparisons"),
        contact=read_contacts(form.contact, data.get("contact"), top / "contact", base.materials, stages),
        normal=read_normal(form.normal, data.get("normal"), top / "normal", stages),
        remarks=tuple(filter(None, form.remarks)),
        drafted=form.drafted.taken if form.drafted else None,
        drafted_on=form.drafted.on if form.drafted else None,
    )
    if data.get("lot") is None:
        sheet.problem(say("the lot has no name"), say("Write lot: and the mark or number you know it by."))
    check_meanings(cuppings, base.descriptors, issues)
    check_words(cuppings, base.languages, issues)
    check_dates(lot, base.records, issues)
    return (None if has_errors(issues) else lot), sorted(issues)


def _well_placed(sheet: Node, base: KnowledgeBase) -> object:
    """The sheet without rows and stages that stand at its margin; where they belong is told."""
    known = fields_of(SheetForm)
    wrong = [
        name
        for name in sheet.names()
        if name not in known and misplaced(sheet.child(name), str(name), "", tuple(base.stages), base.records)
    ]
    return {name: one for name, one in sheet.data.items() if name not in wrong} if wrong else sheet.data


def _clocks(forms: tuple[ClockForm, ...], data: object, spot: Spot) -> tuple[Clock, ...]:
    """Time limits, each with its clause, its days and the day they count from: never assumed."""
    found = []
    for index, form in enumerate(forms):
        at = spot.item(data, index)
        if form.days is None or form.from_ is None or form.what is None:
            at.problem(
                say("a clock needs what, days and from"),
                say("Take them from your own contract, with form and clause."),
            )
            continue
        if form.clause is None:
            at.problem(
                say("the clock does not name its clause"),
                say("Add clause: the form, its edition and the article."),
                "warning",
            )
        found.append(Clock(form.what, form.clause or say("clause not named"), form.days, form.from_))
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


def _answers(node: Node, enquiries: Mapping[str, Enquiry]) -> tuple[tuple[str, str], ...]:
    found = []
    if node.data is None or not node.is_map("answers"):
        return ()
    for name in node.names():
        child = node.child(name)
        enquiry = enquiries.get(name)
        if enquiry is None:
            child.problem(
                say("'{name}' is no question of the knowledge base", name=name),
                now_called(name, enquiries, enquiries, say("See: tracer ask LOT")),
            )
            continue
        answer = child.choice(tuple(enquiry.answers))
        if answer is not None:
            found.append((name, answer))
    return tuple(found)


def _scenario(form: ScenarioForm | None) -> Expectation | None:
    if form is None:
        return None
    expect = form.expect
    if expect is None:
        return Expectation(story=form.story or "")
    within = int(expect.within) if isinstance(expect.within, (int, float)) else 1
    return Expectation(form.story or "", expect.verdict, expect.source, expect.stage, expect.question, within)
