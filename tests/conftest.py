"""The shipped knowledge, loaded once; no test touches a user's own cache or casebook."""

from __future__ import annotations

import gc

import pytest

from tracer.knowledge.load import load_or_fail
from tracer.tracing import prepare

# As the command does: hundreds of thousands of entries stay, and a walk over them finds nothing.
gc.set_threshold(100_000, 20, 20)


@pytest.fixture(scope="session")
def base():
    return load_or_fail()


@pytest.fixture(scope="session")
def ready(base):
    made = prepare(base)
    gc.freeze()
    return made


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory, monkeypatch):
    monkeypatch.setenv("TRACER_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.setenv("TRACER_CASEBOOK", str(tmp_path_factory.mktemp("book") / "casebook.sqlite"))
