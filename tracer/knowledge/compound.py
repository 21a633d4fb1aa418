"""Compounds: what carries a note into the cup, how much of it is noticed, and how it may be handled."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, field_validator, model_validator

from tracer.knowledge.numbers_of_record import cas_number, fema_number
from tracer.knowledge.strength import Citation, Entry, Id, Strength


class Threshold(Entry):
    """Published detection figure; only with its matrix."""

    kind: str
    matrix: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str
    note: str | None = None
    cites: tuple[Citation, ...] = Field(min_length=1)


class NoteLink(Entry):
    """A compound makes a note."""

    descriptor: Id
    strength: Strength = Field(
        description="P(the note is noticed | the compound is at the level the fault gives)."
    )
    cites: tuple[Citation, ...] = ()


class Compound(Entry):
    """A compound, a group of kindred compounds, or a named complex with no known molecule."""

    id: Id
    label: str
    called: tuple[str, ...] = Field(
        (), description="Other names on laboratory reports: abbreviations, trade and old names."
    )
    identified: bool = Field(True, description="False: the smell is real, the molecule unknown.")
    cas: str | None = None
    part_of: Id | None = Field(None, description="Member of a group: the group is the node of the graph.")
    chemical_class: str
    odour: tuple[str, ...] = ()
    evokes: tuple[NoteLink, ...] = ()
    thresholds: tuple[Threshold, ...] = ()
    in_coffee: str | None = Field(None, description="What is published of amounts in coffee.")
    origin: str | None = None
    survives_roasting: Literal["yes", "partly", "no", "formed_in_roasting", "after_roasting", "unknown"]
    roasting_note: str | None = None
    handling: Literal["food_grade", "food_grade_with_care", "smell_only", "never_prepare", "never_mixture"]
    handling_note: str | None = None
    fema: int | None = None
    fema_read: str | None = Field(None, description="How the FEMA number is known.")
    cites: tuple[Citation, ...] = ()

    _cas_is_right = field_validator("cas")(cas_number)
    _fema_can_be = field_validator("fema")(fema_number)

    @model_validator(mode="after")
    def _group_members_are_leaves(self) -> Compound:
        if self.part_of and self.evokes:
            raise ValueError("a member of a group has no links of its own; put them on the group")
        return self
