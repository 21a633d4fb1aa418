"""The verbs, and how errors leave the program.

Exit codes: 0 done, 1 the input or the knowledge has errors (all printed), 2 wrong usage.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
import threading
from contextlib import suppress
from importlib import import_module

import typer

from tracer.cli.spoken import OPTION, language_of, translate
from tracer.wording.language import LANGUAGES, language, speaking, tell

VERBS = {
    "sheet": "trace:sheet",
    "check": "check:check",
    "draft": "draft:draft",
    "trace": "trace:trace",
    "why": "trace:why",
    "ask": "trace:ask",
    "history": "history:history",
    "show": "show:show",
    "letter": "papers:letter",
    "report": "papers:report",
    "answer": "casebook:answer",
    "close": "casebook:close",
    "season": "season:season",
    "page": "page:page",
    "cases": "casebook:cases",
    "panel": "panel:panel",
}
"""Verb -> module of this package and what it runs there."""


def application(verb: str | None = None) -> typer.Typer:
    """All verbs; or, to start faster, the one that is asked for."""
    app = typer.Typer(
        name="tracer",
        help="Trace an off-note in a coffee lot to its probable source, and say what to ask next.",
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
    )
    app.callback()(_together)
    for name in [verb] if verb in VERBS else VERBS:
        module, _, function = VERBS[str(name)].partition(":")
        found = getattr(import_module(f"tracer.cli.{module}"), function)
        if isinstance(found, typer.Typer):
            app.add_typer(found, name=name)
        else:
            app.command(name)(found)
    return app


def _version(asked: bool) -> None:
    if asked:
        from tracer import __version__

        print(f"tracer {__version__}")
        raise typer.Exit


def _together(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Show the version and end."
    ),
) -> None:
    """Trace an off-note in a coffee lot to its probable source, and say what to ask next."""


def run() -> None:
    """Entry point of the installed command."""
    # A trace is over before a collection of garbage would pay, and no plugin of the data models is wanted.
    gc.set_threshold(100_000, 20, 20)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # Tables are small: threads for large matrices would only be started and wait.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    arguments = sys.argv[1:]
    try:
        spoken, arguments = language_of(arguments, os.environ)
    except ValueError as error:
        known = ", ".join(LANGUAGES)
        print(f"{OPTION}: error: there are no screens in '{error}'\n    Choose: {known}.", file=sys.stderr)
        sys.exit(2)
    with speaking(spoken):
        _run(arguments)


def _run(arguments: list[str]) -> None:
    from tracer.issues import InputError

    try:
        command = typer.main.get_command(application(arguments[0] if arguments else None))
        if language() != "en":
            translate(command)
        command(arguments, prog_name="tracer")
    except InputError as error:
        for issue in error.issues:
            print(issue, file=sys.stderr)
        count = len(error.issues)
        print(
            tell(
                "1 problem; nothing was written." if count == 1 else "{count} problems; nothing was written.",
                count=count,
            ),
            file=sys.stderr,
        )
        sys.exit(1)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)


def process() -> None:
    """Entry point of the installed command: as `run`, and the process ends without taking apart all that it holds.

    The system takes the memory back at once; Python would walk over every entry of the knowledge first.
    """
    code: object = None
    try:
        run()
    except SystemExit as end:
        code = end.code
    if threading.active_count() > 1 or not (code is None or isinstance(code, int)):
        sys.exit(code)  # type: ignore[arg-type]
    atexit._run_exitfuncs()
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError):
            stream.flush()
    os._exit(code or 0)


if __name__ == "__main__":
    process()
