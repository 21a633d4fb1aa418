"""What the knowledge says, in the other languages of the screens: each English text once, its translations beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from pydantic import Field, model_validator

from tracer.knowledge.strength import Entry, Id

_FIELD = re.compile(r"\{[^}]*\}")


class Translation(Entry):
    """An English text of the knowledge, letter for letter, with the same in Spanish and Portuguese."""

    en: str
    es: str
    pt: str

    @model_validator(mode="after")
    def _same_fields(self) -> Translation:
        wanted = sorted(_FIELD.findall(self.en))
        for language in ("es", "pt"):
            found = sorted(_FIELD.findall(getattr(self, language)))
            if found != wanted and getattr(self, language):
                raise ValueError(f"`{language}` names the fields {found}, the English {wanted}")
        return self


class Translations(Entry):
    """The translations of one part of the knowledge."""

    id: Id
    texts: tuple[Translation, ...] = Field(
        description="English text of the knowledge, letter for letter, and the same in Spanish and Portuguese."
    )

    def of(self, language: str) -> Iterator[tuple[str, str]]:
        """English and its translation, one by one."""
        return ((text.en, told) for text in self.texts if (told := getattr(text, language)))
