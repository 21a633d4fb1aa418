"""How people say in plain sentences what a record asks for."""

from __future__ import annotations

from pydantic import Field, model_validator

from tracer.knowledge.strength import Entry, Id


class Phrase(Entry):
    """A way of saying something about a lot's history. It proposes a value for a record; the user confirms."""

    id: Id
    record: Id
    value: str | None = Field(None, description="What it says: yes, no or a choice of the record.")
    denied: str | None = Field(
        None, description="What it says with a word of denial in the sentence; none: nothing."
    )
    takes: str | None = Field(None, description="Unit of the number that the sentence must hold.")
    words: dict[str, tuple[tuple[str, ...], ...]] = Field(
        description="Language -> ways to say it. A way is a list of groups that must all occur, in any order; a group is "
        "words parted by |, and * stands for any ending. A denial counts in the clause of the first group."
    )
    example: dict[str, str] = Field(description="Language -> a sentence that it must match.")

    @model_validator(mode="after")
    def _says_something(self) -> Phrase:
        if (self.value is None) == (self.takes is None):
            raise ValueError("give value: what it says, or takes: the unit of the number in it")
        if set(self.example) != set(self.words):
            raise ValueError("each language needs one example")
        return self
