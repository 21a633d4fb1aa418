"""What the documents say is what the program does: commands run, samples are real, every verb and field is named."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from tests.command import run
from tests.house_rules import samples
from tracer.cli.main import VERBS, application
from tracer.lots.fields import Part
from tracer.lots.form import DraftedForm, ExpectForm, ScenarioForm
from tracer.lots.sheet import blank_sheet, reference_page

ROOT = Path(__file__).resolve().parents[2]
README = "\n".join(path.read_text(encoding="utf-8") for path in samples.DOCUMENTS)
CONTRIBUTING = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands() -> list[str]:
    """Every line of a code block of the README that runs tracer, without its remark."""
    lines = re.findall(r"^    (tracer [^\n]+)$", README, re.MULTILINE)
    return [re.sub(r"\s{2,}#.*$", "", line).strip() for line in lines]


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """A folder with the files that the README speaks of, and a casebook with eleven cases."""
    folder = tmp_path_factory.mktemp("readme")
    return folder, samples.prepare_desk(folder)


@pytest.mark.slow
def test_every_command_of_the_readme_runs(desk):
    folder, surroundings = desk
    told = commands()
    assert len(told) >= 18
    for command in told:
        words = shlex.split(command)[1:]
        if words[0] == "page":
            continue  # it serves until it is stopped: tests/page
        done = run(*words, cwd=folder, stdin="", **surroundings)
        assert done.returncode == 0, f"{command}\n{done.stderr}"
        assert "Traceback" not in done.stderr
        if words[:2] == ["panel", "set"]:
            samples.answer(folder)


def named() -> set[str]:
    """Verbs with their sub-verbs."""
    found = set()
    for name in VERBS:
        group = typer.main.get_command(application(name))
        verb = group.commands[name]  # type: ignore[attr-defined]
        found.add(name)
        found |= {f"{name} {sub}" for sub in getattr(verb, "commands", {})}
    return found


def test_every_verb_is_in_the_readme():
    missing = [
        verb for verb in named() if f"tracer {verb}" not in README and f"`{verb.split()[-1]}`" not in README
    ]
    also = re.search(r"# also: ([^\n]*)", README)
    missing = [verb for verb in missing if verb.split()[-1] not in (also[1] if also else "")]
    assert not missing


def test_every_field_of_a_lot_sheet_is_on_the_blank_one_and_on_the_reference_page(base):
    blank, page = blank_sheet(base.stages, base.records), reference_page()
    for form in Part.__subclasses__():
        for name, info in form.model_fields.items():
            field = info.alias or name
            assert re.search(rf"\b{field}\b", page), (form.__name__, field)
            if form not in (ScenarioForm, ExpectForm, DraftedForm) and field not in ("scenario", "drafted"):
                assert re.search(rf"\b{field}\b", blank), (form.__name__, field)


@pytest.mark.parametrize("start", samples.SAMPLES)
def test_a_sample_of_output_is_what_the_command_prints(start, desk):
    lines = samples.printed(start, *desk)
    told = [one for one in samples.blocks(README) if any(re.match(start, line) for line in one)]
    assert told
    for block in told:
        assert samples.missing(block, lines) is None


def test_files_and_folders_that_the_documents_name_are_there():
    for text in (README, CONTRIBUTING):
        for name in re.findall(r"`((?:tracer|knowledge|tests|scenarios)/[\w./-]+)`", text):
            assert (ROOT / name).exists(), name


def test_ten_questions_of_a_newcomer_are_answered_by_the_tree():
    rows = re.findall(r"^\| ([^|]*\?) \| ([^|]*) \|", CONTRIBUTING, re.MULTILINE)
    assert len(rows) >= 10
    for question, answer in rows:
        named = re.findall(r"`((?:tracer|knowledge)/[\w./]+)`", answer)
        assert named, question
        assert all((ROOT / name).is_file() for name in named), question


def test_modules_that_the_table_of_the_path_names_are_there():
    for row in re.findall(r"^\|[^|?]*\| (`tracer/[^|]*) \|", CONTRIBUTING, re.MULTILINE):
        folder = None
        for name in re.findall(r"`([\w./]+)`", row):
            target = ROOT / name if name.startswith("tracer") else folder / name if folder else ROOT / name
            folder = target if target.is_dir() else target.parent
            assert target.exists(), name


def test_the_readme_is_short_and_opens_with_the_job():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert len(readme.split()) <= 1500
    assert readme.split("\n\n")[1].startswith("A defect-tracing tool for coffee.")


@pytest.mark.slow
def test_the_set_up_line_of_the_readme_is_that_of_ci():
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8") if (ROOT / ".ci" / "run").exists() else ""
    if not ci:
        pytest.skip("no CI file in this copy")
    assert "pip install" in README
    assert "-e '.[test,peers]'" in README
    assert "-e '.[test,peers]'" in ci


def test_changes_for_users_are_noted_for_this_version(base):
    assert f"## {base.settings.version}" in (ROOT / "knowledge" / "CHANGES.md").read_text(encoding="utf-8")


def test_python_holds_no_off_note_and_no_limit_of_the_trade(base):
    """Ids of off-notes, faults and compounds stand in the knowledge, never in the program."""
    names = {*base.descriptors, *base.faults} - {"dusty", "dirty_unclean"}
    for path in (ROOT / "tracer").rglob("*.py"):
        text = re.sub(r'""".*?"""', "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        found = [name for name in names if re.search(rf"[\"']{name}[\"']", text)]
        assert not found, (path, found)


def test_no_module_is_left_that_nothing_imports():
    modules = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in (ROOT / "tracer").rglob("*.py")
    }
    sources = "\n".join(
        path.read_text(encoding="utf-8")
        for path in (*(ROOT / "tracer").rglob("*.py"), *(ROOT / "tests").rglob("*.py"))
    )
    alone = {"tracer.__main__", "tracer.knowledge.docs", "tracer.knowledge.texts", "tracer.lots.docs"}
    for module in modules - alone:
        parent, _, name = module.rpartition(".")
        used = re.search(
            rf"(from|import) {re.escape(module)}\b|from {re.escape(parent)} import [^\n]*\b{name}\b|{parent}\.\{{module\}}",
            sources,
        )
        listed = re.search(rf"from {re.escape(parent)} import \([^)]*\b{name}\b", sources)
        assert used or listed or module == "tracer", module


def test_the_command_line_is_the_same_by_module_and_by_script():
    done = subprocess.run(
        [sys.executable, "-m", "tracer", "--help"],
        capture_output=True,
        text=True,
        env={**os.environ, "COLUMNS": "100"},
    )
    for verb in VERBS:
        assert re.search(rf"^  {verb}\b", done.stdout, re.MULTILINE)
