"""Texts of the program that want a translation: `python -m tests.house_rules.wording` prints them as rows of tracer/wording/texts/."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import yaml

from tracer.wording.language import rows

PACKAGE = Path(__file__).parents[2] / "tracer"
_FIELD = re.compile(r"\{[^{}]*(?:\{[^{}]*\}[^{}]*)*\}")


def templates() -> Iterator[tuple[str, str]]:
    """Place and English text of all that is told: of `say`, `tell` and the fields of a sheet, and the help of the commands."""
    for path in sorted(PACKAGE.rglob("*.py")):
        if "wording" in path.parts:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            found: list[str] = []
            if isinstance(node, ast.Call):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                if name in ("say", "tell", "asked", "asked_many") and node.args:
                    found = _constants(node.args[0])
                elif name in ("Option", "Argument"):
                    found = [
                        text for one in node.keywords if one.arg == "help" for text in _constants(one.value)
                    ]
            elif isinstance(node, ast.ClassDef) and "Part" in [getattr(one, "id", "") for one in node.bases]:
                found = [" ".join((ast.get_docstring(node) or "").split())]
            elif isinstance(node, ast.FunctionDef) and path.parent.name == "cli" and _is_command(node):
                found = [inspect.cleandoc(ast.get_docstring(node) or "").replace("\n", " ")]
            for text in found:
                if re.search(r"[A-Za-z]{2}", _FIELD.sub("", text)):
                    yield f"{path.relative_to(PACKAGE.parent)}:{node.lineno}", text.strip()


def _is_command(node: ast.FunctionDef) -> bool:
    from tracer.cli.main import VERBS

    named = {target.partition(":")[2] for target in VERBS.values()}
    return node.name in named or bool(node.decorator_list)


def _constants(node: ast.expr) -> list[str]:
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else []
    if isinstance(node, ast.IfExp):
        return [*_constants(node.body), *_constants(node.orelse)]
    if isinstance(node, ast.BoolOp):
        return [text for one in node.values for text in _constants(one)]
    if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Dict):
        return [text for one in node.value.values for text in _constants(one)]
    return []


_PROBLEMS = ("problem", "_problem", "_failed", "_tell", "Issue", "QuantityError", "AmountError")
_FOR_CONTRIBUTORS = ("tracer/knowledge/", "tracer/findings/dialect.py")
"""What is wrong with the knowledge itself is told in English, as DEVELOPERS.md is."""


def unsaid_problems() -> list[str]:
    """Places where what is wrong with an input is plain text, which nobody can tell in another language."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        shown = str(path.relative_to(PACKAGE.parent))
        if shown.startswith(_FOR_CONTRIBUTORS) and path.name != "yamlfile.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                given = _told_of_a_problem(node)
                plain = any(isinstance(one, ast.JoinedStr) for one in given)
                plain |= any(" " in text.strip() for one in given for text in _constants(one))
                found += [f"{shown}:{node.lineno}"] if plain else []
    return found


def _told_of_a_problem(call: ast.Call) -> list[ast.expr]:
    """What a call that makes a problem is given; without the place, which `InputError.of` takes first."""
    given = [*call.args, *(one.value for one in call.keywords)]
    if isinstance(call.func, ast.Attribute) and call.func.attr == "of":
        return given[1:] if getattr(call.func.value, "id", "") == "InputError" else []
    return given if getattr(call.func, "id", getattr(call.func, "attr", "")) in _PROBLEMS else []


def missing() -> dict[str, str]:
    """English text without translation -> a place where it is told."""
    have = {row["en"] for row in rows()}
    return {text: place for place, text in templates() if text not in have}


if __name__ == "__main__":
    wanted = [{"en": text, "es": "", "pt": ""} for text in missing()]
    print(yaml.safe_dump(wanted, allow_unicode=True, sort_keys=False, width=110))
