"""How strong a link is, on what basis, and which source says so."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

Basis = Literal["study", "standard", "statement", "casebook", "judgement"]
"""Strongest first: measured on coffee; an open standard or law; a traceable author's
statement (handbook, trade text, second-hand quotation); own confirmed cases; judgement."""

Read = Literal["seen", "quoted", "memory"]
"""seen: the source's own text was read; quoted: read in another text; memory: recalled."""

_ID = re.compile(r"^[a-z][a-z0-9_]*(\.[a-z][a-z0-9_]*)?$")


def _check_id(value: str) -> str:
    if not _ID.match(value):
        raise ValueError("an id is lower-case letters, digits and underscores, starting with a letter")
    return value


Id = Annotated[str, AfterValidator(_check_id)]
"""Lower-case letters, digits, underscores; a house entry carries its prefix and a dot: `acme.over_dried`."""


class Entry(BaseModel):
    """Base of everything that is read from YAML: frozen, and no field that is not listed.

    What validates a model is built when it is first needed; of a model that many others hold, at once, for then they share it.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class Citation(Entry, defer_build=False):
    """Where a statement comes from."""

    source: Id = Field(description="Id of an entry in sources.yaml.")
    at: str | None = Field(None, description="Page, table, section or abstract.")
    read: Read = Field(description="seen, quoted (read in another text) or memory.")


class Strength(Entry, defer_build=False):
    """A probability (of a link) or a likelihood ratio (of a rule), never without a basis.

    Exactly one of: `band` (a named band of settings.yaml), `count` ("18/100"), or `low` and `high`
    (with `best` between them where one is known), or `unknown: true`.
    """

    band: str | None = Field(None, description="A named band of settings.yaml.")
    count: str | None = Field(None, description="Confirmed of all, as n/m.")
    low: float | None = Field(None, description="Low end of the range.")
    high: float | None = Field(None, description="High end of the range.")
    best: float | None = Field(None, description="Best single value inside the range.")
    unknown: bool = Field(False, description="True where nobody has a figure.")
    basis: Basis | None = Field(None, description="What the figure rests on.")
    note: str | None = Field(None, description="A caution on the figure.")
    cites: tuple[Citation, ...] = ()

    @model_validator(mode="after")
    def _one_form(self) -> Strength:
        forms = [self.band is not None, self.count is not None, self.low is not None, self.unknown]
        if sum(forms) != 1:
            raise ValueError("give exactly one of: band, count, low with high, unknown: true")
        if (self.low is None) != (self.high is None):
            raise ValueError("low and high come together")
        if self.low is not None and self.high is not None:
            if not 0 < self.low <= self.high:
                raise ValueError("low must be above 0 and not above high")
            if self.best is not None and not self.low <= self.best <= self.high:
                raise ValueError("best must lie between low and high")
        if self.count is not None:
            match = re.fullmatch(r"(\d+)/(\d+)", self.count)
            if not match or int(match[1]) > int(match[2]) or int(match[2]) == 0:
                raise ValueError("a count is n/m with n not above m, as 18/100")
        if self.unknown is False and self.basis is None:
            raise ValueError("a figure needs its basis: study, standard, statement, casebook or judgement")
        return self


class Prior(Strength):
    """How many lots have a fault, before anything is known of the lot."""

    of: Literal["all_lots", "suspected"] = Field(
        "suspected",
        description="What a figure is a share of: all lots cupped, or, where it does not say, those that somebody wants traced. "
        "A band is of all lots.",
    )
