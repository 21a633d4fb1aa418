"""How a language says no, how much, and where a clause ends."""

from __future__ import annotations

from pydantic import Field

from tracer.knowledge.strength import Entry, Id


class Language(Entry):
    """Words around the notes in one language."""

    id: Id = Field(description="Language code: en, es, pt ...")
    label: str
    negation: tuple[str, ...] = Field(
        description="Words that deny what follows, up to the end of the clause."
    )
    negation_after: bool = Field(False, description="True where the denial follows the noun.")
    not_negation: tuple[str, ...] = Field((), description="Phrases that only look like a denial: 'not only'.")
    slight: tuple[str, ...] = ()
    moderate: tuple[str, ...] = ()
    strong: tuple[str, ...] = ()
    doubt: tuple[str, ...] = ()
    breaks: tuple[str, ...] = Field((), description="Words that end a clause: but, pero ...")
    clean: tuple[str, ...] = Field((), description="Words that say no off-note at all was found.")
    all_cups: tuple[str, ...] = ()
    one_cup: tuple[str, ...] = ()
    units: dict[str, tuple[str, ...]] = Field(
        {}, description="Unit (h, d, weeks, months, %, C, cm) -> words for it in plain sentences."
    )
    carriers: tuple[str, ...] = Field(
        (), description="Words that carry no note: smell of, taste, cup, the ..."
    )
