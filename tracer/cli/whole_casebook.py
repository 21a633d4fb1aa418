"""The verbs of the whole casebook: export, import, backup, common, learn."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracer.cli.trace import AsJson, Casebook, House
from tracer.wording.language import tell
from tracer.wording.sentence import to_type

if TYPE_CHECKING:
    from tracer.knowledge.base import KnowledgeBase


def export(
    out: Annotated[Path, typer.Argument(help="JSON Lines file to write.")], casebook: Casebook = None
) -> None:
    """Write the whole casebook as one JSON Lines file."""
    from tracer.casebook.transfer import export_lines
    from tracer.cli import inputs

    lines = inputs.write_lines(out, export_lines(inputs.book_path(casebook)))
    print(tell("{lines} rows written to {out}.", lines=lines - 1, out=out))


def import_(
    source: Annotated[Path, typer.Argument(help="A JSON Lines export.")], casebook: Casebook = None
) -> None:
    """Read an export into an empty casebook: all of it, or nothing."""
    from tracer.casebook.transfer import import_lines
    from tracer.cli import inputs

    path = inputs.book_path(casebook)
    read = import_lines(path, source)
    print(
        tell(
            "{values} rows read into {path}: {read} cases, {read_2} panel sessions.",
            values=sum(read.values()),
            path=path,
            read=read["lot_case"],
            read_2=read["session"],
        )
    )


def backup(out: Annotated[Path, typer.Argument(help="File to write.")], casebook: Casebook = None) -> None:
    """Copy the casebook while it is in use; the copy is checked. To restore, put it in the casebook's place."""
    from tracer.casebook.transfer import back_up
    from tracer.cli import inputs
    from tracer.issues import InputError

    path = inputs.book_path(casebook)
    if not path.exists():
        raise InputError.of(path, tell("there is no casebook to copy"), tell("Name it with --casebook."))
    back_up(path, out)
    print(tell("{path} copied to {out}, whole and checked.", path=path, out=out))


def common(
    source: Annotated[
        str | None,
        typer.Option("--source", help="Fault that affected lots share as first or confirmed source."),
    ] = None,
    stage: Annotated[str | None, typer.Option("--stage", help="Or the stage that they share.")] = None,
    limit: Annotated[
        float, typer.Option("--limit", help="Corrected p below which a place is pointed out.", min=0, max=1)
    ] = 0.05,
    casebook: Casebook = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Find places that lots with a like source share beyond chance, and the other lots that passed there."""
    import json
    from dataclasses import asdict

    from tracer.casebook.common import load_passages, shared_places
    from tracer.causes.contacts import contact_stage
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.issues import InputError
    from tracer.names import did_you_mean
    from tracer.render.cases import common_screen

    base = inputs.knowledge(house)
    if (source is None) == (stage is None):
        raise typer.BadParameter(tell("give --source FAULT or --stage STAGE"))
    if source is not None and source not in base.faults and contact_stage(source, base) is None:
        raise InputError.of(
            "--source",
            tell("'{source}' is no fault", source=source),
            did_you_mean(source, base.faults, tell("See: tracer show STAGE")),
        )
    if stage is not None and stage not in base.stages:
        raise InputError.of(
            "--stage",
            tell("'{stage}' is no stage", stage=stage),
            did_you_mean(stage, base.stages, tell("Stages: {stages}.", stages=to_type(base.stages))),
        )
    passages, sources = load_passages(inputs.book_path(casebook))
    affected = frozenset(
        lot
        for lot, (first, of_stage, confirmed) in sources.items()
        if (source is not None and (confirmed or first) == source)
        or (stage is not None and (_stage_of(confirmed, base) or of_stage) == stage)
    )
    found = shared_places(passages, affected)
    if as_json:
        print(json.dumps([asdict(one) for one in found], ensure_ascii=False, indent=2))
    else:
        console().print(
            common_screen(
                found, len(affected), len(passages), limit, {s.id: s.label for s in base.stages.values()}
            )
        )


def learn(
    accept: Annotated[
        Path | None,
        typer.Option("--accept", metavar="DIR", help="Write the reviewed figures as a house folder."),
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Who has read and accepts them.")] = "",
    casebook: Casebook = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Show what closed cases teach, and whether it would have foreseen them better. Nothing changes unless you accept it."""
    import datetime
    import json
    import sys
    from dataclasses import asdict

    from tracer.casebook import learn as learning
    from tracer.casebook.cases import cases as kept_cases
    from tracer.casebook.cases import whole
    from tracer.casebook.entries import set_aside_told
    from tracer.casebook.taught import taught_cases
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.issues import InputError
    from tracer.render.cases import learned_screen

    base, path = inputs.knowledge(house), inputs.book_path(casebook)
    if accept is not None and not by.strip():
        raise InputError.of("--by", tell("somebody must stand for what is accepted"), tell("Add --by NAME."))
    if accept is not None and accept.exists() and any(accept.iterdir() if accept.is_dir() else [accept]):
        raise InputError.of(
            accept,
            tell("the folder is there already"),
            tell("Name a new folder; house changes are kept apart."),
        )
    may_teach = [one.id for one in kept_cases(path) if not one.replaced and (one.closed or not one.source)]
    wholes = [whole(path, number) for number in may_teach]
    for issue in (one for kept in wholes for one in set_aside_told(kept, base)):
        print(issue, file=sys.stderr)
    taught, belief, missing = taught_cases(wholes, base)
    found = learning.learn(taught, base, belief, missing)
    if as_json:
        print(json.dumps(asdict(found), ensure_ascii=False, indent=2))
    else:
        console().print(learned_screen(found))
    if accept is None or not taught:
        return
    import yaml

    from tracer.casebook.as_precedent import FILE, closed_cases
    from tracer.precedents.shipped import READINGS
    from tracer.tracing import prepare

    today = str(datetime.date.today())
    cases, marks = closed_cases(taught, base, prepare(base), by, today)
    for name, entries in {**learning.overlay(found.figures, base, by, today), FILE: cases}.items():
        (accept / name).parent.mkdir(parents=True, exist_ok=True)
        inputs.write_text(accept / name, yaml.safe_dump(entries, sort_keys=False, allow_unicode=True))
    inputs.write_text(accept / READINGS, json.dumps(marks, ensure_ascii=False, indent=1))
    print(
        tell(
            "written to {accept}. Use it with --house {accept}; check it with: tracer check --house {accept}",
            accept=accept,
        )
    )


def _stage_of(fault: str | None, base: KnowledgeBase) -> str | None:
    """Stage of a fault of the knowledge, or of one that a contact made."""
    from tracer.causes.contacts import contact_stage

    if fault is None:
        return None
    return base.faults[fault].stage if fault in base.faults else contact_stage(fault, base)
