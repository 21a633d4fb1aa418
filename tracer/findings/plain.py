"""The plain matcher: every rule against every fact, again and again until nothing new is concluded.

Facts only ever add findings (there is no negation), so the last round is the least fixpoint and no
result depends on an order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tracer.findings.dialect import Compiled, Value, finding

Key = int | str
"""A fact's position among the lot's facts, or the name of a concluded finding."""

Matches = dict[str, frozenset[Key]]
"""Rule id -> every fact and finding that meets one of its clauses; only rules that fire."""


def match(rules: tuple[Compiled, ...], facts: Iterable[tuple[int, str, Value]]) -> Matches:
    """Fire rules on facts, given as (position, what a clause calls it, value).

    >>> from tracer.findings.dialect import Clause
    >>> late = Compiled("late", True, (Clause("record:hours", low=9_000_001),), ("pulped_late",))
    >>> match((late,), [(0, "record:hours", 30_000_000)])
    {'late': frozenset({0})}
    """
    given: dict[str, list[tuple[Key, Value]]] = {}
    for index, name, value in facts:
        given.setdefault(name, []).append((index, value))
    concluded: frozenset[str] = frozenset()
    while True:
        known = given | {finding(name): [(name, "yes")] for name in concluded}
        matches = _round(rules, known)
        now = frozenset(name for rule in rules if rule.id in matches for name in rule.concludes)
        if now == concluded:
            return matches
        concluded = now


def _round(rules: tuple[Compiled, ...], known: Mapping[str, list[tuple[Key, Value]]]) -> Matches:
    matches: Matches = {}
    for rule in rules:
        met = [
            [key for key, value in known.get(clause.reads, ()) if clause.holds(value)]
            for clause in rule.clauses
        ]
        if all(met) if rule.every else any(met):
            matches[rule.id] = frozenset(key for keys in met for key in keys)
    return matches
