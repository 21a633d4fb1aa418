"""The verbs of kept cases: answer, close, cases."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from tracer.cli import whole_casebook
from tracer.cli.trace import AsJson, Casebook, House
from tracer.wording.language import tell

if TYPE_CHECKING:
    from tracer.issues import Issue

cases = typer.Typer(
    help="Kept cases: list, show, run again, export, import, back up.", invoke_without_command=True
)
By = Annotated[str, typer.Option("--by", help="Who says so.")]
Note = Annotated[str, typer.Option("--note", help="In one sentence.")]
CaseNumber = Annotated[int, typer.Argument(metavar="CASE", help="Number of a kept case.", min=1)]


def answer(
    case: CaseNumber,
    received: Annotated[
        str,
        typer.Argument(
            metavar="QUESTION=ANSWER", help="Id of the question and of the answer; see: tracer ask."
        ),
    ],
    by: By,
    note: Note = "",
    take_back: Annotated[
        bool, typer.Option("--take-back", help="QUESTION alone: what was received to it counts no more.")
    ] = False,
    casebook: Casebook = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Add an answer received to a kept case, or take one back, and show what it moved."""
    import json
    from dataclasses import asdict

    from tracer.casebook.again import moved, trace_again
    from tracer.casebook.cases import TAKEN_BACK, Received, add_received, now, whole
    from tracer.casebook.entries import known_answer, set_aside_told, standing_answer
    from tracer.cli import inputs
    from tracer.names import printable

    base, path = inputs.knowledge(house), inputs.book_path(casebook)
    question, _, said = received.partition("=")
    enquiry = base.enquiries.get(question) if take_back else known_answer(base, question, said)
    kept = whole(path, case)
    _told(set_aside_told(kept, base))
    if take_back:
        standing_answer(kept, question)
        said = TAKEN_BACK
    one = Received(now(), by, question, said, note)
    before, after = trace_again(kept, base), trace_again(kept, base, [one])
    add_received(path, case, question, said, by, note, after)
    found = moved(before, after)
    if as_json:
        print(
            json.dumps(
                {"case": case, "verdict": after.verdict, "moved": [asdict(m) for m in found]},
                ensure_ascii=False,
                indent=2,
            )
        )
        return
    text = enquiry.text if enquiry else question
    answers = tell("taken back") if enquiry is None or take_back else enquiry.answers[said]
    lot = printable(kept.case.lot)
    print(
        tell(
            "Case {case}, lot {lot}: {text} -> {answers}. Kept.",
            case=case,
            lot=lot,
            text=text,
            answers=answers,
        )
    )
    for m in found:
        label, stage = tell(m.label), tell(base.stages[m.stage].label)
        print(f"  {label} ({stage}): {_figure(m.before)} -> {_figure(m.after)}")
    if not found:
        print(tell("  Nothing moved."))
    print(tell("How sure: {verdict_text}", verdict_text=after.verdict_text))


def _told(issues: Sequence[Issue]) -> None:
    import sys

    for issue in issues:
        print(issue, file=sys.stderr)


def _figure(value: float | None) -> str:
    return tell("not listed") if value is None else f"{value:.2f}"


def close(
    case: CaseNumber,
    by: By,
    how: Annotated[str, typer.Option("--how", help="laboratory, record, experiment, statement or belief.")],
    fault: Annotated[
        str,
        typer.Option("--fault", help="The confirmed fault's id; none where the coffee was sound; not_found."),
    ],
    note: Note = "",
    anew: Annotated[bool, typer.Option("--again", help="Close a closed case anew.")] = False,
    casebook: Casebook = None,
    house: House = None,
) -> None:
    """Record what the cause was, by whom and how it was confirmed. Belief alone is kept, but teaches nothing."""
    import sys

    from tracer.casebook.cases import close as close_case
    from tracer.casebook.cases import whole
    from tracer.casebook.entries import check_closing, check_open
    from tracer.cli import inputs
    from tracer.names import printable

    base, path = inputs.knowledge(house), inputs.book_path(casebook)
    check_closing(base, fault, how, by)
    kept = whole(path, case)
    if kept.closings and not anew and sys.stdin.isatty():
        print(
            tell(
                "Case {case} is closed already: {fault}, by {how}.",
                case=case,
                fault=printable(kept.closings[-1].fault),
                how=kept.closings[-1].how,
            )
        )
        anew = typer.confirm(tell("Close it anew?"))
    check_open(kept, anew)
    close_case(path, case, fault, how, by, note)
    print(
        tell(
            "Case {case} closed: {value}, by {how}.",
            case=case,
            value=base.faults[fault].label if fault in base.faults else fault.replace("_", " "),
            how=how,
        )
    )
    if how == "belief":
        print(tell("Closed by belief only: it is kept, and nothing is learned from it."))


@cases.callback()
def list_cases(
    context: typer.Context,
    lot: Annotated[str | None, typer.Option("--lot", help="Only this lot.")] = None,
    source: Annotated[
        str | None, typer.Option("--source", help="Only cases whose first source is this fault.")
    ] = None,
    origin: Annotated[str | None, typer.Option("--origin", help="Only this origin.")] = None,
    exporter: Annotated[str | None, typer.Option("--exporter", help="Only this exporter.")] = None,
    last: Annotated[int, typer.Option("--last", help="How many, the newest.", min=1, max=1_000_000)] = 50,
    casebook: Casebook = None,
    as_json: AsJson = False,
) -> None:
    """List kept cases."""
    if context.invoked_subcommand is not None:
        return
    import json
    from dataclasses import asdict

    from tracer.casebook.cases import cases as kept_cases
    from tracer.casebook.cases import count
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.render.cases import case_table

    path = inputs.book_path(casebook)
    wanted = {"lot": lot, "source": source, "origin": origin, "exporter": exporter}
    found = kept_cases(path, {name: value for name, value in wanted.items() if value is not None}, last)
    if as_json:
        print(json.dumps([asdict(one) for one in found], ensure_ascii=False, indent=2))
    elif not found:
        print(tell("No case is kept here. Keep one with: tracer trace LOT.yaml --keep"))
    else:
        console().print(case_table(found, count(path)))


@cases.command("show")
def show(case: CaseNumber, casebook: Casebook = None, as_json: AsJson = False) -> None:
    """Show one case: how it stood, what was answered, how it was closed."""
    import json

    from tracer.casebook.cases import whole
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.render.cases import case_screen

    inputs.knowledge(None)  # its labels, as the reader's language has them
    kept = whole(inputs.book_path(casebook), case)
    if as_json:
        print(json.dumps(kept.report, ensure_ascii=False, indent=2))
    else:
        console().print(case_screen(kept))


@cases.command("again")
def again(
    case: CaseNumber,
    now: Annotated[
        bool, typer.Option("--now", help="With today's knowledge instead of that of the day.")
    ] = False,
    casebook: Casebook = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Trace a kept case again, with the knowledge of the day and the answers received since."""
    import sys

    from tracer.casebook.again import trace_again
    from tracer.casebook.cases import knowledge_of, whole
    from tracer.casebook.entries import set_aside_told
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.render.text import show_report

    path = inputs.book_path(casebook)
    kept = whole(path, case)
    of_the_day = None if now else knowledge_of(path, kept.knowledge)
    base = inputs.told_from(of_the_day) if of_the_day else inputs.knowledge(house)
    if not now and of_the_day is None:
        print(
            tell("warning: this version of tracer cannot read the knowledge of that day; today's is used."),
            file=sys.stderr,
        )
    _told(set_aside_told(kept, base))
    report = trace_again(kept, base)
    if as_json:
        print(report.to_json())
    else:
        show_report(report, console())


cases.command("export")(whole_casebook.export)
cases.command("import")(whole_casebook.import_)
cases.command("backup")(whole_casebook.backup)
cases.command("common")(whole_casebook.common)
cases.command("learn")(whole_casebook.learn)
