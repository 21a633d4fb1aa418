"""A file that appears whole or not at all, and leaves nothing behind even if the process that writes it is killed."""

from __future__ import annotations

import os
import secrets
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_ENDING = ".part"


@contextmanager
def appearing(target: Path, mode: int = 0o666) -> Iterator[Path]:
    """A file beside the target to write into; it takes the target's place once the block has ended well.

    What writers that were killed left of the same target is taken away. Raises OSError where the folder cannot be written.
    """
    _sweep(target)
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}{_ENDING}")
    handle = os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, mode)
    try:
        _held(handle)
        yield part
        os.replace(part, target)
    finally:
        os.close(handle)
        part.unlink(missing_ok=True)


def _sweep(target: Path) -> None:
    for left in target.parent.iterdir():
        if left.name.startswith(f".{target.name}.") and left.name.endswith(_ENDING):
            try:
                handle = os.open(left, os.O_RDWR)
                try:
                    if _held(handle):
                        for beside in ("", "-journal", "-wal", "-shm"):  # of a casebook being copied
                            left.with_name(left.name + beside).unlink(missing_ok=True)
                finally:
                    os.close(handle)
            except OSError:
                continue  # somebody else's, or being written


def _held(handle: int) -> bool:
    """Hold a file as long as this process lives; False while another holds it."""
    if sys.platform == "win32":
        return True  # a file that is open cannot be taken away there
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
