"""Notes that are normal for a coffee by its origin, species, process or declared style: rows of a table, each of which makes a rule."""

from __future__ import annotations

from pydantic import Field, model_validator

from tracer.knowledge.rule import Conclusion, Condition, Rule, When
from tracer.knowledge.strength import Citation, Entry, Id, Strength

KEYS = ("origin", "species", "process")


class ExpectedNote(Entry):
    """Notes that such a coffee has with no fault at all."""

    note: Id | tuple[Id, ...] = Field(description="Descriptor id or ids.")
    strength: Strength = Field(description="Chance of each with no fault at all.")
    group: Id | None = Field(
        None, description="Of the rows of one group the strongest speaks. Default: this entry."
    )


class ExpectedNotes(Entry):
    """What is normal for one kind of coffee. All that is named of origin, species, process and style must hold."""

    id: Id
    rule: Id = Field(description="Id of the rule that this makes.")
    label: str = Field(description="The kind of coffee, as a short statement.")
    origin: tuple[str, ...] = Field((), description="Any of these origins.")
    species: tuple[str, ...] = Field((), description="Any of these species.")
    process: tuple[str, ...] = Field((), description="Any of these processes.")
    style: tuple[Id, ...] = Field(
        (), description="Any of these declared styles, as under `declared` on the sheet."
    )
    notes: tuple[ExpectedNote, ...] = Field(min_length=1)
    because: str = Field(description="The reason, in one sentence a buyer can read.")
    cites: tuple[Citation, ...] = Field(
        (), description="Empty means common practice, and is reported as that."
    )

    @model_validator(mode="after")
    def _some_coffee(self) -> ExpectedNotes:
        named = [key for key in (*KEYS, "style") if getattr(self, key)]
        if not named:
            raise ValueError("say of which coffee: origin, species, process or style")
        if len(self.style) > 1 and len(named) > 1:
            raise ValueError("beside an origin, species or process there can be one style only")
        return self

    def made(self) -> Rule:
        """The rule that says so of a lot."""
        tests = [_any_of(key, getattr(self, key)) for key in KEYS if getattr(self, key)]
        styles = [
            Condition.model_validate({"record": f"declared_{name}", "is": "yes"}) for name in self.style
        ]
        when = When(all=None, any=tuple(styles)) if len(styles) > 1 else When(all=(*tests, *styles), any=None)
        return Rule(
            id=self.rule,
            label=self.label,
            when=when,
            then=tuple(
                Conclusion.model_validate({"expects": row.note, "strength": row.strength, "group": row.group})
                for row in self.notes
            ),
            because=self.because,
            cites=self.cites,
            golden=(),
        )


def _any_of(key: str, values: tuple[str, ...]) -> Condition:
    return Condition.model_validate(
        {"record": key, "is": values[0]} if len(values) == 1 else {"record": key, "one_of": values}
    )
