"""The real command, run as a user runs it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path


def run(
    *words: str, cwd: Path | None = None, stdin: str | None = None, **env: str
) -> subprocess.CompletedProcess[str]:
    """One run of `tracer` in a new process, 130 columns wide and without colour."""
    whole = {**os.environ, "COLUMNS": "130", "NO_COLOR": "1", **env}
    return subprocess.run(
        [sys.executable, "-m", "tracer", *words],
        capture_output=True,
        text=True,
        env=whole,
        timeout=120,
        cwd=cwd,
        input=stdin,
    )
