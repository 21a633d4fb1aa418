"""The plain matcher: the rule dialect in a page of Python, and the oracle for the other engine."""

from __future__ import annotations

from collections.abc import Sequence

from tracer.findings.dialect import Compiled, meets
from tracer.findings.fact import Fact
from tracer.findings.finding import Firing


def fire_plain(rules: Sequence[Compiled], facts: Sequence[Fact]) -> tuple[Firing, ...]:
    """Every rule that fires, forward to a fixpoint, each once for every alternative that held, sorted."""
    known = {fact.name: fact for fact in facts}
    fired: set[Firing] = set()
    while True:
        new = {firing for rule in rules for firing in _matches(rule, known)} - fired
        if not new:
            return tuple(sorted(fired))
        fired |= new
        for rule in rules:
            if any(firing.rule == rule.id for firing in new):
                for name in rule.concludes:
                    known.setdefault(name, Fact(name, "yes", "yes_no", f"rule {rule.id}"))


def _matches(rule: Compiled, known: dict[str, Fact]) -> list[Firing]:
    return [
        Firing(rule.id, tuple(sorted({test.name for test in tests})))
        for tests in rule.alternatives
        if all(test.name in known and meets(known[test.name], test) for test in tests)
    ]
