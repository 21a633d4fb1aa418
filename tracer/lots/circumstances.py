"""Who shares the note, what was compared, what touched the coffee, and where nothing was unusual."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from tracer.knowledge.material import Material
from tracer.lots.form import LEVELS, SHARES, ComparisonForm, ContactForm, PatternForm
from tracer.lots.form_cupping import SCATTERED
from tracer.lots.lot import Comparison, Contact, Normal, Pattern
from tracer.lots.spot import Spot
from tracer.names import did_you_mean, fold
from tracer.wording.sentence import say, to_type

_OF = re.compile(r"(\d+)\s*(?:of|/|de|sur|von|su)\s*(\d+)")
_PERCENT = re.compile(r"(?:about\s+)?(\d+(?:[.,]\d+)?)\s*%")
_COUNTED = {
    "a few": "some",
    "several": "some",
    "few": "some",
    "only": "one",
    "single": "one",
    "every": "all",
    "yes": "all",
    "no": "none",
}


def read_patterns(forms: Iterable[PatternForm], data: Any, spot: Spot) -> tuple[Pattern, ...]:
    """Every level of every entry, as one pattern each."""
    found = []
    for index, form in enumerate(forms):
        at = spot.item(data, index)
        if form.since is not None:
            found.append(Pattern("since", form.since, form.of, (at / "since").place))
        for level in LEVELS:
            written = getattr(form, level)
            if written is not None and fold(written) not in ("unknown", "not known", "?"):
                one = _pattern(level, written, form.of, at / level)
                if one is not None:
                    found.append(one)
    return tuple(found)


def _pattern(level: str, written: str, of: str | None, at: Spot) -> Pattern | None:
    folded = fold(written)
    share = _COUNTED.get(folded, "some" if folded in SCATTERED else folded)
    if share in SHARES:
        return Pattern(level, share, of, at.place)
    counted = _OF.fullmatch(folded)
    if counted:
        found, among = int(counted[1]), int(counted[2])
        if not 0 <= found <= among or among == 0:
            at.problem(
                say("{found} of {among} cannot be", found=found, among=among), say("Check the counts.")
            )
            return None
        word = "none" if not found else "all" if found == among else "one" if found == 1 else "some"
        return Pattern(level, word, of, at.place, found, among)
    percent = _PERCENT.fullmatch(folded)
    if percent:
        share_of = float(percent[1].replace(",", "."))
        if not 0 <= share_of <= 100:
            at.problem(say("{written} cannot be", written=written), say("A share lies from 0 to 100 %."))
            return None
        word = "none" if share_of == 0 else "all" if share_of == 100 else "some"
        return Pattern(level, word, of, at.place, round(share_of), 100)
    remedy = did_you_mean(
        folded, SHARES, say("Write one of {SHARES}; or 2 of 10; or 20 %.", SHARES=to_type(SHARES))
    )
    at.problem(say("'{written}' is no share", written=written), remedy)
    return None


def read_comparisons(forms: Iterable[ComparisonForm], data: Any, spot: Spot) -> tuple[Comparison, ...]:
    """Every comparison; one that does not say both things is told."""
    found = []
    for index, form in enumerate(forms):
        at = spot.item(data, index)
        if form.with_ is None or form.shows is None:
            at.problem(
                say("a comparison needs with and shows"), say("Write with: other_container, shows: clean.")
            )
            continue
        found.append(Comparison(form.with_, form.shows, form.of, form.name, form.by, at.place))
    return tuple(found)


def material_names(materials: Mapping[str, Material]) -> dict[str, str]:
    """Every name of a material in every language, folded -> its id."""
    return {
        fold(name): material.id
        for material in materials.values()
        for name in (
            *(word for words in material.names.values() for word in words),
            material.label,
            material.id,
        )
    }


def read_contacts(
    forms: Iterable[ContactForm],
    data: Any,
    spot: Spot,
    materials: Mapping[str, Material],
    stages: tuple[str, ...],
) -> tuple[Contact, ...]:
    """Every contact; a material that is not known counts by what it smells of."""
    names = material_names(materials)
    found = []
    for index, form in enumerate(forms):
        at = spot.item(data, index)
        if form.with_ is None:
            at.problem(
                say("a contact needs its material"),
                say("Write with: and what touched or stood beside the coffee."),
            )
            continue
        if form.stage is not None and form.stage not in stages:
            remedy = did_you_mean(form.stage, stages, say("Stages: {stages}.", stages=to_type(stages)))
            (at / "stage").problem(say("'{stage}' is no stage", stage=form.stage), remedy)
            continue
        material = names.get(fold(form.with_)) or names.get(fold(form.with_).replace("_", " "))
        if material is None and form.smell is None:
            (at / "with").problem(
                say("'{item_with}' is no material of the knowledge base", item_with=form.with_),
                did_you_mean(fold(form.with_), names, say("It is kept; add smell: and what it smells of.")),
                "note",
            )
        found.append(
            Contact(material, form.with_, form.stage, form.how, form.smell, form.of, form.by, at.place)
        )
    return tuple(found)


def read_normal(
    names: Iterable[str | None], data: Any, spot: Spot, stages: tuple[str, ...]
) -> tuple[Normal, ...]:
    """Stages where nothing was unusual."""
    found = []
    for index, name in enumerate(names):
        at = spot.item(data, index)
        if name is None:
            continue
        stage = fold(name).replace(" ", "_")
        if stage not in (*stages, "any"):
            at.problem(
                say("'{name}' is no stage", name=name),
                did_you_mean(stage, stages, say("Stages: {stages}, or any.", stages=to_type(stages))),
            )
            continue
        found.append(Normal(stage, at.place))
    return tuple(found)
