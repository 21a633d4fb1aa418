"""Things that touch or stand beside coffee on its way, and can pass their smell to it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from tracer.knowledge.strength import Citation, Entry, Id, Strength


class Material(Entry):
    """A material met along the chain: a cargo, a package, a cleaner, a fuel, a surface, another coffee."""

    id: Id
    label: str
    names: dict[str, tuple[str, ...]] = Field(description="Language code -> what people call it.")
    smells: dict[str, tuple[str, ...]] = Field(
        {}, description="Language code -> words for its own smell, beside the words of `notes`."
    )
    notes: tuple[Id, ...] = Field(
        description="Off-notes that it can bring into the cup, the usual one first."
    )
    compounds: tuple[Id, ...] = Field((), description="Compounds of the knowledge base that carry it.")
    handling: Literal["food", "neutral", "smell_only", "hazard"] = Field(
        description="food: harmless itself; neutral: no food, no hazard; smell_only: do not taste coffee that met it; "
        "hazard: stop, keep apart, ask the food authority or an accredited laboratory."
    )
    passes: Strength = Field(
        description="P(its smell is noticed in the cup | it touched or stood open beside the coffee)."
    )
    stages: tuple[Id, ...] = Field((), description="Stages where it is usually met; empty: any.")
    usual: bool = Field(
        False, description="Nearly every lot meets it: that it was there says nothing by itself."
    )
    note: str | None = None
    cites: tuple[Citation, ...] = Field((), description="Empty means common practice.")
