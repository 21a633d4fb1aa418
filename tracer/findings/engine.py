"""Firing rules on facts, with durable_rules where it can be imported, else with the plain matcher.

Both give the same firings on the same facts. `TRACER_RULE_ENGINE=plain` or `=durable` forces one.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Literal, cast

from tracer.findings import plain
from tracer.findings.dialect import (
    Compiled,
    Problem,
    compiled,
    concluded_by,
    finding,
    readable,
    reads,
    record,
)
from tracer.findings.fact import Fact
from tracer.findings.finding import Derived, Firing
from tracer.issues import InputError
from tracer.knowledge.rule import Rule
from tracer.wording.sentence import say

Engine = Literal["durable", "plain"]

VARIABLE = "TRACER_RULE_ENGINE"


def engine_name() -> Engine:
    """The engine that fires rules here: the one the environment asks for, else the first that works."""
    asked = os.environ.get(VARIABLE, "").strip()
    if not asked:
        return "durable" if _durable_works() else "plain"
    if asked not in ("durable", "plain"):
        raise InputError.of(
            VARIABLE,
            say("'{asked}' is no rule engine", asked=asked),
            say("Set it to plain or durable, or leave it out."),
        )
    if asked == "durable" and not _durable_works():
        raise InputError.of(
            VARIABLE,
            say("durable_rules cannot be imported here"),
            say("Leave it out: the plain matcher fires the same rules."),
        )
    return cast(Engine, asked)


@cache
def _durable_works() -> bool:
    # From Python 3.13 it builds, but cannot be imported.
    if sys.version_info >= (3, 13):
        return False
    try:
        import durable.engine  # noqa: F401
    except ImportError:
        return False
    return True


def fire(rules: Iterable[Rule], facts: Iterable[Fact], engine: Engine | None = None) -> tuple[Firing, ...]:
    """Every rule that holds, sorted by id, with all facts and findings that meet one of its conditions."""
    known = tuple(sorted(set(facts), key=lambda fact: fact.order))
    ready = _reading(rules).within_reach(known)
    given = readable(known, ready)
    if (engine or engine_name()) == "durable":
        from tracer.findings import durable_engine

        matches = durable_engine.match(ready, given)
    else:
        matches = plain.match(ready, given)
    concluded = {derived.name: _as_fact(derived) for derived in _derived(ready, matches)}
    return tuple(
        Firing(rule, _sorted(known[key] if isinstance(key, int) else concluded[key] for key in keys))
        for rule, keys in sorted(matches.items())
    )


class _Reading:
    """Rules by what they read. Of a thousand rules a lot has what a few dozen need: the others are not even compiled."""

    def __init__(self, rules: Iterable[Rule]) -> None:
        self.rules = sorted(rules, key=lambda rule: rule.id)
        self.compiled: dict[int, Compiled] = {}
        self.readers: dict[str, list[int]] = {}
        self.needs: list[int] = []
        for place, rule in enumerate(self.rules):
            names = reads(rule)
            self.needs.append(len(names) if rule.when.all is not None else 1)
            for name in names:
                self.readers.setdefault(name, []).append(place)

    def within_reach(self, facts: Iterable[Fact]) -> tuple[Compiled, ...]:
        """The rules all of whose conditions (or any, where one is enough) ask for these facts or for what other such rules conclude."""
        found: list[int] = []
        left = list(self.needs)
        names = list({record(fact.name) for fact in facts})
        for name in names:
            for place in self.readers.get(name, ()):
                left[place] -= 1
                if left[place] == 0:
                    found.append(place)
                    new = dict.fromkeys(map(finding, concluded_by(self.rules[place])))
                    names += [one for one in new if one not in names]
        self._compile([place for place in found if place not in self.compiled])
        return tuple(self.compiled[place] for place in sorted(found))

    def _compile(self, places: list[int]) -> None:
        ready, problems = compiled([self.rules[place] for place in places])
        if problems:
            raise InputError(problem.issue() for problem in problems)
        self.compiled.update(zip(sorted(places), ready, strict=True))


_kept: list[tuple[Iterable[Rule], _Reading]] = []


def _reading(rules: Iterable[Rule]) -> _Reading:
    """The rules by what they read; kept for the same collection of rules, since a knowledge base traces many lots."""
    for known, ready in _kept:
        if known is rules:
            return ready
    ready = _Reading(rules)
    if isinstance(rules, tuple):
        _kept[:] = [*_kept[-3:], (rules, ready)]
    return ready


def derived(rules: Iterable[Rule], firings: Iterable[Firing]) -> tuple[Derived, ...]:
    """The findings concluded for other rules, sorted by name."""
    return _derived(compiled(rules)[0], {firing.rule for firing in firings})


def _derived(rules: Iterable[Compiled], fired: Iterable[str]) -> tuple[Derived, ...]:
    fired = set(fired)
    by_name: dict[str, list[str]] = {}
    for rule in rules:
        if rule.id in fired:
            for name in rule.concludes:
                by_name.setdefault(name, []).append(rule.id)
    return tuple(Derived(name, tuple(sorted(ids))) for name, ids in sorted(by_name.items()))


def _as_fact(finding: Derived) -> Fact:
    return Fact(finding.name, "yes", "yes_no", f"rule:{', '.join(finding.rules)}")


def _sorted(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    return tuple(sorted(facts, key=lambda fact: fact.order))


def problems(rules: Iterable[Rule]) -> Iterator[Problem]:
    """What keeps rules from being fired, on this or another machine; for the check of a knowledge base."""
    from tracer.findings import durable_engine

    ready, found = compiled(rules)
    found = (*found, *durable_engine.limits(ready))
    yield from found
    if not found and _durable_works():
        yield from durable_engine.refused(ready)
