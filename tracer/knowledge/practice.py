"""Practices that keep faults off: rows of a table. A practice that is missing speaks, and one that was kept speaks the other way."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from tracer.knowledge.rule import Conclusion, Condition, Rule, When
from tracer.knowledge.strength import Citation, Entry, Id


class Side(Entry):
    """What it means that a practice is missing, or was kept: a rule."""

    rule: Id = Field(description="Id of the rule that this makes.")
    label: str = Field(description="What holds, as a short statement.")
    then: tuple[Conclusion, ...] = Field(
        min_length=1, description="The faults it bears on, and by how much, as in a rule."
    )
    because: str = Field(description="The reason, in one sentence a buyer can read.")
    cites: tuple[Citation, ...] = Field(
        (), description="Empty means common practice, and is reported as that."
    )

    def made(self, record: str, value: str) -> Rule:
        """The rule that says so of a lot."""
        test = Condition.model_validate({"record": record, "is": value})
        when = When(all=(test,), any=None)
        return Rule(
            id=self.rule,
            label=self.label,
            when=when,
            then=self.then,
            because=self.because,
            cites=self.cites,
            golden=(),
        )


class Practice(Entry):
    """Something that is done to keep faults off, and what its absence means."""

    id: Id
    record: Id = Field(description="The row of the sheet that says whether it was done: yes or no.")
    protects: tuple[Id, ...] = Field(min_length=1, description="Faults or stages that it is for.")
    missing: Side = Field(description="It was not done: what that raises, and by how much.")
    kept: Side | None = Field(None, description="It was done.")

    def rules(self) -> Iterator[Rule]:
        """The rules that it makes."""
        yield self.missing.made(self.record, "no")
        if self.kept is not None:
            yield self.kept.made(self.record, "yes")
