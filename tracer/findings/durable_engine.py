"""The rules on durable_rules: the one module that knows it.

What it needs to be safe with this library (durable_rules 2.0.28; each point was measured):
one host a process and a fresh session a lot, deleted after; the library's own timer threads switched
off; small facts of one attribute with explicit ids; no negation and no comparison between two facts;
numbers rounded and without exponents; errors in a consequent, which the library swallows, collected
and raised; a catch-all rule, because a fact no rule mentions is refused; definitions tested one by one,
because an error there names no rule.
"""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable, Sequence
from typing import Any

from durable.engine import Host

from tracer.findings.dialect import Compiled, Test
from tracer.findings.fact import Fact
from tracer.findings.finding import Firing

MAXIMUM_LITERALS = 500
"""The library hangs at 512 distinct texts on one attribute."""
SMALLEST, LARGEST = 1e-4, 1e15
_OPERATORS = {"above": "$gt", "at_least": "$gte", "below": "$lt", "at_most": "$lte"}


class RuleEngineError(RuntimeError):
    """A rule the engine cannot take, or an error inside it; names the rule."""


class _QuietHost(Host):  # type: ignore[misc]
    def _run(self) -> None:
        """No timer threads: everything runs in the caller."""


class DurableEngine:
    """Rules compiled once; `fire` may be called from any thread."""

    def __init__(self, rules: Sequence[Compiled]) -> None:
        self._rules = {rule.id: rule for rule in rules}
        self._lock = threading.RLock()
        self._fired: set[Firing] = set()
        self._errors: list[str] = []
        self._names = {test.name for rule in rules for tests in rule.alternatives for test in tests}
        _check_limits(rules)
        self._name = f"lot_{uuid.uuid4().hex}"
        self._host = _QuietHost()
        try:
            self._host.set_rulesets({self._name: self._definitions(rules)})
        except Exception as error:
            for rule in rules:
                self._try_alone(rule)
            raise RuleEngineError(f"the rules cannot be compiled together: {error}") from error

    def fire(self, facts: Sequence[Fact]) -> tuple[Firing, ...]:
        """Every rule that fires on these facts, sorted; the same answer as the plain matcher."""
        with self._lock:
            self._fired, self._errors = set(), []
            session = uuid.uuid4().hex
            try:
                for fact in sorted(facts):
                    if fact.name in self._names:
                        self._host.assert_fact(self._name, _record(fact, session))
                if self._fired or any(fact.name in self._names for fact in facts):
                    state = self._host.get_state(self._name, session)
                    if state and state.get("exception"):
                        self._errors.append(str(state["exception"]))
            finally:
                self._forget(session)
            if self._errors:
                raise RuleEngineError(self._errors[0])
            return tuple(sorted(self._fired))

    def _forget(self, session: str) -> None:
        try:
            self._host.delete_state(self._name, session)
        except Exception:
            # The library refuses to delete a session that holds no fact; there is nothing to delete then.
            return

    def _try_alone(self, rule: Compiled) -> None:
        try:
            _QuietHost().set_rulesets({f"try_{uuid.uuid4().hex}": self._definitions([rule])})
        except Exception as error:
            raise RuleEngineError(f"the rule '{rule.id}' cannot be compiled: {error}") from error

    def _definitions(self, rules: Sequence[Compiled]) -> dict[str, Any]:
        definitions: dict[str, Any] = {}
        for rule in rules:
            for index, tests in enumerate(rule.alternatives):
                by_name: dict[str, list[Test]] = {}
                for test in tests:
                    by_name.setdefault(test.name, []).append(test)
                conditions = [{f"f{position}": _condition(name, group)} for position, (name, group) in enumerate(by_name.items())]
                definitions[f"{rule.id}_{index}"] = {"all": conditions, "run": self._consequent(rule, tuple(sorted(by_name)))}
        definitions["zz_catch_all"] = {"all": [{"m": {"$ex": {"name": 1}}}], "pri": 1000, "run": _nothing}
        return definitions

    def _consequent(self, rule: Compiled, names: tuple[str, ...]) -> Callable[[Any], None]:
        def run(context: Any) -> None:
            try:
                self._fired.add(Firing(rule.id, names))
                for name in rule.concludes:
                    if name in self._names and name not in self._said(context):
                        context.assert_fact({"id": f"F:{name}", "name": name, "t": "yes_no", "s": "yes"})
            except Exception as error:
                self._errors.append(f"rule '{rule.id}': {error}")

        return run

    def _said(self, context: Any) -> set[str]:
        concluded = {name for firing in self._fired for name in self._rules[firing.rule].concludes}
        before = getattr(context.s, "said", None) or ""
        said = set(before.split("\n"))
        context.s.said = "\n".join(sorted(said | concluded))
        return said


def _nothing(context: Any) -> None:
    del context


def _record(fact: Fact, session: str) -> dict[str, Any]:
    record: dict[str, Any] = {"sid": session, "id": f"U:{fact.name}", "name": fact.name, "t": fact.kind}
    if fact.kind == "number":
        record["v"] = _number(float(fact.value))
    else:
        record["s"] = str(fact.value)
    return record


def _number(value: float) -> float:
    value = round(value, 6)
    if value != 0 and not SMALLEST <= abs(value) < LARGEST:
        return 0.0 if abs(value) < SMALLEST else (LARGEST - 1 if value > 0 else 1 - LARGEST)
    return value


def _condition(name: str, tests: Sequence[Test]) -> dict[str, Any]:
    parts: list[dict[str, Any]] = [{"name": name}]
    for test in tests:
        if test.operator == "holds":
            parts.append({"s": "yes"})
        elif test.operator in _OPERATORS:
            parts += [{"t": "number"}, {_OPERATORS[test.operator]: {"v": _number(float(test.values[0]))}}]
        else:
            choices = [{"s": value} if isinstance(value, str) else {"v": _number(value)} for value in test.values]
            parts.append(choices[0] if len(choices) == 1 else {"$or": choices})
    return {"$and": parts}


def _check_limits(rules: Sequence[Compiled]) -> None:
    texts = {v for rule in rules for tests in rule.alternatives for test in tests for v in test.values if isinstance(v, str)}
    names = {test.name for rule in rules for tests in rule.alternatives for test in tests}
    for what, values in (("texts in tests", texts), ("records in tests", names)):
        if len(values) > MAXIMUM_LITERALS:
            raise RuleEngineError(f"{len(values)} {what}: the rule engine takes {MAXIMUM_LITERALS}; use TRACER_RULE_ENGINE=plain")
