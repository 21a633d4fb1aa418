"""The cautions of a report: what must be read before anything else, and what each rests on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
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
) -> tuple[Caution, ...]:
    """Cautions for the stop notes heard in any sample, those an open word may stand for, and the sources ranked.

    A clean cup never clears a safety question.
    """
    found = list(alarms(base, noted, possible, sources, findings, together))
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


def alarms(
    base: KnowledgeBase,
    noted: Iterable[str],
    possible: Iterable[str],
    sources: Iterable[Alarming],
    findings: Iterable[Finding] = (),
    together: Mapping[str, float] | None = None,
) -> tuple[Caution, ...]:
    """Stop and hold alone. `together` is the probability that any source with a caution is one; with it, a hold comes by the sum."""
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
    return tuple(found)
