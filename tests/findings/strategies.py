"""Random rules and facts, small enough that rules often fire and often chain."""

from __future__ import annotations

from hypothesis import strategies as st

from tracer.findings.fact import Fact
from tracer.knowledge.rule import Rule

RECORDS = ("hours", "moisture", "process", "origin", "wet", "acme.layer")
NAMES = ("late", "damp", "acme.warm", "hours")
"""Findings; one is called like a record."""
WORDS = (
    "yes",
    "no",
    "washed",
    "Café",
    "cafe",
    "São Tomé",
    "日本",
    'a "quoted" word',
    "back\\slash",
    "5",
    "12.5",
    "ß",
    "",
)
NUMBERS = (0, 1, 5, 5.0, 12.5, -0.5, 0.1 + 0.2, 0.3, 0.00005, 1e-7, 1e6, 739_000, 1e13, 1e300, -1e300, 10**25)

words = st.one_of(st.sampled_from(WORDS), st.text(st.characters(codec="utf-8"), max_size=4))
numbers = st.one_of(
    st.sampled_from(NUMBERS),
    st.integers(-20, 20),
    st.floats(-20, 20),
    st.floats(allow_nan=False, allow_infinity=False),
)
values = st.one_of(numbers, words, st.booleans())


@st.composite
def facts(draw: st.DrawFn) -> Fact:
    """A fact of any kind; the same record may well have several."""
    name, value = draw(st.sampled_from(RECORDS)), draw(values)
    if isinstance(value, bool):
        return Fact(name, "yes" if value else "no", "yes_no", "sheet")
    kind = "number" if not isinstance(value, str) else "yes_no" if value in ("yes", "no") else "text"
    return Fact(name, value, kind, draw(st.sampled_from(("sheet", "another line"))))


@st.composite
def _conditions(draw: st.DrawFn) -> dict[str, object]:
    if draw(st.integers(0, 3)) == 0:
        return {"finding": draw(st.sampled_from(NAMES))}
    test = draw(
        st.one_of(
            st.fixed_dictionaries({"is": values}),
            st.fixed_dictionaries({"one_of": st.lists(values, min_size=1, max_size=4)}),
            st.fixed_dictionaries({"above": numbers}),
            st.fixed_dictionaries({"at_least": numbers}),
            st.fixed_dictionaries({"below": numbers}),
            st.fixed_dictionaries({"at_most": numbers}),
            st.fixed_dictionaries({"above": numbers, "at_most": numbers}),
        )
    )
    return {"record": draw(st.sampled_from(RECORDS)), **test}


@st.composite
def rules(draw: st.DrawFn, name: str) -> Rule:
    """A rule that concludes findings, or says nothing but that it fired."""
    concludes = draw(st.lists(st.sampled_from(NAMES), max_size=2, unique=True))
    conclusions: list[dict[str, object]] = [{"concludes": finding} for finding in concludes]
    return Rule.model_validate(
        {
            "id": name,
            "label": name,
            "when": {
                draw(st.sampled_from(("all", "any"))): draw(st.lists(_conditions(), min_size=1, max_size=4))
            },
            "then": conclusions or [{"rules_out": "some_fault"}],
            "because": "drawn at random",
        }
    )


@st.composite
def rule_sets(draw: st.DrawFn) -> list[Rule]:
    """Up to ten rules, in any order."""
    return draw(
        st.permutations([draw(rules(f"rule_{number}")) for number in range(draw(st.integers(1, 10)))])
    )
