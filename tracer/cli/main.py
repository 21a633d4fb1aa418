"""The verbs, and how errors leave the program.

Exit codes: 0 done, 1 the input or the knowledge has errors (all printed), 2 wrong usage.
"""

from __future__ import annotations

import os
import sys

import typer

from tracer.cli import casebook, check, history, page, panel, papers, show, trace

app = typer.Typer(
    name="tracer",
    help="Trace an off-note in a coffee lot to its probable source, and say what to ask next.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command("sheet")(trace.sheet)
app.command("check")(check.check)
app.command("trace")(trace.trace)
app.command("why")(trace.why)
app.command("ask")(trace.ask)
app.command("history")(history.history)
app.command("show")(show.show)
app.command("letter")(papers.letter)
app.command("report")(papers.report)
app.command("answer")(casebook.answer)
app.command("close")(casebook.close)
app.command("page")(page.page)
app.add_typer(casebook.cases, name="cases")
app.add_typer(panel.panel, name="panel")


def run() -> None:
    """Entry point of the installed command."""
    from tracer.issues import InputError

    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        app()
    except InputError as error:
        for issue in error.issues:
            print(issue, file=sys.stderr)
        count = len(error.issues)
        print(f"{count} problem{'s' if count != 1 else ''}; nothing was written.", file=sys.stderr)
        sys.exit(1)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)


if __name__ == "__main__":
    run()
