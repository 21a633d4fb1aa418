"""Runs the nearest tests against a mutant, in a process of its own; no file is changed.

The knowledge is loaded once. Each mutant is a fork in which the code of one function, or one constant, is put in place of
the program's own; what the program remembers of earlier calls is forgotten first.
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import pytest

from tests.mutation.mutants import Mutant

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 4
"""A run that computes so many times longer than the tests of the program as it is, and LEAST seconds more, is endless: killed."""
LEAST = 10


class Runner:
    """Knows the knowledge, and how long the tests of a module take."""

    def __init__(self) -> None:
        loading, self._tracing = import_module("tracer.knowledge.load"), import_module("tracer.tracing")
        for name in ("hypothesis", "scipy.stats", "scipy.integrate", "scipy.special", "pandas"):
            import_module(name)
        load, self._prepare = loading.load_or_fail, self._tracing.prepare
        self._base = import_module("tracer.knowledge.cache").load_cached()
        self._ready: Any = None
        self._longest = 0

        def loaded(*args: Any, **keywords: Any) -> Any:
            return load(*args, **keywords) if args or keywords else self._base

        loading.load_or_fail = loaded

    def warm(self, files: Sequence[str], fresh: bool) -> None:
        """Work out once what every trace needs, where some test asks for it; `fresh` leaves that to every run."""
        traced = any("ready" in (ROOT / file).read_text(encoding="utf-8") for file in files)
        if self._ready is None and traced and not fresh:
            self._ready = self._prepare(self._base)

        def prepared(of: Any, *args: Any, **keywords: Any) -> Any:
            plain = of is self._base and not (args or keywords or fresh) and self._ready is not None
            return self._ready if plain else self._prepare(of, *args, **keywords)

        self._tracing.prepare = prepared

    def passes(self, module: str, files: Sequence[str]) -> bool:
        """True where the tests of a module pass as it is; sets the patience for its mutants."""
        code, spent = _run(None, module, files, 0)
        self._longest = int(PATIENCE * spent) + LEAST
        return code == 0

    def survives(self, mutant: Mutant, module: str, files: Sequence[str]) -> bool:
        """True where no test notices a mutant."""
        code, _ = _run(mutant, module, files, self._longest)
        return code == 0


def _run(mutant: Mutant | None, module: str, files: Sequence[str], longest: int) -> tuple[int, float]:
    """Exit code of the tests, and the seconds they computed."""
    child = os.fork()
    if child == 0:
        code = 3
        try:
            if longest:
                resource.setrlimit(resource.RLIMIT_CPU, (longest, longest))
            code = _child(mutant, module, files)
        finally:
            os._exit(code)
    _, status, used = os.wait4(child, 0)
    return os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime


def _child(mutant: Mutant | None, module: str, files: Sequence[str]) -> int:
    quiet = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        if mutant is not None:
            os.dup2(quiet, stream)
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = tempfile.gettempdir() + "/hypothesis_of_mutants"
    os.chdir(ROOT)
    own = import_module(module)
    if mutant is not None:
        _forget()
        _put(own, mutant)
    plain = ["-o", "addopts=", "-p", "no:xdist", "-p", "no:cacheprovider", "-q", "-x", "-m", "not slow"]
    return int(pytest.main([*plain, "--doctest-modules", str(own.__file__), *files]))


def _forget() -> None:
    for name, module in list(sys.modules.items()):
        if name.startswith("tracer"):
            for held in vars(module).values():
                clear = getattr(held, "cache_clear", None)
                if callable(clear):
                    clear()


def _put(module: ModuleType, mutant: Mutant) -> None:
    if mutant.function:
        _function(module, mutant.function).__code__ = _code(mutant.code, mutant.function)
        return
    before = dict(vars(module))
    made: dict[str, Any] = {"__name__": module.__name__, "__file__": module.__file__}
    exec(mutant.code, made)
    for name, value in made.items():
        if isinstance(value, (int, float)) and name.isupper() | name.startswith("_"):
            for other in list(sys.modules.values()):
                if getattr(other, "__name__", "").startswith("tracer") and vars(other).get(
                    name
                ) is before.get(name):
                    setattr(other, name, value)


def _function(module: ModuleType, name: str) -> FunctionType:
    held: Any = module
    for part in name.split("."):
        held = vars(held)[part]
    while not isinstance(held, FunctionType):
        held = held.fget if isinstance(held, property) else _inside(held)
    while hasattr(held, "__wrapped__"):
        held = held.__wrapped__
    return held


def _inside(held: Any) -> Any:
    for name in ("__wrapped__", "__func__", "func"):
        if hasattr(held, name):
            return getattr(held, name)
    raise TypeError(f"no function is held by {held!r}")


def _code(whole: CodeType, name: str) -> CodeType:
    for inner in whole.co_consts:
        if isinstance(inner, CodeType):
            if inner.co_qualname == name:
                return inner
            if name.startswith(inner.co_qualname + "."):
                return _code(inner, name)
    raise LookupError(name)
