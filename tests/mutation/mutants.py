"""Mutants of a module: one small change at a time, each a mistake that somebody could make."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

_TURNED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.Gt),
    ast.LtE: (ast.Lt, ast.GtE),
    ast.Gt: (ast.GtE, ast.Lt),
    ast.GtE: (ast.Gt, ast.LtE),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
}
_OTHER: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
_OPPOSITE = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "minimum": "maximum",
    "maximum": "minimum",
}
_NOT_CHANGED = {"annotation", "returns", "decorator_list", "type_params", "type_comment"}


@dataclass(frozen=True)
class Mutant:
    """One change: where it is, what stood there and what stands there now."""

    path: Path
    line: int
    function: str
    """Outermost function or method that holds it; empty for a constant of the module."""
    was: str
    became: str
    code: CodeType
    """The whole module with the change."""

    @property
    def change(self) -> str:
        """As the list of equivalent mutants names it."""
        return f"{self.was} -> {self.became}"


@dataclass(frozen=True)
class _Spot:
    """A node, and where it hangs."""

    parent: ast.AST
    field: str
    index: int | None
    node: ast.AST

    def put(self, node: ast.AST) -> None:
        if self.index is None:
            setattr(self.parent, self.field, node)
        else:
            getattr(self.parent, self.field)[self.index] = node


def mutants(path: Path) -> Iterator[Mutant]:
    """Every mutant of a module, from its first line to its last."""
    tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
    for function, root in _held(tree):
        for spot in _spots(root):
            for changed in _changes(spot):
                shown = spot.parent if isinstance(spot.node, ast.Constant) else spot.node
                was = _line(shown)
                spot.put(ast.fix_missing_locations(ast.copy_location(changed, spot.node)))
                became = _line(spot.parent if isinstance(spot.node, ast.Constant) else changed)
                code = compile(tree, str(path), "exec")
                spot.put(spot.node)
                line = getattr(spot.node, "lineno", getattr(spot.parent, "lineno", 0))
                yield Mutant(path, line, function, was, became, code)


def _held(tree: ast.Module) -> Iterator[tuple[str, ast.AST]]:
    for statement in tree.body:
        if isinstance(statement, ast.FunctionDef):
            yield statement.name, statement
        elif isinstance(statement, ast.ClassDef):
            for inner in statement.body:
                if isinstance(inner, ast.FunctionDef):
                    yield f"{statement.name}.{inner.name}", inner
        elif isinstance(statement, ast.Assign) and _is_number(statement.value):
            yield "", statement


def _is_number(value: ast.expr) -> bool:
    """A constant or a sum or product of some; a choice of types is none."""
    return isinstance(value, ast.Constant) or (
        isinstance(value, ast.BinOp) and not isinstance(value.op, ast.BitOr)
    )


def _spots(node: ast.AST) -> Iterator[_Spot]:
    if isinstance(node, (ast.Assert, ast.JoinedStr)) or (_is_call(node, "say") and _words_alone(node)):
        return
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return  # of zip: what is of one length stays so
    for name, value in ast.iter_fields(node):
        if name in _NOT_CHANGED or (name == "args" and isinstance(node, ast.FunctionDef)):
            continue
        children = value if isinstance(value, list) else [value]
        for index, child in enumerate(children):
            if isinstance(child, ast.AST):
                yield _Spot(node, name, index if isinstance(value, list) else None, child)
                yield from _spots(child)


def _changes(spot: _Spot) -> Iterator[ast.AST]:
    node = spot.node
    match node:
        case ast.Compare(left, ops, comparators):
            for place, op in enumerate(ops):
                for other in _TURNED[type(op)]:
                    yield ast.Compare(left, [*ops[:place], other(), *ops[place + 1 :]], comparators)
        case ast.BinOp(left, op, right) if type(op) in _OTHER and not _text(left) and not _text(right):
            yield ast.BinOp(left, _OTHER[type(op)](), right)
            if isinstance(op, (ast.Mult, ast.Div)):
                yield left
            if isinstance(op, ast.Mult):
                yield right
        case ast.AugAssign(target, op, value) if type(op) in _OTHER:
            yield ast.AugAssign(target, _OTHER[type(op)](), value)
        case ast.BoolOp(op, values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
            for place in range(len(values)):
                rest = [*values[:place], *values[place + 1 :]]
                yield rest[0] if len(rest) == 1 else ast.BoolOp(op, rest)
        case ast.UnaryOp(ast.Not() | ast.USub(), operand) if not isinstance(operand, ast.Constant):
            yield operand
        case ast.IfExp(_, body, other):
            yield body
            yield other
        case ast.Constant(bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(int() | float() as value):
            yield ast.Constant(value + 1)
            yield ast.Constant(value - 1)
        case ast.Call(func, args, keywords):
            yield from _calls(func, args, keywords)
        case ast.Return(value) if value is not None and not _is_none(value):
            yield ast.Return(ast.Constant(None))
        case ast.Continue() | ast.Break() | ast.Expr(ast.Call()):
            yield ast.Pass()
        case ast.comprehension(target, items, ifs, is_async) if ifs:
            for place in range(len(ifs)):
                yield ast.comprehension(target, items, [*ifs[:place], *ifs[place + 1 :]], is_async)


def _calls(func: ast.expr, args: list[ast.expr], keywords: list[ast.keyword]) -> Iterator[ast.AST]:
    name = func.id if isinstance(func, ast.Name) else func.attr if isinstance(func, ast.Attribute) else ""
    if name in _OPPOSITE:
        other = _OPPOSITE[name]
        changed = (
            ast.Name(other, ast.Load())
            if isinstance(func, ast.Name)
            else ast.Attribute(func.value, other, ast.Load())  # type: ignore[attr-defined]
        )
        yield ast.Call(changed, args, keywords)
    if name not in ("say", "zip"):
        for place in range(len(keywords)):
            yield ast.Call(func, args, [*keywords[:place], *keywords[place + 1 :]])


def _words_alone(node: ast.AST) -> bool:
    return not node.keywords  # type: ignore[attr-defined]


def _is_call(node: ast.AST, name: str) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name


def _is_none(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _line(node: ast.AST) -> str:
    if isinstance(node, ast.Pass):
        return "pass"
    return " ".join(ast.unparse(node).split())
