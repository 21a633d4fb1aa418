"""The terminal: width, colour, and plain text when it is a pipe."""

from __future__ import annotations

import os
import sys

from rich.console import Console

_PIPE_WIDTH = 120


def console() -> Console:
    """A console for standard output; no markup and no highlighting, so that a lot's text is only text."""
    width = None if sys.stdout.isatty() or "COLUMNS" in os.environ else _PIPE_WIDTH
    return Console(markup=False, highlight=False, emoji=False, width=width, soft_wrap=False)
