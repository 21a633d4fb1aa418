"""Verbs of the trainer for one person or one test: drill, test, threshold, pooled."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tracer.cli.trace import AsJson, Casebook, House
from tracer.wording.language import tell
from tracer.wording.sentence import to_type


def drill(
    person: Annotated[str, typer.Option("--person", help="Who answers; results are kept for each person.")],
    number: Annotated[int, typer.Option("--cards", help="How many questions.", min=1, max=200)] = 10,
    kind: Annotated[
        str | None,
        typer.Option("--kind", help="stage, fault or pair; default: these three. case: published cases."),
    ] = None,
    casebook: Casebook = None,
    house: House = None,
) -> None:
    """Ask on the terminal: note to stage, fault to note, how to tell two notes apart, or published cases. Due cards come first."""
    import datetime

    from tracer.casebook.sessions import add_drill, drills
    from tracer.cli import inputs
    from tracer.issues import InputError
    from tracer.names import printable
    from tracer.panel.drill import KINDS, queue

    if kind not in (None, *KINDS):
        raise InputError.of(
            "--kind",
            tell("'{kind}' is no kind of card", kind=kind),
            tell("Choose stage, fault, pair or case."),
        )
    base, path = inputs.knowledge(house), inputs.book_path(casebook)
    now = datetime.datetime.now(datetime.UTC)
    cards = queue(base, person, drills(path, person), now, kind)[:number]
    if not cards:
        print(tell("Nothing is due. Come back later."))
        return
    right = asked = 0
    for one, when in cards:
        question = "\n".join(printable(line) for line in one.question.splitlines())
        print(f"\n{asked + 1}. {question}{'' if when else '  (new)'}")
        for index, choice in enumerate(one.choices, 1):
            print(f"   {index}  {printable(choice)}")
        answer = _answer(len(one.choices))
        if answer is None:
            break
        good = one.choices[answer - 1] == one.answer
        add_drill(path, person, one.id, good, datetime.datetime.now(datetime.UTC))
        asked, right = asked + 1, right + good
        print(f"   {'Right.' if good else f'No: {one.answer.rstrip(chr(46))}.'} {one.explained}")
    print(
        tell(
            "\n{person}: {right} of {asked} right; kept.", person=printable(person), right=right, asked=asked
        )
        if asked
        else tell("\nNothing was answered.")
    )


def _answer(choices: int) -> int | None:
    """The number chosen; None where the input ends or the user leaves with q."""
    while True:
        try:
            text = input("   > ").strip().lower()
        except (EOFError, KeyboardInterrupt):
            return None
        if text in ("q", "quit"):
            return None
        if text.isdecimal() and len(text) < 4 and 1 <= int(text) <= choices:
            return int(text)
        print(tell("   A number from 1 to {choices}, or q to stop.", choices=choices))


def difference(
    method: Annotated[
        str,
        typer.Argument(help="triangle, three_afc, duo_trio, paired, paired_two_sided, tetrad, two_of_five."),
    ],
    trials: Annotated[int | None, typer.Option("--trials", help="Answers given.", min=1, max=5000)] = None,
    right: Annotated[int | None, typer.Option("--right", help="Answers that were right.", min=0)] = None,
    share: Annotated[
        float | None,
        typer.Option(
            "--share", help="Before the test: share of people who can tell, 0 to 1.", min=0.01, max=1
        ),
    ] = None,
    alike: Annotated[
        float | None,
        typer.Option(
            "--alike",
            help="Of a result: does it show that fewer than this share can tell?",
            min=0.01,
            max=0.99,
        ),
    ] = None,
    alpha: Annotated[float, typer.Option("--alpha", min=0.0001, max=0.5)] = 0.05,
    power: Annotated[float, typer.Option("--power", min=0.5, max=0.999)] = 0.8,
    as_json: AsJson = False,
) -> None:
    """Is there a difference: exact test of a result, or the trials needed before it."""
    import json

    from tracer.issues import InputError
    from tracer.names import did_you_mean
    from tracer.panel.discrimination import METHODS
    from tracer.panel.discrimination_words import before, result

    if method not in METHODS:
        raise InputError.of(
            "METHOD",
            tell("'{method}' is no test", method=method),
            did_you_mean(method, METHODS, tell("Choose: {METHODS}.", METHODS=to_type(METHODS))),
        )
    if trials is not None and right is not None:
        if right > trials:
            raise InputError.of(
                "--right",
                tell("{right} right of {trials} cannot be", right=right, trials=trials),
                tell("Check the two numbers."),
            )
        found = result(METHODS[method], trials, right, alpha, alike)
    elif share is not None:
        found = before(METHODS[method], share, alpha, power, trials)
    else:
        raise typer.BadParameter(
            tell("give --trials and --right for a result, or --share for what a test would need")
        )
    print(
        json.dumps(found, indent=2)
        if as_json
        else "\n".join(f"{name}: {text}" for name, text in found.items())
    )


def threshold(
    answers: Annotated[
        Path, typer.Argument(help="CSV: first row taster and rising concentrations; then 1 right or 0 wrong.")
    ],
    as_json: AsJson = False,
) -> None:
    """Best-estimate thresholds from an ascending 3-AFC series, for each taster and the group."""
    import json
    from dataclasses import asdict

    from tracer.issues import InputError
    from tracer.names import printable
    from tracer.panel.series import read_series
    from tracer.panel.thresholds import group_threshold

    series, issues = read_series(answers)
    if series is None:
        raise InputError(issues)
    found = group_threshold(*series)
    if as_json:
        print(json.dumps(asdict(found), ensure_ascii=False, indent=2))
        return
    for name, value in found.individual.items():
        beyond = tell("  (beyond the series)") if name in found.at_the_ends else ""
        print(f"{printable(name)}: {value:.4g}{beyond}")
    spread = tell(", spread of log10 {spread:.3f}", spread=found.spread) if found.spread is not None else ""
    print(
        tell(
            "group: {group:.4g} (geometric mean of best estimates by ASTM E679{spread})",
            group=found.group,
            spread=spread,
        )
    )
    if len(found.at_the_ends) > len(found.individual) / 5:
        print(tell("More than one taster in five lies beyond the series: move it and test again."))
    print(tell("Compare only with thresholds of the same method and the same medium."))


def pooled(
    reports: Annotated[
        Path, typer.Argument(help="CSV of shared lots: lot, taster, found (yes or no) for one note.")
    ],
    as_json: AsJson = False,
) -> None:
    """How reliable tasters are by shared lots of unknown truth (Dawid and Skene, with priors), if there are enough."""
    import json

    from tracer.issues import InputError
    from tracer.panel.series import read_reports, reliability_lines

    table, issues = read_reports(reports)
    if table is None:
        raise InputError(issues)
    found = reliability_lines(table)
    print(json.dumps(found, ensure_ascii=False, indent=2) if as_json else "\n".join(found["lines"]))
