"""Forks a process for each run of `tracer` that it is asked for; see `tests.command`."""

from __future__ import annotations

import gc
import io
import json
import os
import signal
import sys
import time
import traceback
from contextlib import suppress
from importlib import import_module
from types import ModuleType
from typing import Any

from tests.command import LONGEST
from tracer.cli.main import VERBS, run
from tracer.knowledge import cache
from tracer.knowledge.shipped import knowledge_folder
from tracer.lots.attached import example_path
from tracer.lots.read import read_lot
from tracer.tracing import trace


def main() -> None:
    """Answer one line, the exit code, for every task of standard input."""
    _warm()
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            _child(json.loads(line))
        print(_waited(child), flush=True)


def _warm() -> None:
    for target in VERBS.values():
        import_module(f"tracer.cli.{target.partition(':')[0]}")
    for name in (
        "tracer.render.text",
        "tracer.batch.archive",
        "tracer.batch.together",
        "tracer.precedents.shipped",
    ):
        import_module(name)
    base, load = cache.load_cached(), cache.load_cached

    def warm(folder: Any = None, houses: Any = ()) -> Any:
        shipped = folder is None or folder == knowledge_folder()
        return base if shipped and not houses else load(folder, houses)

    cache.load_cached = warm
    lot, _ = read_lot(example_path("container_damp"), base)
    trace(lot, base)
    gc.freeze()


def _child(task: dict[str, Any]) -> None:
    """Take on the arguments, surroundings and streams of the task, and be the command."""
    code = 1
    try:
        os.environ.clear()
        os.environ.update(task["env"])
        time.tzset()
        os.chdir(task["cwd"])
        for number, path in enumerate(task["streams"]):
            handle = os.open(
                path, os.O_RDONLY if number == 0 else os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600
            )
            os.dup2(handle, number)
        sys.stdin = io.TextIOWrapper(io.FileIO(0, "r", closefd=False), encoding="utf-8")
        sys.stdout = _writing(1)
        sys.stderr = _writing(2)
        sys.argv = [str(import_module("tracer").__path__[0]) + "/__main__.py", *task["words"]]
        sys.modules["__main__"] = ModuleType("__main__")
        sys.modules["__main__"].__package__ = "tracer"
        code = _ended()
    except BaseException:  # the child must never go on as the server
        traceback.print_exc()
    finally:
        for stream in (sys.stdout, sys.stderr):
            with suppress(OSError, ValueError):
                stream.flush()
        os._exit(code)


def _ended() -> int:
    try:
        run()
    except SystemExit as end:
        if isinstance(end.code, str):
            print(end.code, file=sys.stderr)
            return 1
        return int(end.code or 0)
    return 0


def _writing(number: int) -> io.TextIOWrapper:
    return io.TextIOWrapper(
        io.BufferedWriter(io.FileIO(number, "w", closefd=False)), encoding="utf-8", line_buffering=number == 2
    )


def _waited(child: int) -> int:
    """Exit code of a child; a run that does not end is killed and told by a code of its own."""
    until = time.monotonic() + LONGEST
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.002)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return LONGEST * 1000


if __name__ == "__main__":
    main()
