"""What was said of a lot: its sentences, with the proposals that somebody confirmed."""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import Any, get_args

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.phrase import Other, Shows
from tracer.lots.form import SaidForm
from tracer.lots.lot import Said
from tracer.lots.spot import Spot
from tracer.names import did_you_mean
from tracer.wording.sentence import say, to_type

NESTED = ("logs", "readings", "beds", "timezone")
"""What may stand under a stage of history beside its records."""
MOST_MOISTURE = 75.0


def read_said(forms: Sequence[SaidForm], data: Any, spot: Spot, base: KnowledgeBase) -> tuple[Said, ...]:
    """What somebody wrote or said of the lot, in plain sentences."""
    found = []
    languages = tuple(base.languages)
    for index, form in enumerate(forms):
        at = spot.item(data, index)
        if form.language is not None and form.language not in languages:
            (at / "language").problem(
                say("'{language}' is not one of the choices", language=form.language),
                say("Choose: {languages}.", languages=to_type(languages)),
            )
        for field, names in (("confirmed", form.confirmed), ("declined", form.declined)):
            for name in filter(None, names):
                if not _can_be_proposed(name, base):
                    (at / field).problem(
                        say("'{name}' is no proposal", name=name),
                        did_you_mean(
                            name, base.phrases, say("See what each sentence may mean: tracer history LOT")
                        ),
                    )
        found.append(
            Said(
                form.by or "somebody",
                form.on,
                form.language,
                str(form.text),
                tuple(name for name in form.confirmed if name),
                tuple(name for name in form.declined if name),
                at.place,
            )
        )
    return tuple(found)


def _can_be_proposed(name: str, base: KnowledgeBase) -> bool:
    """True for the id of a phrase, or of something that the reader of sentences finds by itself."""
    if name in base.phrases:
        return True
    kind, _, what = name.partition("_")
    kinds: dict[str, Container[str]] = {
        "note": base.descriptors,
        "contact": base.materials,
        "laboratory": base.compounds,
        "sibling": [f"{other}_{shown}" for other in get_args(Other) for shown in get_args(Shows)],
    }
    return what in kinds.get(kind, ()) or (kind == "cups" and what.isalnum())
