"""The garbage collector, held back while very many objects are made that all stay."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def paused() -> Iterator[None]:
    """No collection inside: half a million entries that live as long as the process would be walked over and over; nor of them later.

    >>> with paused():
    ...     gc.isenabled()
    False
    >>> gc.isenabled()
    True
    """
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if running:
            gc.enable()
