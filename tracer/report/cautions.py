"""The cautions of a report: what must be read before anything else, and what each rests on."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Protocol

from tracer.findings.finding import Finding
from tracer.inference.smells import Smell
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.observed import Heard
from tracer.report.document import Caution
from tracer.wording.sentence import joined, say

STOP = "stop"
HOLD = "hold"
NOTE = "note"


class Alarming(Protocol):
    """A ranked source, as far as the cautions read it."""

    @property
    def label(self) -> str: ...  # noqa: D102
    @property
    def probability(self) -> float: ...  # noqa: D102
    @property
    def caution(self) -> str | None: ...  # noqa: D102


def cautions(
    base: KnowledgeBase,
    noted: Iterable[str],
    possible: Iterable[str],
    sources: Iterable[Alarming],
    findings: Iterable[Finding] = (),
    together: Mapping[str, float] | None = None,
    beside: Collection[str] = (),
) -> tuple[Caution, ...]:
    """Cautions for the stop notes heard in any sample, those an open word may stand for, and the sources ranked.

    A clean cup never clears a safety question.
    """
    found = list(alarms(base, noted, possible, sources, findings, together, beside))
    for general in base.settings.cautions.notes:
        names = [
            say(
                "{authors}, {title}",
                authors=base.sources[cite.source].authors,
                title=base.sources[cite.source].title,
            )
            for cite in general.cites
        ]
        found.append(Caution(NOTE, general.text, joined(names, "; ") or say("common practice")))
    return tuple(found)


def stop_notes(
    base: KnowledgeBase, heard: Heard, smelled: Iterable[Smell] = ()
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Notes that stop tasting: named in any cup of any sample, and those that an open word may stand for.

    A smell of the green that can only be such a note is one; a smell that may also be another is one perhaps.
    """
    stops = {name for name, entry in base.descriptors.items() if entry.stop_tasting}
    noted, perhaps = heard.alarming(stops, base.settings.cautions.perhaps)
    found = [smell.notes for smell in smelled if smell.found]
    noted += tuple(name for notes in found if stops.issuperset(notes) for name in notes)
    perhaps += tuple(
        name for notes in found if not stops.issuperset(notes) for name in notes if name in stops
    )
    return tuple(dict.fromkeys(noted)), tuple(name for name in dict.fromkeys(perhaps) if name not in noted)


def only_beside(noted: Iterable[str], heard: Heard, smelled: Iterable[Smell] = ()) -> frozenset[str]:
    """Those of the notes that another coffee of the table has, and not the lot."""
    own = {*heard.everywhere(), *(name for smell in smelled if smell.found for name in smell.notes)}
    return frozenset(noted) - own


def alarms(
    base: KnowledgeBase,
    noted: Iterable[str],
    possible: Iterable[str],
    sources: Iterable[Alarming],
    findings: Iterable[Finding] = (),
    together: Mapping[str, float] | None = None,
    beside: Collection[str] = (),
) -> tuple[Caution, ...]:
    """Stop and hold alone. `together` is the probability that any source with a caution is one; with it, a hold comes by the sum.

    A note that stops tasting holds the lot by itself, whatever else is found and however improbable its sources; one that only another
    coffee of the table has, `beside`, holds not this lot.
    """
    found: list[Caution] = []
    alarming = [base.descriptors[name].label for name in noted]
    alarming += [say("perhaps {label}", label=base.descriptors[name].label) for name in possible]
    if alarming:
        found.append(Caution(STOP, base.settings.cautions.stop, joined(dict.fromkeys(alarming))))
    least = base.settings.verdicts.several / 2
    held: dict[str, list[str]] = {}
    for source in sources:
        if source.caution and source.probability >= least:
            found.append(Caution(HOLD, source.caution, source.label))
        elif source.caution:
            held.setdefault(source.caution, []).append(source.label)
    said = {caution.text for caution in found}
    for text, probability in (together or {}).items():
        if probability >= least and text not in said:
            because = say(
                "together {probability:.2f}: {names}",
                probability=probability,
                names=joined(held.get(text, [say("several sources")])),
            )
            found.append(Caution(HOLD, text, because))
    for finding in findings:
        if finding.verb == "warns":
            found.append(Caution(HOLD, finding.targets[0], finding.label))
    named = [base.descriptors[name].label for name in noted if name not in beside]
    if named and not any(caution.level == HOLD for caution in found):
        found.append(Caution(HOLD, base.settings.cautions.hold, joined(dict.fromkeys(named))))
    return tuple(found)
