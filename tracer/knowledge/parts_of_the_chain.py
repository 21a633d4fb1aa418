"""Settings of what holds for every fault: which part of the chain it strikes, and what coffee meets on its way."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from tracer.knowledge.phrase import Level, Share, Unit
from tracer.knowledge.settings_parts import Explained
from tracer.knowledge.strength import Entry, Id, Strength

Part = Literal["part", "most", "all"]
Reach = Literal["within", "either", "beyond"]


class LevelUnits(Entry):
    """How the units of faults lie to the parts of one level; a unit of neither list holds every part."""

    within: tuple[Unit, ...] = Field(
        description="Units that strike some parts of the level and spare others."
    )
    either: tuple[Unit, ...] = Field((), description="Units that may be found in some parts or in all.")


class Patterns(Explained):
    """What the part of a level that shows a note says of where the fault struck."""

    usual: dict[Id, tuple[Unit, ...]] = Field(
        description="Stage -> what its faults strike, where a fault does not say."
    )
    shares: dict[Share, Part] = Field(description="Share word -> the part it is; others are not weighed.")
    given: dict[Reach, dict[Part, float]] = Field(description="P(the part | a fault whose units lie so).")
    leak: float = Field(gt=0, lt=1, description="P(the part | no such fault).")
    levels: dict[Level, LevelUnits]


class Contacts(Explained):
    """What a contact on the sheet makes of the knowledge."""

    nearness: dict[str, float] = Field(
        description="How they met -> factor on the chance that the smell passes."
    )
    most: float = Field(gt=0, lt=1, description="The largest chance.")
    unknown_passes: Strength = Field(description="Chance for a thing that is not in materials.yaml.")
    reaches: Strength = Field(description="P(what it leaves is there | its smell passed).")
    first_note: Strength = Field(description="P(the usual note | what it leaves is there).")
    other_notes: Strength
    spread: Literal["scattered", "patches", "throughout"]
    stages: tuple[Id, ...] = Field(
        description="Where it may have been, where nobody says and it is not known."
    )
    cautions: dict[str, str] = Field(description="Handling of the material -> caution.")
