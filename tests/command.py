"""The real command, run as a user runs it: its own process, arguments, surroundings and streams.

A process that has everything imported and the knowledge read forks for each run, so that a run costs a trace and not a start;
`fresh=True` starts a new interpreter.
"""

from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

LONGEST = 120
"""Seconds after which a run is given up."""


def run(
    *words: str, cwd: Path | None = None, stdin: str | None = None, fresh: bool = False, **env: str
) -> subprocess.CompletedProcess[str]:
    """One run of `tracer`, 130 columns wide and without colour."""
    whole = {**os.environ, "COLUMNS": "130", "NO_COLOR": "1", **env}
    command = [sys.executable, "-m", "tracer", *words]
    if fresh or not hasattr(os, "fork") or any(name.startswith("PYTHON") for name in env):
        return subprocess.run(
            command, capture_output=True, text=True, env=whole, timeout=LONGEST, cwd=cwd, input=stdin
        )
    with tempfile.TemporaryDirectory() as named:
        streams = [Path(named, name) for name in ("in", "out", "err")]
        streams[0].write_text(stdin or "", encoding="utf-8")
        task = {
            "words": words,
            "cwd": str(cwd or Path.cwd()),
            "env": whole,
            "streams": [str(one) for one in streams],
        }
        code = _asked(task)
        out, err = (one.read_text(encoding="utf-8", errors="replace") for one in streams[1:])
    return subprocess.CompletedProcess(command, code, out, err)


def _asked(task: dict[str, object]) -> int:
    server = _server()
    assert server.stdin
    assert server.stdout
    server.stdin.write(json.dumps(task) + "\n")
    server.stdin.flush()
    answer = server.stdout.readline()
    if not answer:
        raise RuntimeError("the process that forks for each run has ended")
    code = int(answer)
    if code == LONGEST * 1000:
        raise subprocess.TimeoutExpired(str(task["words"]), LONGEST)
    return code


@cache
def _server() -> subprocess.Popen[str]:
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.forking"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).resolve().parents[1],
    )
    atexit.register(server.terminate)
    return server
