"""What a blind set is made of, as it is written on the command line, and what may not be served."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tracer.wording.language import tell

if TYPE_CHECKING:
    from tracer.knowledge.base import KnowledgeBase
    from tracer.panel.blind import Sample


def refuse_unsafe(base: KnowledgeBase, samples: Iterable[Sample], smell_only: bool) -> None:
    """A note that is never prepared is refused with the card's reason, one that is only smelled where tasting is meant."""
    from tracer.issues import InputError, Issue, Place
    from tracer.panel.cards import serving

    issues = []
    for note in dict.fromkeys(name for sample in samples for name in sample.notes):
        found, label = serving(base, note), base.descriptors[note].label
        if found.how == "never":
            issues.append(
                Issue(
                    Place("--note"),
                    tell("{label} is not served: {because}", label=label, because=found.because),
                    tell("Leave it out of the set."),
                )
            )
        elif found.how == "smell" and not smell_only:
            remedy = tell("Leave it out, or make a set that is only smelled: --smell-only")
            issues.append(
                Issue(
                    Place("--note"),
                    tell("{label} may only be smelled: {because}", label=label, because=found.because),
                    remedy,
                )
            )
    if issues:
        raise InputError(issues)


def sample_of(base: KnowledgeBase, text: str) -> Sample:
    """A sample as it is written: note, or note@multiple. Raises InputError for what names no off-note."""
    from tracer.causes.browse import find_term
    from tracer.issues import InputError, Issue, Place
    from tracer.names import did_you_mean
    from tracer.numbers import finite
    from tracer.panel.blind import Sample

    last = text.endswith("!")
    word, _, multiple = text.rstrip("!").partition("@")
    found = find_term(base, word)
    if found is None or found[1] not in base.descriptors:
        raise InputError(
            [
                Issue(
                    Place("--note"),
                    tell("'{word}' is no off-note", word=word),
                    did_you_mean(word, base.descriptors, tell("See: tracer show STAGE")),
                )
            ]
        )
    try:
        times = finite(multiple) if multiple else None
    except ValueError:
        raise InputError(
            [
                Issue(
                    Place("--note"),
                    tell("'{multiple}' is no number", multiple=multiple),
                    tell("Write note@3 for three times threshold."),
                )
            ]
        ) from None
    name = base.descriptors[found[1]].label + (f" x{times:g}" if times else "")
    return Sample(name, (found[1],), times, last)
