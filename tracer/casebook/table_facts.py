"""What the leader says of a table when it is opened: the lots of a flight, or the references of a blind set."""

from __future__ import annotations

import datetime
import unicodedata
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from tracer.lots.form_cupping import SAMPLES


def _plain(text: str) -> str:
    if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in text):
        raise ValueError("control characters")
    return " ".join(text.split())


Line = Annotated[str, Field(max_length=200), AfterValidator(_plain)]
Name = Annotated[str, Field(min_length=1, max_length=60), AfterValidator(_plain)]


class Strict(BaseModel):
    """A thing that came over the wire: unknown fields and wrong types are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


MARKS = "ABCDEFGHJKLM"
"""What the cups of a flight are marked with, in the order in which they stand."""


class SampleFacts(Strict):
    """One sample of a flight: a lot, a coffee known to be clean, or a second cup of a sample of the same flight.

    A blind set has references and blanks in place of lots.
    """

    kind: Literal["lot", "control", "repeat", "reference", "blank"] = "lot"
    lot: Name
    """The lot; of a blind set, the reference as its trainer knows it."""
    repeats: Annotated[int, Field(ge=0, lt=len(MARKS))] | None = None
    """Place in the flight of the sample that it repeats."""
    notes: tuple[Annotated[str, Field(max_length=80, pattern=r"^[a-z][a-z0-9_]*$")], ...] = Field(
        default=(), max_length=10
    )
    """Off-notes that a reference holds."""
    multiple: Annotated[float, Field(gt=0, le=100)] | None = None
    """Times threshold of a reference."""
    last: bool = False
    """Served behind all others, since it lingers."""
    drawn_by: Line = ""
    species: Line = ""
    process: Line = ""
    origin: Line = ""


class TableFacts(Strict):
    """What the leader says of a table when it is opened; cups are per taster. Without a flight it is a table of one lot."""

    lot: Name
    on: datetime.date
    sample: str = "unknown"
    cups: int = Field(ge=1, le=30)
    drawn_by: Line = ""
    species: Line = ""
    process: Line = ""
    origin: Line = ""
    flight: tuple[SampleFacts, ...] = Field(default=(), max_length=len(MARKS))
    smell_only: bool = False
    """Nothing of a blind set goes into the mouth."""

    @property
    def samples(self) -> tuple[SampleFacts, ...]:
        """The samples in the order in which they are tasted; a table of one lot is a flight of one."""
        own = {
            "drawn_by": self.drawn_by,
            "species": self.species,
            "process": self.process,
            "origin": self.origin,
        }
        return self.flight or (SampleFacts.model_validate({"lot": self.lot, **own}),)

    def mark(self, sample: int) -> str:
        """What the tasters know a sample by; nothing at a table of one lot."""
        return MARKS[sample] if self.flight else ""

    @property
    def blind_set(self) -> bool:
        """True for references that a panel is measured with; nothing of it is traced."""
        return any(one.kind == "reference" for one in self.flight)

    @model_validator(mode="after")
    def _whole_flight(self) -> TableFacts:
        kinds = {one.kind for one in self.flight}
        if self.flight and not kinds & {"lot", "reference"}:
            raise ValueError("a flight needs a lot that is to be traced")
        if kinds & {"reference", "blank"} and kinds & {"lot", "control"}:
            raise ValueError("references and lots do not stand in one flight")
        if any((one.kind == "reference") != bool(one.notes) for one in self.flight if one.kind != "repeat"):
            raise ValueError("a reference names the notes that it holds, and nothing else does")
        for place, one in enumerate(self.flight):
            of = one.repeats
            if (one.kind == "repeat") != (of is not None):
                raise ValueError("only a repeat names what it repeats, and it must")
            if of is not None and (
                of >= len(self.flight) or of == place or self.flight[of].kind not in ("lot", "reference")
            ):
                raise ValueError("a repeat repeats a lot or a reference of the same flight")
        return self

    @model_validator(mode="after")
    def _known_sample(self) -> TableFacts:
        if self.sample not in SAMPLES:
            raise ValueError(f"sample must be one of {', '.join(SAMPLES)}")
        return self
