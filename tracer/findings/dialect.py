"""Rules in the small neutral form that both matchers read.

A condition becomes a clause: the fact it reads, and either the values it may have or a range. Numbers
are whole millionths of the record's unit, so a range is closed (above 9 h is at least 9.000001 h), both
matchers compare exactly and no number is ever written with an exponent. Words are compared folded.
Conditions of one `all` on the same record are one clause, for one fact has to meet them together.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple, cast

from tracer.findings.fact import Fact
from tracer.findings.finding import Verb
from tracer.issues import Issue, Place
from tracer.knowledge.rule import Conclusion, Condition, Rule
from tracer.names import fold

Value = int | str
"""What a matcher compares: millionths, or a folded word."""

LARGEST = 1e12
"""Numbers beyond this count as this."""


@dataclass(frozen=True, slots=True)
class Clause:
    """One test on one fact. With neither values nor a range, the fact need only be there."""

    reads: str
    """`record:<id>` or `finding:<id>`."""
    values: tuple[Value, ...] | None = None
    low: int | None = None
    high: int | None = None

    def holds(self, value: Value) -> bool:
        """True if a fact of this value meets the clause.

        >>> Clause("record:moisture_now", low=12_000_000).holds(comparable(12.4))
        True
        """
        if self.values is not None:
            return value in self.values
        if self.low is None and self.high is None:
            return True
        if isinstance(value, str):
            return False
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True, slots=True)
class Compiled:
    """A rule as the matchers read it."""

    id: str
    every: bool
    """True: every clause must hold. False: any of them."""
    clauses: tuple[Clause, ...]
    concludes: tuple[str, ...]


class Problem(NamedTuple):
    """What is wrong with a rule, and how to mend it."""

    rule: str
    message: str
    remedy: str

    def issue(self, place: Place | None = None) -> Issue:
        """The problem as an issue, at the rule's own place where that is known."""
        return Issue(place or Place(f"rule {self.rule}"), f"rule '{self.rule}': {self.message}", self.remedy)


def comparable(value: bool | int | float | str) -> Value:
    """A value as the matchers compare it.

    >>> comparable(0.1 + 0.2), comparable(True), comparable("  Café "), comparable(1e300)
    (300000, 'yes', 'cafe', 1000000000000000000)
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return fold(value)
    return round(max(-LARGEST, min(LARGEST, value)) * 1_000_000)


def record(name: str) -> str:
    """How a clause names a record."""
    return f"record:{name}"


def finding(name: str) -> str:
    """How a clause names a concluded finding."""
    return f"finding:{name}"


def compiled(rules: Iterable[Rule]) -> tuple[tuple[Compiled, ...], tuple[Problem, ...]]:
    """Rules in neutral form, sorted by id, and what is wrong with those that have none."""
    done: list[Compiled] = []
    problems: list[Problem] = []
    for rule in sorted(rules, key=lambda rule: rule.id):
        try:
            done.append(_compiled(rule))
        except ValueError as error:
            problems.append(Problem(rule.id, str(error), "Mend the condition, or take the rule out."))
        problems += _unusable_strengths(rule)
    return tuple(done), tuple(problems)


def _compiled(rule: Rule) -> Compiled:
    every = rule.when.all is not None
    clauses = [clause_of(condition) for condition in rule.when.all or rule.when.any or ()]
    if every:
        merged: dict[str, Clause] = {}
        for clause in clauses:
            earlier = merged.get(clause.reads)
            merged[clause.reads] = _both(earlier, clause) if earlier else clause
        clauses = list(merged.values())
    return Compiled(rule.id, every, tuple(dict.fromkeys(clauses)), concluded_by(rule))


def concluded_by(rule: Rule) -> tuple[str, ...]:
    """Names of the findings that a rule concludes."""
    return tuple(dict.fromkeys(c.concludes for c in rule.then if c.concludes is not None))


def reads(rule: Rule) -> set[str]:
    """What the conditions of a rule read, as a clause names it."""
    return {
        record(one.record or "") if one.finding is None else finding(one.finding)
        for one in rule.when.all or rule.when.any or ()
    }


def clause_of(condition: Condition) -> Clause:
    """A condition in neutral form. Raises ValueError where no value can meet it."""
    if condition.finding is not None:
        return Clause(finding(condition.finding))
    reads = record(condition.record or "")
    clause = Clause(reads)
    for equal in (None if condition.is_ is None else (condition.is_,), condition.one_of):
        if equal is not None:
            values = dict.fromkeys(comparable(_finite(value)) for value in equal)
            clause = _both(clause, Clause(reads, tuple(values)))
    # A closed range of whole millionths: `above` starts at the next one, `below` ends at the one before.
    for low, step in ((condition.at_least, 0), (condition.above, 1)):
        if low is not None:
            clause = _both(clause, Clause(reads, low=_millionths(low) + step))
    for high, step in ((condition.at_most, 0), (condition.below, 1)):
        if high is not None:
            clause = _both(clause, Clause(reads, high=_millionths(high) - step))
    return clause


def overlapping(one: Clause, other: Clause) -> bool:
    """True if some value meets both."""
    try:
        _both(one, other)
    except ValueError:
        return False
    return True


def _finite(value: bool | int | float | str) -> bool | int | float | str:
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{value} is no number a record can be compared with")
    return value


def _millionths(value: float) -> int:
    number = comparable(_finite(value))
    assert isinstance(number, int)
    return number


def _both(one: Clause, other: Clause) -> Clause:
    """The clause that holds where both hold."""
    lows = [clause.low for clause in (one, other) if clause.low is not None]
    highs = [clause.high for clause in (one, other) if clause.high is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    values = one.values if other.values is None else other.values
    if one.values is not None and other.values is not None:
        values = tuple(value for value in one.values if value in other.values)
    if values is not None:
        span = Clause(one.reads, None, low, high)
        values, low, high = tuple(value for value in values if span.holds(value)), None, None
    if values == () or (low is not None and high is not None and low > high):
        raise ValueError(f"the tests on {one.reads.partition(':')[2]} can never hold together")
    return Clause(one.reads, values, low, high)


def _unusable_strengths(rule: Rule) -> Iterator[Problem]:
    for conclusion in rule.then:
        if conclusion.does == "favours" and conclusion.strength and conclusion.strength.count:
            message = f"a count ({conclusion.strength.count}) is a share, and no likelihood ratio"
            yield Problem(rule.id, message, "Give a band, or low and high, of the likelihood ratio.")


def readable(facts: Iterable[Fact], rules: Iterable[Compiled]) -> tuple[tuple[int, str, Value], ...]:
    """The facts some rule reads: position among the facts, how a clause names it, value compared."""
    wanted = {clause.reads for rule in rules for clause in rule.clauses}
    named = ((index, record(fact.name), fact) for index, fact in enumerate(facts))
    return tuple((index, name, comparable(fact.value)) for index, name, fact in named if name in wanted)


def said(
    conclusion: Conclusion, faults_of: Callable[[str], tuple[str, ...]]
) -> tuple[Verb, tuple[str, ...]] | None:
    """Verb and targets of a conclusion, a stage unfolded into its faults; None for `concludes`."""
    verb = conclusion.does
    if verb == "concludes":
        return None
    if verb == "expects":
        return "expects", conclusion.descriptors()
    if verb == "warns":
        return "warns", (conclusion.warns or "",)
    return cast(Verb, verb), tuple(dict.fromkeys(conclusion.faults(faults_of)))
