"""Rules on the durable_rules engine. The only module that knows it.

What the engine (2.0.28) needs to be trusted, and how it is kept here: one host a process, without its
background threads; one session a lot, deleted after it; one small record a fact, under its own id; no
negation and no test between two facts; `any` unfolded into one definition for each alternative; a
catch-all rule, for a fact no rule takes is refused; and, because it swallows what goes wrong inside a
consequent, every error is collected and raised, and the facts kept are counted again at the end.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Any
from zlib import crc32

from tracer.findings.dialect import Clause, Compiled, Problem, Value, finding
from tracer.findings.plain import Key, Matches
from tracer.issues import InputError

MOST_LITERALS = 500
"""From 512 different values under one node the engine hangs without a word (measured)."""
MOST_RANGES = 59
"""With many more ranges met by one fact it refuses the fact (measured)."""
MOST_ALIKE = 250
"""With many more rules that share one and the same condition it errs (measured)."""
SHELVES = 32
"""Records are spread over so many shelves, so that those of one hang under a node of their own."""
KEPT = 8
"""Rule sets kept compiled; one is usual, a few with house overlays."""


class EngineError(RuntimeError):
    """The engine did something else than it was asked to."""


@dataclass
class _Lot:
    """What the consequents of one session collect."""

    fired: dict[str, set[Key]] = field(default_factory=dict)
    concluded: set[str] = field(default_factory=set)
    errors: list[Exception] = field(default_factory=list)


_lock = threading.RLock()
_numbers = itertools.count(1)
_lots: dict[str, _Lot] = {}
_compiled: dict[tuple[Compiled, ...], str] = {}


@cache
def _host() -> Any:
    from durable.engine import Host

    class QuietHost(Host):  # type: ignore[misc]
        """Without the two timers, whose threads would run consequents after the call has returned."""

        def _run(self) -> None:
            return

    return QuietHost()


def match(rules: tuple[Compiled, ...], facts: Iterable[tuple[int, str, Value]]) -> Matches:
    """Fire rules on facts; the same answer as the plain matcher gives."""
    with _lock:
        host, ruleset, sid, lot = _host(), _ruleset(rules), f"lot{next(_numbers)}", _Lot()
        _lots[sid] = lot
        sent = kept = 0
        try:
            for index, name, value in facts:
                sent += 1
                _assert(host, ruleset, sid, _record(index, name, value))
                kept += 1
            if sent:
                _raise_errors(host, ruleset, sid, lot, kept)
        finally:
            del _lots[sid]
            if sent:
                host.delete_state(ruleset, sid)
        return {rule: frozenset(keys) for rule, keys in sorted(lot.fired.items())}


def _assert(host: Any, ruleset: str, sid: str, fact: dict[str, Value]) -> None:
    try:
        host.assert_fact(ruleset, {"sid": sid, **fact})
    except Exception as error:
        raise EngineError(
            f"the rule engine refuses {fact['attr']}: {getattr(error, 'message', error)}"
        ) from error


def _record(key: Key, name: str, value: Value) -> dict[str, Value]:
    # Numbers and words go under different names: the engine would compare 'abc' > 12 as text.
    word = isinstance(value, str)
    identity = f"fact:{key}" if isinstance(key, int) else f"finding:{key}"
    return {
        "id": identity,
        "key": key,
        "kind": "word" if word else "number",
        "shelf": _shelf(name),
        "attr": name,
        "s" if word else "v": value,
    }


def _shelf(name: str) -> str:
    return f"shelf {crc32(name.encode()) % SHELVES}"


def _raise_errors(host: Any, ruleset: str, sid: str, lot: _Lot, asserted: int) -> None:
    if lot.errors:
        raise EngineError("the rule engine failed on this lot") from lot.errors[0]
    swallowed = host.get_state(ruleset, sid).get("exception")
    if swallowed:
        raise EngineError(f"the rule engine failed on this lot: {swallowed}")
    kept = len(host.get_facts(ruleset, sid))
    if kept != asserted + len(lot.concluded):
        raise EngineError(f"the rule engine kept {kept} facts of {asserted + len(lot.concluded)}")


def _consequent(rule: Compiled, aliases: tuple[str, ...]) -> Callable[[Any], None]:
    # The engine calls it with one argument and takes a second parameter, even a default, for a callback.
    def fire(context: Any) -> None:
        lot = _lots[context.s.sid]
        try:
            lot.fired.setdefault(rule.id, set()).update(getattr(context, alias).key for alias in aliases)
            for name in rule.concludes:
                if name not in lot.concluded:
                    lot.concluded.add(name)
                    context.assert_fact(_record(name, finding(name), "yes"))
        except Exception as error:
            lot.errors.append(error)

    return fire


def _ruleset(rules: tuple[Compiled, ...]) -> str:
    """Name of the compiled rule set, compiling it the first time."""
    name = _compiled.pop(rules, None) or _compile(rules)
    _compiled[rules] = name
    while len(_compiled) > KEPT:
        _drop(_compiled.pop(next(iter(_compiled))))
    return name


def _compile(rules: tuple[Compiled, ...]) -> str:
    problems = list(limits(rules))
    if problems:
        raise InputError(problem.issue() for problem in problems)
    name = f"rules{next(_numbers)}"
    try:
        _host().set_rulesets({name: _definitions(rules)})
    except Exception as error:
        problems = list(refused(rules))
        if problems:
            raise InputError(problem.issue() for problem in problems) from error
        raise EngineError(f"the rule engine takes each rule alone, but not all together: {error}") from error
    return name


def refused(rules: tuple[Compiled, ...]) -> Iterator[Problem]:
    """The rules the engine refuses to compile, tried one at a time: its own message names none."""
    with _lock:
        for rule in rules:
            name = f"trial{next(_numbers)}"
            try:
                _host().set_rulesets({name: _definitions([rule])})
            except Exception as error:
                yield Problem(rule.id, f"the rule engine refuses it ({error})", "Mend its conditions.")
            else:
                _drop(name)


def _drop(name: str) -> None:
    from durable import engine

    host = _host()
    ruleset = host._ruleset_directory.pop(name)
    host._ruleset_list.remove(ruleset)
    engine.durable_rules_engine.delete_ruleset(ruleset._handle)


def _definitions(rules: Iterable[Compiled]) -> dict[str, dict[str, Any]]:
    definitions: dict[str, dict[str, Any]] = {}
    for number, rule in enumerate(rules):
        for part, clauses in enumerate([rule.clauses] if rule.every else [(one,) for one in rule.clauses]):
            tests = {f"c{position}": _test(clause) for position, clause in enumerate(clauses)}
            definitions[f"r{number}_{part}"] = {
                "all": [{alias: test} for alias, test in tests.items()],
                "run": _consequent(rule, tuple(tests)),
            }
    definitions["catch_all"] = {"all": [{"c0": {"$ex": {"kind": 1}}}], "pri": 9, "run": _nothing}
    return definitions


def _nothing(context: Any) -> None:
    return


def _test(clause: Clause) -> dict[str, Any]:
    # `shelf` and `attr` first: the values of each record then hang under a node of their own.
    tests: list[dict[str, Any]] = [{"shelf": _shelf(clause.reads)}, {"attr": clause.reads}]
    if clause.values is not None:
        equal = [{"s" if isinstance(value, str) else "v": value} for value in clause.values]
        tests.append(equal[0] if len(equal) == 1 else {"$or": equal})
    if clause.low is not None:
        tests.append({"$gte": {"v": clause.low}})
    if clause.high is not None:
        tests.append({"$lte": {"v": clause.high}})
    return {"$and": tests}


def limits(rules: tuple[Compiled, ...]) -> Iterator[Problem]:
    """Rules with which the set outgrows the engine; beyond its limits it hangs, or fails on a lot."""
    read: dict[str, set[str]] = {}
    values: dict[str, set[Value]] = {}
    ranges: dict[str, set[Clause]] = {}
    alike: dict[Clause, set[str]] = {}
    for rule in rules:
        for clause in rule.clauses:
            name = clause.reads.partition(":")[2]
            span = (clause,) if clause.values is None else ()
            counts: tuple[tuple[set[Any], Iterable[Any], int, str], ...] = (
                (
                    read.setdefault(_shelf(clause.reads), set()),
                    [clause.reads],
                    MOST_LITERALS,
                    "records and findings on one shelf that rules read",
                ),
                (
                    values.setdefault(clause.reads, set()),
                    clause.values or (),
                    MOST_LITERALS,
                    f"values of {name} in rules",
                ),
                (ranges.setdefault(clause.reads, set()), span, MOST_RANGES, f"ranges of {name} in rules"),
                (
                    alike.setdefault(clause, set()),
                    [rule.id],
                    MOST_ALIKE,
                    f"rules with one condition on {name}",
                ),
            )
            for seen, more, most, what in counts:
                before = len(seen)
                seen.update(more)
                if before <= most < len(seen):
                    yield Problem(
                        rule.id, f"it makes more than {most} {what}", "Merge some, or take some out."
                    )
