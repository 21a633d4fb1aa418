"""How wide a screen is."""

from __future__ import annotations

import os
import sys

import pytest

from tracer.cli import screen


@pytest.mark.parametrize(("terminal", "wide"), [(87, 87), (None, 100)])
def test_a_pipe_is_as_wide_as_the_terminal_it_was_started_from(monkeypatch, terminal, wide):
    def size(stream):
        if terminal is None or stream != 2:
            raise OSError
        return os.terminal_size((terminal, 24))

    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.setattr(os, "get_terminal_size", size)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: False, raising=False)
    assert screen.console().width == wide
