"""The house: layers, style, types, sizes, documents."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tracer.knowledge.base import KINDS
from tracer.knowledge.docs import fields_text, schema_text
from tracer.knowledge.shipped import knowledge_folder

ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted((ROOT / "tracer").rglob("*.py"))


def tool(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True)


def test_imports_go_downward_only():
    pytest.importorskip("importlinter")
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        env={"PYTHONPATH": str(ROOT), "PATH": ""},
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_style_is_kept():
    pytest.importorskip("ruff")
    done = tool("ruff", "check", "tracer", "tests")
    assert done.returncode == 0, done.stdout


@pytest.mark.slow
def test_the_types_hold():
    pytest.importorskip("mypy")
    done = tool("mypy")
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_is_one_idea(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 335


def test_the_field_documents_are_fresh():
    folder = knowledge_folder()
    mend = "run: python -m tracer.knowledge.docs"
    assert (folder / "FIELDS.md").read_text(encoding="utf-8") == fields_text(), mend
    for kind in KINDS:
        assert (folder / "schema" / f"{kind}.json").read_text(encoding="utf-8") == schema_text(kind), mend


def test_knowledge_has_what_was_promised(base):
    assert len(base.stages) == 9
    assert len(base.descriptors) >= 55
    assert len(base.compounds) >= 45
    assert len(base.faults) >= 55
    assert len(base.rules) >= 80
    assert len(base.enquiries) >= 70
    assert {fault.stage for fault in base.faults.values()} == set(base.stages)
