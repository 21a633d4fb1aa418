"""A published or closed case: what was known of a lot before it was traced, and what it was traced to."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from tracer.knowledge.strength import Entry, Id, Read

UNTRACED = ("none", "undetermined", "storage")
"""Stages of a truth beside those of the chain: nothing was wrong, nobody could say, a store that is not told."""


class CaseRecord(Entry):
    """What a cupper or buyer knew before tracing, in plain words of any language."""

    notes: tuple[str, ...] = Field((), description="Off-notes as they were named.")
    cups: str | None = Field(None, description="Which cups, bags or lots had them.")
    species: str | None = None
    process: str | None = None
    origin: str | None = None
    history: tuple[str, ...] = ()
    green: tuple[str, ...] = Field((), description="Signs of the green.")
    laboratory: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """Everything but the names of the notes."""
        return (*((self.cups,) if self.cups else ()), *self.history, *self.green, *self.laboratory)


class CaseTruth(Entry):
    """What the source says it was."""

    stage: Id = Field(description="A stage, or none, undetermined, storage (some store).")
    also: tuple[Id, ...] = Field((), description="Stages that a fair judge would accept beside it.")
    fault: str
    faults: tuple[Id, ...] = Field((), description="Faults of this knowledge that mean the same.")
    compounds: tuple[str, ...] = ()


class CaseSource(Entry):
    """Where the case comes from, and how it was read."""

    authors: str
    year: int | None = None
    when: str | None = Field(None, description="Where the year is not one number.")
    title: str
    where: str = ""
    read: Read
    read_what: str | None = Field(None, description="What was read: abstract, page, section.")


class Precedent(Entry):
    """A case with its source. Cases of one paper or page are one group: they are scored and weighed without each other."""

    id: Id
    title: str
    group: Id
    language: str = "en"
    like_food: str | None = Field(None, description="Another food, where the case is not of coffee.")
    gives_away: bool = Field(False, description="The record all but names the cause: shown, not learnt from.")
    record: CaseRecord
    truth: CaseTruth
    certain: str = Field(description="How the source knows.")
    fidelity: Literal["as_source", "adapted", "constructed"] = Field(
        description="as_source: only what the source states; adapted: worded as a record; constructed: a deciding line was added."
    )
    expect: Literal["trace", "trace_lab", "compound_only", "ask", "abstain"]
    source: CaseSource
    remarks: str | None = None

    @model_validator(mode="after")
    def _truth_apart(self) -> Precedent:
        told = " ".join((*self.record.notes, *self.record.sentences)).lower()
        if len(self.truth.fault) > 12 and self.truth.fault.lower() in told:
            raise ValueError("the record tells the truth of the case; take it out of the record")
        if not (self.record.notes or self.record.sentences):
            raise ValueError("the record is empty")
        return self
