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
    "on",
    "drawn_by",
    "tasters",
    "cups",
    "found",
    "earlier",
    "moisture",
    "questions",
    "by",
    "claim",
    "sender",
)
"""What a template may name in braces."""
_FIELD = re.compile(r"\{([a-z_]+)\}")


class Letter(Entry):
    """A letter in one language. A paragraph whose fields are all unknown is left out."""

    id: Id
    language: Id
    kind: Literal["query", "information", "reminder", "closure"] = Field(
        description="query: to the exporter, with rights reserved; information: no claim; reminder; closure: thanks and the finding."
    )
    subject: str
    paragraphs: tuple[str, ...] = Field(min_length=1)
    question: str = Field(description="One numbered request: {text} and {record}.")
    words: dict[str, str] = Field(description="Small phrases: of, cups, not_found, by, moisture.")

    @model_validator(mode="after")
    def _fields_are_known(self) -> Letter:
        for text in (self.subject, *self.paragraphs):
            unknown = [name for name in _FIELD.findall(text) if name not in FIELDS]
            if unknown:
                raise ValueError(f"'{unknown[0]}' is no field of a letter; fields: {', '.join(FIELDS)}")
        return self
