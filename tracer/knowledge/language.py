"""How a language says no, how much, and where a clause ends."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from tracer.knowledge.phrase import Other
from tracer.knowledge.strength import Entry, Id

MARKED = ("vi",)
"""Languages whose marks tell words apart (dâu is strawberry, dầu is oil)."""


AmountWord = Literal[
    "about",
    "more",
    "less",
    "least",
    "most",
    "between",
    "to",
    "none",
    "few",
    "some",
    "many",
    "half",
    "and_half",
    "one",
]
"""Kinds of words around figures, and of amounts without a figure."""


class Language(Entry):
    """Words around the notes in one language."""

    id: Id = Field(description="Language code: en, es, pt ...")
    label: str
    negation: tuple[str, ...] = Field(
        description="Words that deny what follows, up to the end of the clause."
    )
    negation_after: bool = Field(False, description="True where the denial follows the noun.")
    denial_ends: bool = Field(True, description="False where a word of denial at the end of a line asks.")
    noticing: tuple[str, ...] = Field(
        (), description="Words of finding or perceiving that may stand between a denial and what it denies."
    )
    not_negation: tuple[str, ...] = Field((), description="Phrases that only look like a denial: 'not only'.")
    slight: tuple[str, ...] = ()
    moderate: tuple[str, ...] = ()
    strong: tuple[str, ...] = ()
    doubt: tuple[str, ...] = ()
    breaks: tuple[str, ...] = Field((), description="Words that end a clause: but, pero ...")
    clean: tuple[str, ...] = Field((), description="Words that say no off-note at all was found.")
    all_cups: tuple[str, ...] = ()
    one_cup: tuple[str, ...] = ()
    share_of_cups: dict[Literal["most", "half", "some"], tuple[str, ...]] = Field(
        {}, description="A share of the cups in words: most of the cups, half of them."
    )
    units: dict[str, tuple[str, ...]] = Field(
        {}, description="Unit (h, d, weeks, months, %, C, cm) -> words for it in plain sentences."
    )
    carriers: tuple[str, ...] = Field(
        (), description="Words that carry no note: smell of, taste, cup, the ..."
    )
    fillers: tuple[str, ...] = Field(
        (), description="Articles, prepositions, small verbs: skipped inside a phrase of several words."
    )
    heads: tuple[str, ...] = Field(
        (),
        description="Nouns without a meaning of their own that join what stands before: odour, taste, note.",
    )
    things: tuple[str, ...] = Field(
        (),
        description="Things and states that any message speaks of (sack, store, dry): an off-note only where a word of smell or taste says so.",
    )
    numbers: tuple[str, ...] = Field((), description="One, two, three ... as words, in order.")
    months: tuple[str, ...] = Field(
        (), description="Names of the twelve months in order, other names parted by |: march|mar."
    )
    month_first: bool = Field(False, description="True where some write 3/4/2026 for the fourth of March.")
    round_numbers: dict[str, float] = Field(
        {}, description="Words for a round number, read as about so many: dozen, veintena, une dizaine."
    )
    cup_words: tuple[str, ...] = Field((), description="Cup, cups, bowl: what is counted.")
    of_words: tuple[str, ...] = Field((), description="'of' in '2 of 5 cups'.")
    lacking: tuple[str, ...] = Field(
        (), description="Words that say too little of something: low, lack of, poor in."
    )
    qualities: dict[Literal["acidity", "sweetness", "aroma", "body"], tuple[str, ...]] = Field(
        {}, description="Words for what a sound cup has, as they stand after a word of lack or denial."
    )
    amounts: dict[AmountWord, tuple[str, ...]] = Field(
        {}, description="Words around figures: about, more than, up to ...; and amounts without a figure."
    )
    spellings: dict[str, str] = Field(
        {}, description="Beginning of a word as some write it -> as the lists have it: colour, color."
    )
    contact: dict[
        Literal["beside", "touched", "same_room", "carried_before", "mixed_in"], tuple[str, ...]
    ] = Field({}, description="Words that say how a thing met the coffee.")
    seen: tuple[str, ...] = Field(
        (), description="Words of seeing, and colours and coats of mould: white, furry, on top."
    )
    siblings: dict[Other, tuple[str, ...]] = Field(
        {},
        description="Words for parts of the lot, other coffees, and the same kept, roasted or brewed otherwise.",
    )
    rest: tuple[str, ...] = Field((), description="Words for those that are left: other, the rest.")
    places: tuple[str, ...] = Field(
        (), description="Sides and turns that tell one part from the next: left, upper, last."
    )
    fine: tuple[str, ...] = Field(
        (), description="Words that say a part or another coffee has nothing, beside `clean`."
    )
    nothing: tuple[str, ...] = Field(
        (), description="Words that deny what stands right before them: smells of nothing."
    )
    courtesy: tuple[str, ...] = Field(
        (),
        description="Sentences of letters that say nothing of the coffee: what is nearer to them is read only as text.",
    )
    turning: tuple[str, ...] = Field(
        (), description="Words after which something else is spoken of: but, only, whereas."
    )
    zero: tuple[str, ...] = Field((), description="None, as it is counted: 0, zero, not one.")
    unchanged: tuple[str, ...] = Field((), description="Words that say it is just the same there.")
    same_as: tuple[str, ...] = Field(
        (), description="Those of them that say it of whatever noun stands behind them: the same flight."
    )
    lot_words: tuple[str, ...] = Field((), description="Words for a lot, behind which its mark may stand.")
    detected: tuple[str, ...] = Field((), description="Words that say a laboratory found a compound.")
    not_detected: tuple[str, ...] = Field((), description="Words that say it found none.")
    hearsay: tuple[str, ...] = Field(
        (), description="Words that say somebody else says so: they say, allegedly."
    )
