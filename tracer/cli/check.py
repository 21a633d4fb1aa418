"""The verb `check`: is this lot sheet, or this knowledge, sound?"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from tracer.cli.trace import AsJson, House
from tracer.issues import Issue, Place, has_errors
from tracer.wording.language import tell
from tracer.wording.sentence import joined


def check(
    path: Annotated[
        Path | None,
        typer.Argument(
            help="A lot sheet, a folder of them, or a knowledge folder; default: the shipped knowledge.",
            show_default=False,
        ),
    ] = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Check lot sheets or the knowledge: every problem at once, each with its mend."""
    issues: list[Issue] = []
    if path is not None and path.is_dir() and not _is_knowledge(path):
        sheets = sorted(one for one in path.iterdir() if one.is_file() and one.suffix.lower() in SHEETS)
        issues = [issue for sheet in sheets for issue in _sheet(sheet, house)]
        bad = len({issue.place.file for issue in issues if issue.level == "error"})
        summary = tell("{path}: {count} lot sheets, {bad} with errors", path=path, count=len(sheets), bad=bad)
    elif path is not None and not path.is_dir():
        issues = _sheet(path, house)
        summary = tell("{path}: lot sheet", path=path)
    else:
        issues, summary = _knowledge(path, house)
    if as_json:
        print(json.dumps([asdict(issue) for issue in sorted(issues)], ensure_ascii=False, indent=2))
        raise typer.Exit(1 if has_errors(issues) else 0)
    for issue in sorted(issues):
        print(issue, file=sys.stderr if issue.level == "error" else sys.stdout)
        sys.stdout.flush()
    counted = {level: sum(issue.level == level for issue in issues) for level in ("error", "warning", "note")}
    told = tell(
        "{summary}: {counted} errors, {counted_2} warnings",
        summary=summary,
        counted=counted["error"],
        counted_2=counted["warning"],
    )
    print(tell("{told}, {counted} notes", told=told, counted=counted["note"]) if counted["note"] else told)
    if has_errors(issues):
        raise typer.Exit(1)


SHEETS = (".yaml", ".yml")


def _is_knowledge(folder: Path) -> bool:
    """True for a folder with settings or some kind of entries of a knowledge base, or without any sheet."""
    from tracer.knowledge.base import KINDS

    here = [one for one in folder.iterdir() if one.is_dir() or one.suffix.lower() in SHEETS]
    return any(one.stem in ("settings", *KINDS) for one in here) or not any(one.is_file() for one in here)


def _sheet(path: Path, houses: list[Path] | None) -> list[Issue]:
    from tracer.cli import inputs
    from tracer.findings.gathered import gather, listener
    from tracer.lots.read import read_lot
    from tracer.report.remarks import remarks

    base = inputs.knowledge(houses)
    lot, issues = read_lot(path, base)
    if lot is None:
        return list(issues)
    gathered = gather(lot, base, listener(base), "plain")
    return [*issues, *remarks(gathered.base, gathered)]


def _knowledge(folder: Path | None, houses: list[Path] | None) -> tuple[list[Issue], str]:
    from tracer.findings.engine import engine_name
    from tracer.findings.told import problems
    from tracer.history.isotherm import misprinted
    from tracer.inference.assemble import layout
    from tracer.inference.chain import one_table
    from tracer.inference.density import density_issues
    from tracer.knowledge.check import check as check_base
    from tracer.knowledge.check import counts
    from tracer.knowledge.load import load

    base, issues = load(folder, tuple(houses or ()))
    if base is None:
        return list(issues), "knowledge"
    issues = [*issues, *check_base(base), *problems(base)]
    if not any(issue.level == "error" for issue in issues):
        issues += density_issues(layout(base).of(one_table(base)).network, base.settings.limits.largest_table)
        wrong = misprinted(base.settings.physics.isotherm)
        if wrong:
            place = Place("settings.yaml")
            issues.append(
                Issue(
                    place,
                    tell("the isotherm {wrong}", wrong=wrong),
                    tell("Compare its coefficients with the source."),
                )
            )
    numbers = joined((f"{count} {kind}" for kind, count in counts(base).items()))
    return list(issues), tell(
        "knowledge {version} {sha256} ({numbers}; rule engine: {engine_name})",
        version=base.settings.version,
        sha256=base.sha256[:8],
        numbers=numbers,
        engine_name=engine_name(),
    )
