"""Rules in a neutral form that both engines run: each a set of alternatives, each a list of tests.

`all` is one alternative with every test; `any` is one alternative a test.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from tracer.findings.fact import Fact
from tracer.knowledge.rule import Condition, Rule

Operator = Literal["is", "one_of", "above", "at_least", "below", "at_most", "holds"]
FINDING = "finding:"


@dataclass(frozen=True, slots=True)
class Test:
    """A test on the one fact called `name`."""

    name: str
    operator: Operator
    values: tuple[float | str, ...] = ()

    __test__ = False


@dataclass(frozen=True, slots=True)
class Compiled:
    """One rule, ready to be matched; `concludes` are names of findings it adds as facts."""

    id: str
    alternatives: tuple[tuple[Test, ...], ...]
    concludes: tuple[str, ...]


def compile_rules(rules: Iterable[Rule]) -> tuple[Compiled, ...]:
    """Every rule in the neutral form, sorted by id."""
    return tuple(sorted((_compile(rule) for rule in rules), key=lambda rule: rule.id))


def _compile(rule: Rule) -> Compiled:
    concludes = tuple(sorted({FINDING + c.concludes for c in rule.then if c.concludes}))
    if rule.when.all:
        tests = tuple(dict.fromkeys(test for condition in rule.when.all for test in _tests(condition)))
        return Compiled(rule.id, (tests,), concludes)
    alternatives = tuple(tuple(_tests(condition)) for condition in rule.when.any or ())
    return Compiled(rule.id, alternatives, concludes)


def _tests(condition: Condition) -> list[Test]:
    if condition.finding is not None:
        return [Test(FINDING + condition.finding, "holds")]
    name = condition.record or ""
    tests = []
    if condition.is_ is not None:
        tests.append(Test(name, "is", (plain(condition.is_),)))
    if condition.one_of is not None:
        tests.append(Test(name, "one_of", tuple(plain(value) for value in condition.one_of)))
    for operator in ("above", "at_least", "below", "at_most"):
        limit = getattr(condition, operator)
        if limit is not None:
            tests.append(Test(name, operator, (float(limit),)))
    return tests


def plain(value: bool | int | float | str) -> float | str:
    """A value of a rule as facts hold it: true and false as yes and no, numbers as they are."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return float(value) if isinstance(value, (int, float)) else value


def meets(fact: Fact, test: Test) -> bool:
    """Whether a fact meets a test; a number is never compared with text."""
    if test.operator == "holds":
        return True
    if fact.kind == "number":
        number = round(float(fact.value), 6)
        if test.operator in ("is", "one_of"):
            return any(isinstance(value, float) and number == round(value, 6) for value in test.values)
        limit = round(float(test.values[0]), 6)
        return {
            "above": number > limit,
            "at_least": number >= limit,
            "below": number < limit,
            "at_most": number <= limit,
        }[test.operator]
    return test.operator in ("is", "one_of") and any(fact.value == value for value in test.values)
