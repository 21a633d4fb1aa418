"""The terminal: width, colour, and plain text when it is a pipe."""

from __future__ import annotations

import os
import sys

from rich.console import Console

_PIPE_WIDTH = 100
"""Where no terminal is at hand."""


def console() -> Console:
    """A console for standard output; no markup and no highlighting, so that a lot's text is only text."""
    width = None if sys.stdout.isatty() or "COLUMNS" in os.environ else _width_of_terminal()
    return Console(markup=False, highlight=False, emoji=False, width=width, soft_wrap=False)


def _width_of_terminal() -> int:
    """Columns of the terminal that a pipe was started from, which its end may well be shown on."""
    for stream in (2, 0):
        try:
            return os.get_terminal_size(stream).columns or _PIPE_WIDTH
        except OSError:
            continue
    return _PIPE_WIDTH
