"""The rule dialect: conditions on a lot's facts, and what they say about its faults."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from pydantic import Field, model_validator

from tracer.knowledge.strength import Citation, Entry, Id, Strength

Scalar = bool | int | float | str


class Condition(Entry):
    """One test on one fact. A fact that is not known never matches; there is no negation.

    `record` names an entry of records/ or a fact every lot has (see records/lot.yaml);
    `finding` names what another rule `concludes`.
    """

    record: Id | None = Field(None, description="The record tested.")
    finding: Id | None = Field(None, description="A conclusion of another rule that must hold.")
    is_: Scalar | None = Field(None, alias="is", description="Equal to this (yes, no, a word, a number).")
    one_of: tuple[Scalar, ...] | None = Field(None, description="Equal to one of these.")
    above: float | None = Field(None, description="Greater than this, in the record's own unit.")
    at_least: float | None = None
    below: float | None = None
    at_most: float | None = None

    @model_validator(mode="after")
    def _one_test(self) -> Condition:
        if (self.record is None) == (self.finding is None):
            raise ValueError("a condition tests one record or one finding")
        tests = [self.is_, self.one_of, self.above, self.at_least, self.below, self.at_most]
        given = sum(test is not None for test in tests)
        if self.finding is not None and given:
            raise ValueError("a finding holds or not; it takes no test")
        if self.record is not None and given == 0:
            raise ValueError("a record needs a test: is, one_of, above, at_least, below or at_most")
        return self


class When(Entry):
    """All of these, or any of these."""

    all: tuple[Condition, ...] | None = Field(None, description="Every condition must hold.")
    any: tuple[Condition, ...] | None = Field(None, description="At least one must hold.")

    @model_validator(mode="after")
    def _one_kind(self) -> When:
        if (self.all is None) == (self.any is None) or not (self.all or self.any):
            raise ValueError("give conditions under `all:` or under `any:`, not both, and at least one")
        return self


class Conclusion(Entry):
    """What a rule says once its conditions hold. Exactly one verb.

    favours     precedes the fault: shifts its prior odds by a likelihood ratio.
    shows       follows from the fault: a sign of it, seen. `strength` is the chance that the fault gives it, `leak` the chance
                of it where none of its causes is at work; the ratio follows, (1 - (1 - leak)(1 - strength)) / leak.
    would_show  the fault would have shown itself here, and has not: `strength` is how often it does; the ratio is 1 - strength.
    rules_out   the thing did not happen, or could not have reached this sample.
    expects     this off-note is normal for the lot's process or origin (raises the note's leak).
    concludes   a named intermediate finding, a fact for other rules.
    warns       a caution that stands on the report whatever the source.
    """

    favours: Id | tuple[Id, ...] | None = Field(None, description="Fault id or ids.")
    shows: Id | tuple[Id, ...] | None = Field(None, description="Fault id or ids.")
    would_show: Id | tuple[Id, ...] | None = Field(None, description="Fault id or ids.")
    rules_out: Id | tuple[Id, ...] | None = Field(None, description="Fault id or ids.")
    stage: Id | None = Field(None, description="With `verb`: every fault of this stage.")
    verb: Literal["favours", "shows", "would_show", "rules_out"] | None = Field(
        None, description="Used with `stage`."
    )
    expects: Id | tuple[Id, ...] | None = Field(None, description="Descriptor id or ids.")
    concludes: Id | None = Field(None, description="Name of an intermediate finding.")
    warns: str | None = Field(None, description="A caution in one sentence: hold the lot, have it tested.")
    strength: Strength | None = Field(
        None,
        description="Likelihood ratio for `favours`; a chance for `shows`, `would_show` and `expects`.",
    )
    leak: Strength | None = Field(
        None, description="For `shows`: the chance of the sign where none of its causes is at work."
    )
    group: Id | None = Field(
        None,
        description="Findings of one group do not multiply: the strongest speaks. Default: the rule's id.",
    )

    @model_validator(mode="after")
    def _one_verb(self) -> Conclusion:
        verbs = [
            self.favours,
            self.shows,
            self.would_show,
            self.rules_out,
            self.stage,
            self.expects,
            self.concludes,
            self.warns,
        ]
        if sum(verb is not None for verb in verbs) != 1:
            raise ValueError(
                "give exactly one of: favours, shows, would_show, rules_out, stage with verb, expects, concludes, warns"
            )
        if (self.stage is None) != (self.verb is None):
            raise ValueError("stage and verb come together")
        needs = (
            self.concludes is None
            and self.warns is None
            and self.rules_out is None
            and self.verb != "rules_out"
        )
        if needs and self.strength is None:
            raise ValueError("favours, shows, would_show and expects need a strength")
        if (self.leak is None) == (self.does == "shows"):
            raise ValueError(
                "a sign needs its leak, how often it is seen with none of its causes at work; only `shows` takes one"
            )
        return self

    @property
    def does(self) -> str:
        """Its verb, that of a stage included."""
        verbs = ("favours", "shows", "would_show", "rules_out", "expects", "concludes", "warns")
        return self.verb or next(verb for verb in verbs if getattr(self, verb) is not None)

    def named(self) -> tuple[str, ...]:
        """Fault ids this names one by one (not through a stage)."""
        value = self.favours or self.shows or self.would_show or self.rules_out or ()
        return (value,) if isinstance(value, str) else tuple(value)

    def faults(self, of_stage: Callable[[str], tuple[str, ...]]) -> tuple[str, ...]:
        """Every fault it bears on, a stage being unfolded into its faults."""
        return of_stage(self.stage) if self.stage else self.named()

    def descriptors(self) -> tuple[str, ...]:
        """Descriptors it calls normal for this coffee."""
        return (self.expects,) if isinstance(self.expects, str) else tuple(self.expects or ())


class Rule(Entry):
    """A history, green, bench or laboratory rule."""

    id: Id
    label: str = Field(description="What holds when it fires, as a short statement.")
    when: When
    then: tuple[Conclusion, ...] = Field(min_length=1)
    because: str = Field(description="The reason, in one sentence a buyer can read.")
    cites: tuple[Citation, ...] = Field(
        (), description="Empty means common practice, and is reported as that."
    )
    golden: tuple[str, ...] = Field((), description="Scenarios in which it must fire.")
