"""An error of one problem is made in one way."""

from __future__ import annotations

import ast

import pytest

from tests.house_rules.test_house import MODULES, ROOT


def _of_one_issue_by_hand(node: ast.AST) -> bool:
    """`InputError([Issue(...)])`, over however many lines."""
    if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "InputError" and node.args):
        return False
    issues = node.args[0]
    if not (isinstance(issues, ast.List | ast.Tuple) and len(issues.elts) == 1):
        return False
    return isinstance(issues.elts[0], ast.Call) and getattr(issues.elts[0].func, "id", "") == "Issue"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_an_error_of_one_problem_is_made_by_its_constructor(path):
    if path == ROOT / "tracer" / "issues.py":
        return
    tree = ast.parse(path.read_text(encoding="utf-8"))
    by_hand = [node.lineno for node in ast.walk(tree) if _of_one_issue_by_hand(node)]
    assert by_hand == [], "write InputError.of(place, message, remedy)"


def test_the_check_sees_an_error_made_by_hand():
    tree = ast.parse("raise InputError(\n    [Issue(Place('x'), 'wrong', 'mend')]\n)")
    assert any(_of_one_issue_by_hand(node) for node in ast.walk(tree))
