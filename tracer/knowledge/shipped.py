"""Where the shipped knowledge and scenarios lie: inside an installed package, or beside a checkout."""

from __future__ import annotations

from pathlib import Path

from tracer.issues import InputError

_PACKAGE = Path(__file__).resolve().parent.parent


def knowledge_folder() -> Path:
    """Folder of the shipped knowledge."""
    return _find("knowledge")


def scenarios_folder() -> Path:
    """Folder of the shipped example lots."""
    return _find("scenarios")


def _find(name: str) -> Path:
    for folder in (_PACKAGE / f"_{name}", _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise InputError.of(
        _PACKAGE, f"the shipped {name} folder is missing", "Install tracer again from its wheel or checkout."
    )
