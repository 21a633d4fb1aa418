"""Runs the nearest tests against each mutant, in a process of its own; no file is changed.

The knowledge is loaded and the tests are collected once. Each mutant is a fork in which the code of one function, or one constant,
is put in place of the program's own; what the program remembers of earlier calls is forgotten first.
"""

from __future__ import annotations

import gc
import os
import resource
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from importlib import import_module
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import pytest
from _pytest.main import pytest_runtestloop

from tests.mutation.mutants import Mutant

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 4
"""A run that computes so many times longer than the tests of the program as it is, and LEAST seconds more, is endless: killed."""
LEAST = 10
NOT_MADE = 70
"""Exit code where a mutant could not be put in place, or the tests not be run."""
_PLAIN = ["-o", "addopts=", "-p", "no:xdist", "-p", "no:cacheprovider", "-p", "no:terminal", "-s", "-x"]


class Runner:
    """Knows the knowledge, and runs the tests of one module after the other."""

    def __init__(self) -> None:
        loading, self._tracing = import_module("tracer.knowledge.load"), import_module("tracer.tracing")
        load, self._prepare = loading.load_or_fail, self._tracing.prepare
        self._base = import_module("tracer.knowledge.cache").load_cached()
        self._ready: Any = None
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = tempfile.gettempdir() + "/hypothesis_of_mutants"

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

    def run(
        self,
        module: str,
        files: Sequence[str],
        mutants: Iterable[Mutant],
        told: Callable[[Mutant, bool], None],
    ) -> bool:
        """Tell of every mutant whether it survives the tests; False where they fail, or are none, without any mutant, or a run went wrong."""
        loop = _Loop(module, mutants, told)
        own = str(import_module(module).__file__)
        os.chdir(ROOT)
        pytest.main([*_PLAIN, "-m", "not slow", "--doctest-modules", own, *files], plugins=[loop])
        return loop.sound


class _Loop:
    """In place of running the tests collected: running them for each mutant."""

    def __init__(self, module: str, mutants: Iterable[Mutant], told: Callable[[Mutant, bool], None]) -> None:
        self.module, self.mutants, self.told, self.sound = module, mutants, told, False

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        if session.testsfailed or not session.items:
            return True
        gc.collect()
        gc.freeze()
        passed, spent = self._run(session, None, 0)
        if passed:
            longest = int(PATIENCE * spent) + LEAST
            for mutant in self.mutants:
                self.told(mutant, self._run(session, mutant, longest)[0])
        self.sound = passed  # last: a run that went wrong is not sound
        return True

    def _run(self, session: pytest.Session, mutant: Mutant | None, longest: int) -> tuple[bool, float]:
        """Whether all tests pass, and the seconds they computed."""
        child = os.fork()
        if child == 0:
            code = NOT_MADE
            try:
                code = self._child(session, mutant, longest)
            finally:
                os._exit(code)
        _, status, used = os.wait4(child, 0)
        if os.WIFEXITED(status) and os.WEXITSTATUS(status) == NOT_MADE:
            raise RuntimeError(
                f"a run of {self.module} went wrong: {mutant.change if mutant else 'no mutant'}"
            )
        return status == 0, used.ru_utime + used.ru_stime

    def _child(self, session: pytest.Session, mutant: Mutant | None, longest: int) -> int:
        quiet = os.open(os.devnull, os.O_WRONLY)
        for stream in (1, 2):
            os.dup2(quiet, stream)
        if mutant is not None:
            resource.setrlimit(resource.RLIMIT_CPU, (longest, longest))
            _forget()
            _put(import_module(self.module), mutant)
        try:
            pytest_runtestloop(session)
        except session.Failed:
            return 1
        return int(session.testsfailed > 0)


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
        if isinstance(value, FunctionType) and isinstance(own := before.get(name), FunctionType):
            own.__defaults__ = _usual(own.__defaults__, value.__defaults__)
    for name, value in made.items():
        if isinstance(value, (int, float)) and name.isupper() | name.startswith("_"):
            for other in list(sys.modules.values()):
                if getattr(other, "__name__", "").startswith("tracer") and vars(other).get(
                    name
                ) is before.get(name):
                    setattr(other, name, value)


def _usual(before: tuple[Any, ...] | None, after: tuple[Any, ...] | None) -> tuple[Any, ...] | None:
    """The usual values of arguments, with the figures of the mutant among them."""
    if before is None or after is None:
        return before
    return tuple(
        new if isinstance(new, (int, float)) else old for old, new in zip(before, after, strict=True)
    )


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
