"""What a blind set is made of, as it is written, and what may not be served."""

from __future__ import annotations

from collections.abc import Iterable

from tracer.causes.browse import find_term
from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.names import did_you_mean
from tracer.numbers import finite
from tracer.panel.blind import Sample
from tracer.panel.cards import serving
from tracer.wording.sentence import say

LEAST_TIMES, MOST_TIMES = 0.1, 100.0
"""Times threshold that a reference may have: the limits of its card."""


ONLY_SMELLED = say("Leave it out, or make a set that is only smelled: --smell-only")


def refuse_unsafe(
    base: KnowledgeBase, samples: Iterable[Sample], smell_only: bool, smelled: str = ONLY_SMELLED
) -> None:
    """A note that is never prepared is refused with the card's reason, one that is only smelled where tasting is meant.

    `smelled` says how a set that is only smelled is made.
    """
    issues = []
    for note in dict.fromkeys(name for sample in samples for name in sample.notes):
        found, label = serving(base, note), base.descriptors[note].label
        if found.how == "never":
            issues.append(
                Issue(
                    Place("--note"),
                    say("{label} is not served: {because}", label=label, because=found.because),
                    say("Leave it out of the set."),
                )
            )
        elif found.how == "smell" and not smell_only:
            issues.append(
                Issue(
                    Place("--note"),
                    say("{label} may only be smelled: {because}", label=label, because=found.because),
                    smelled,
                )
            )
    if issues:
        raise InputError(issues)


def sample_of(base: KnowledgeBase, text: str) -> Sample:
    """A sample as it is written: note, or note@multiple. Raises InputError for what names no off-note."""
    last = text.endswith("!")
    word, _, multiple = text.rstrip("!").partition("@")
    found = find_term(base, word)
    if found is None or found[1] not in base.descriptors:
        raise InputError.of(
            "--note",
            say("'{word}' is no off-note", word=word),
            did_you_mean(word, base.descriptors, say("See: tracer show STAGE")),
        )
    times = _times(multiple) if multiple else None
    name = base.descriptors[found[1]].label + (f" x{times:g}" if times else "")
    return Sample(name, (found[1],), times, last)


def _times(text: str) -> float:
    remedy = say("Write note@3 for three times threshold.")
    try:
        found = finite(text)
    except ValueError:
        raise InputError.of("--note", say("'{multiple}' is no number", multiple=text), remedy) from None
    if not LEAST_TIMES <= found <= MOST_TIMES:
        told = say(
            "{times:g} times threshold is outside {least:g} to {most:g}",
            times=found,
            least=LEAST_TIMES,
            most=MOST_TIMES,
        )
        raise InputError.of("--note", told, remedy)
    return found
