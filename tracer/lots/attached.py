"""Files that a lot sheet names, logs and tables beside it; and the shipped example lots."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tracer.issues import InputError
from tracer.knowledge.shipped import scenarios_folder
from tracer.knowledge.yamlfile import read_yaml
from tracer.names import did_you_mean, printable
from tracer.wording.sentence import say

_FILES = ("file", "table")
"""Fields of a sheet that name a file beside it."""


def beside(path: Path) -> dict[str, bytes]:
    """The files a sheet names, to be kept with a case; only those in the sheet's folder or below it."""
    return files_of(read_yaml(path).data, path.parent)


def files_of(data: Any, folder: Path) -> dict[str, bytes]:
    """The files that a sheet as data names, of those in the folder or below it."""
    found = {}
    for name in sorted(set(_named(data))):
        target = folder / name
        if not Path(name).is_absolute() and ".." not in Path(name).parts and target.is_file():
            found[name] = target.read_bytes()
    return found


def _named(data: Any) -> Iterator[str]:
    if isinstance(data, dict):
        for key, value in data.items():
            if key in _FILES and not isinstance(value, (dict, list)):
                yield str(value)
            else:
                yield from _named(value)
    elif isinstance(data, list):
        for one in data:
            yield from _named(one)


def examples() -> list[str]:
    """Names of the shipped example lots."""
    return sorted(path.stem for path in scenarios_folder().glob("*.yaml"))


def example_path(name: str) -> Path:
    """File of a shipped example lot, or of a golden one."""
    folder = scenarios_folder()
    for path in (folder / f"{name}.yaml", folder / "golden" / f"{name}.yaml"):
        if path.name == f"{name}.yaml" and path.is_file() and path.resolve().is_relative_to(folder.resolve()):
            return path
    remedy = did_you_mean(name, examples(), say("See the names with: tracer trace --examples"))
    raise InputError.of(printable(name), say("there is no example of this name"), remedy)
