"""Templates of letters: facts first, no verdict, what is asked and why, by when."""

from __future__ import annotations

import re
from typing import Literal

from pydantic import Field, model_validator

from tracer.knowledge.strength import Entry, Id

FIELDS = (
    "lot",
    "contract",
    "container",
    "sample",
    "cupped",
    "drawn_by",
    "found",
    "earlier",
    "moisture",
    "questions",
    "answered",
    "by",
    "sent",
    "enclosed",
    "claim",
    "sender",
)
"""What a template may name in braces."""
Party = Literal[
    "exporter",
    "importer",
    "decaffeinator",
    "carrier",
    "warehouse",
    "roaster",
    "own_laboratory",
    "outside_laboratory",
]
"""Who is asked."""
_FIELD = re.compile(r"\{([a-z_]+)\}")


class Letter(Entry):
    """A letter in one language, to some addressees. A paragraph in which a field is not known is left out."""

    id: Id
    language: Id
    kind: Literal["query", "reminder", "thanks", "information"] = Field(
        description="query; reminder of a query; thanks for answers; information: no claim."
    )
    to: tuple[Party, ...] = Field((), description="Who it is for; left out: anybody.")
    subject: str
    paragraphs: tuple[str, ...] = Field(min_length=1)
    words: dict[str, str] = Field(
        {},
        description="Small phrases of the language, which its other letters use too: cupped, found, moisture, claim.",
    )

    @model_validator(mode="after")
    def _fields_are_known(self) -> Letter:
        for text in (self.subject, *self.paragraphs):
            unknown = [name for name in _FIELD.findall(text) if name not in FIELDS]
            if unknown:
                raise ValueError(f"'{unknown[0]}' is no field of a letter; fields: {', '.join(FIELDS)}")
        return self
